"""What is wrong in an ABC file is named with its line, column and bar; nothing is lost in silence."""

import pytest

from apoyando.model.errors import MissingHarmonyError, UnreadableSongError
from apoyando.model.form import play_order
from apoyando.model.song import Jump
from apoyando.reading import read_sketch, read_song
from reading.abc_examples import lengths, pitches, read_abc, read_bars, remarks


@pytest.mark.parametrize(
    ("body", "message"),
    [
        ('C4 D4|"Am C4|', r"line 7, column 7 \(bar 2\): A quotation mark is not closed"),
        ("C4 {D4|E8|", r"line 7, column 4 \(bar 1\): The bracket of a grace note is not closed"),
        ("C8|[CE D4|", r"line 7, column 4 \(bar 2\): A bracket is not closed"),
        ("C8|[] D4|", r"is no group of notes"),
        ("C0 D4|", r"column 1 \(bar 1\): The length of C0 cannot be meant"),
        ("C/0 D4|", r"The length of C/0 cannot be meant"),
        ("C////////// D4|", r"The length of C/+ cannot be meant"),
        ("C99999|", r"C99999 is absurdly long"),
        ("C8|D4 C,,,,,,4|", r"line 7, column 7 \(bar 2\): The note C,,,,,,4 is out of every range"),
        ("[Cg''''']8|", r"is out of every range"),
        ("[CEG]4444|", r"absurdly long"),
        ("z999|", r"z999 is absurdly long"),
        ("(1ab|", r"\(1 is no tuplet"),
        ("C8|[K:Q]D8|", r"line 7, column 4 \(bar 2\): The key K:Q is not understood"),
        ("C8|[M:4/5]D8|", r"The meter M:4/5 is not understood"),
        ("C8|[M:0/4]D8|", r"The meter M:0/4 is not understood"),
        ("C8|[L:0]D8|", r"The note length L:0 is not understood"),
    ],
)
def test_a_problem_is_named_with_its_place(body: str, message: str) -> None:
    with pytest.raises(UnreadableSongError, match=message):
        read_bars(body)


@pytest.mark.parametrize(
    ("field", "message"),
    [
        ("M:four", r"line 3: The meter M:four is not understood. Write it as M:4/4"),
        ("L:x", r"line 3: The note length L:x is not understood"),
    ],
)
def test_a_problem_in_the_header_is_named_with_its_line(field: str, message: str) -> None:
    with pytest.raises(UnreadableSongError, match=message):
        read_abc(f"X:1\nT:x\n{field}\nK:C\nC|\n")


def test_several_problems_come_at_once() -> None:
    with pytest.raises(UnreadableSongError) as caught:
        read_song(b'X:1\nM:x\nL:y\nK:Z\nC0 | "Am\n[CE\n', "song.abc")
    assert len(caught.value.problems) == 6
    assert str(caught.value).count("song.abc: line ") == 6


def test_a_tune_without_chord_symbols_is_told_how_to_write_them() -> None:
    with pytest.raises(MissingHarmonyError, match=r"the harmony is missing.*\"Am\" A2") as caught:
        read_song(b"X:1\nT:x\nK:C\nCDEF|\n", "tune.abc")
    assert caught.value.file == "tune.abc"


def test_only_n_c_is_no_harmony_either() -> None:
    with pytest.raises(MissingHarmonyError):
        read_song(b'X:1\nT:x\nK:C\n"N.C."CDEF|\n', "tune.abc")


@pytest.mark.parametrize("text", ["X:1\nT:x\nK:C\n", "X:1\nT:x\nM:4/4\nK:C\nz8|Z|\n", 'X:1\nK:C\n"C"|\n'])
def test_a_tune_without_notes_is_said_to_have_none(text: str) -> None:
    with pytest.raises(UnreadableSongError, match="There are no notes"):
        read_song(text.encode(), "tune.abc")


@pytest.mark.parametrize("text", ["X:1\nT:no key\nCDEF|\n", "T:a text\nwithout music\n"])
def test_a_file_without_a_key_line_holds_no_tune(text: str) -> None:
    with pytest.raises(UnreadableSongError, match=r"no ABC tune.*X:1"):
        read_song(text.encode(), "tune.abc")


@pytest.mark.parametrize(
    ("body", "text"),
    [
        ('"Intro"C8|', "“Intro” is not understood as a chord and was left out"),
        ('"H7"C8|', "H is German"),
        ('"C7xyz"C8|', "In the chord “C7xyz” “xyz” is not understood and left out (line 7, column 1)"),
        ("C4 ]D4|", "“]” is not understood and left out (line 7, column 4)"),
        ("C4 =|D8|", "“=” is not understood"),
        ("C4 5 D4|", "“5” is not understood"),
        (">C8|", "> has no note before it"),
        ("-C8|", "A tie has no note before it"),
        ("(3ab(3cde f2|", "A tuplet begins before the last one is full"),
        ("[Q:1/4=0]C8|", "1: The tempo 1/4=0 cannot be meant and is left out (line 7, column 1)"),
        ("C8|[Q:1/4=80]D8|", "change of tempo Q:1/4=80 is not carried over"),
        ("C8|1D8:|2E8:|", "3: The repeat sign at the end of the last ending leads nowhere"),
        ("C8|D8!D.S.!|", "2: “D.S.”: there is no segno to go back to; it was set at the beginning."),
        ('C8|D8"D.C. al Fine"|', "there is no “Fine” to end at"),
        ('C8|D8"D.C. al Coda"|', "there is no “To Coda” sign"),
    ],
)
def test_what_is_left_out_or_odd_is_remarked_on(body: str, text: str) -> None:
    assert text in remarks(read_bars(body))


def test_a_dal_segno_without_a_sign_gets_it_where_it_is_played_from() -> None:
    song = read_bars("C8|D8!fine!|E8!D.S.alfine!|")
    assert [bar.jumps for bar in song.bars] == [(Jump.SEGNO,), (Jump.FINE,), (Jump.DAL_SEGNO,)]
    assert play_order(song.bars) == (0, 1, 2, 0, 1)


def test_the_lowest_and_the_highest_note_of_midi_can_be_written() -> None:
    assert pitches(read_bars("C,,,,,4 g''''4|")) == "C-1 G9"  # MIDI 1.0: notes 0 and 127


@pytest.mark.parametrize("field", ["1/4=0", "1/0=100", "1/4=999999", '"Fast" 1/4=9999', "quick"])
def test_a_tempo_that_cannot_be_meant_is_left_out_and_told(field: str) -> None:
    song = read_abc(f"X:1\nT:x\nQ:{field}\nK:C\nC|\n")
    assert song.tempo_quarters_per_minute is None
    assert "cannot be meant and is left out." in remarks(song)


@pytest.mark.parametrize("field", ["", '"Andante"', "1/4=5", "1/4=1000"])
def test_a_tempo_that_can_be_meant_is_not_remarked_on(field: str) -> None:
    assert remarks(read_abc(f"X:1\nT:x\nM:1/8\nL:1/8\nQ:{field}\nK:C\nC|\n")) == ""


@pytest.mark.parametrize("sign", ["\x00", "\x07", "\x1b", "\x7f", "\x9b", "\u202e", r"\u001b", r"\u0007"])
def test_what_could_move_a_terminal_is_not_read_into_the_title(sign: str) -> None:
    assert read_abc(f"X:1\nT:The {sign}Gate\nK:C\nC|\n").title == "The Gate"


def test_mostly_strange_text_is_no_tune() -> None:
    with pytest.raises(UnreadableSongError, match="Most of this is not ABC"):
        read_bars("C " + "= " * 200)


@pytest.mark.parametrize(
    ("body", "text"),
    [
        ("C4|D8|", ""),
        ("C2|D8|E6|", ""),
        ("C8|D8|E6|", "3: The bar holds 3 beats, less than its meter 4/4"),
        ("C8|D6|E8|", "2: The bar holds 3 beats, less"),
        ("C8|D8E2|F8|", "2: The bar holds 5 beats, more"),
        ("C8|D6:|E2|F8|", ""),
        ("C8|D6|E2|F8|", "2: The bar holds 3 beats"),
        ("C2|D8|E6:|F2|G8|A6:|", ""),
        ("C2|D8|1E6:|2F6|]", ""),
    ],
)
def test_bars_that_are_short_for_a_reason_are_accepted_and_others_remarked_on(body: str, text: str) -> None:
    found = remarks(read_bars(body))
    assert (found == "") if not text else (text in found)


def test_a_pickup_is_bar_0_and_a_split_bar_keeps_its_number() -> None:
    song = read_bars("C2|D8|E6:|F2|G8|]")
    assert [bar.number for bar in song.bars] == ["0", "1", "2", "2b", "3"]
    assert [bar.is_pickup for bar in song.bars] == [True, False, False, False, False]


def test_a_line_that_ends_with_a_full_bar_ends_the_bar() -> None:
    song = read_bars("C8|D8\nE8|F8")
    assert len(song.bars) == 4
    assert song.remarks == ()


def test_a_bar_may_go_on_over_the_end_of_a_line() -> None:
    song = read_bars("C8|D4\nE4|F8")
    assert pitches(song) == "C4 D4 E4 F4"
    assert len(song.bars) == 3


def test_a_decoration_between_broken_notes_does_not_disturb_the_rhythm() -> None:
    assert lengths(read_bars("A>.G a<{g}b|", meter="2/4")) == lengths(read_bars("A>G a<b|", meter="2/4"))


def test_a_chord_before_the_second_of_two_broken_notes_stands_where_that_note_begins() -> None:
    song = read_bars('"C"A>"G"B|', meter="1/4")
    assert [span.onset for span in song.harmony] == [note.onset for note in song.melody]


def test_a_long_rest_is_so_many_bars() -> None:
    assert len(read_bars("Z999|C8|").bars) == 1000


def test_a_tune_of_absurd_length_is_refused() -> None:
    with pytest.raises(UnreadableSongError, match="absurdly long"):
        read_bars("Z999|\n" * 20 + "C8|")


def test_an_ending_may_be_named_in_words() -> None:
    song = read_bars('C8|["1st time" D8:|["2nd time" E8|]["Coda" F8|["Trio" G8|]')
    assert [bar.endings for bar in song.bars] == [(), (1,), (2,), (), ()]
    assert [bar.jumps for bar in song.bars][3] == (Jump.CODA,)
    assert song.bars[4].section == "Trio"


def test_words_before_any_music_have_no_note_to_stand_under() -> None:
    assert "1 more syllables than" in remarks(read_bars("w: la\nC8|"))


def test_a_tune_without_chords_can_be_sketched_with_what_it_lacks() -> None:
    song, lacks = read_sketch(b"X:1\nT:Half Written\nM:3/4\nL:1/4\nK:G\nB2 A | G2\n", "half.abc")

    assert (song.title, len(song.melody), song.harmony) == ("Half Written", 3, ())
    assert ["no chord symbols" in problem.what for problem in lacks] == [True]


def test_a_sketch_with_chords_is_the_song_and_lacks_nothing() -> None:
    data = b'X:1\nT:Written\nM:3/4\nL:1/4\nK:G\n"G"B2 A | "C"G3 |]\n'

    assert read_sketch(data, "written.abc") == (read_song(data, "written.abc"), ())


def test_a_sketch_with_a_mistake_is_refused_as_a_song_is() -> None:
    with pytest.raises(UnreadableSongError, match=r"line 3, column 1 .*A bracket is not closed"):
        read_sketch(b"X:1\nK:C\n[CE\n", "wrong.abc")
