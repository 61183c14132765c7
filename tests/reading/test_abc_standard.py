"""The ABC 2.1 standard (https://abcnotation.com/wiki/abc:standard:v2.1), section by section.

Each test names the section whose rule or example it checks.
"""

from fractions import Fraction

import pytest

from apoyando.model.errors import UnreadableSongError
from apoyando.model.pitch import Key, Mode
from apoyando.model.song import Barline, Jump, Meter
from apoyando.reading import read_song, read_songs
from reading.abc_examples import chords, lengths, pitches, read_abc, read_bars, remarks, words

F = Fraction

# --- 2 files, tunes, comments -------------------------------------------------------------


def test_2_2_2_a_file_header_sets_defaults_that_a_tune_may_override() -> None:
    book = '%abc-2.1\nM:3/4\nL:1/4\nC:Trad.\n\nX:1\nT:One\nK:C\n"C"CDE|\n\nX:2\nT:Two\nM:2/4\nK:C\n"C"CD|\n'
    one, two = read_songs(book.encode(), "book.abc")
    assert (str(one.bars[0].meter), str(two.bars[0].meter)) == ("3/4", "2/4")
    assert lengths(one) == [1, 1, 1]
    assert one.composer == two.composer == "Trad."


def test_2_2_5_comments_and_remarks_are_as_if_they_were_not_there() -> None:
    song = read_bars("|:DEF FED| % this is an end of line comment\n% this is a comment line\n"
                     "DEF [r:and this is a remark] FED:|", meter="6/8")  # fmt: skip
    assert pitches(song) == "D4 E4 F4 F4 E4 D4 D4 E4 F4 F4 E4 D4"
    assert song.remarks == ()


def test_2_2_5_an_escaped_percent_sign_is_a_percent_sign() -> None:
    assert read_abc("X:1\nT:100\\% pure % comment\nK:C\nC4|\n").title == "100% pure"


@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_8_lines_may_end_as_on_any_system(ending: str) -> None:
    text = "X:1\nT:Test\nM:2/4\nL:1/4\nK:C\nCD|\nEF|\n".replace("\n", ending)
    assert pitches(read_abc(text)) == "C4 D4 E4 F4"


# --- 3 information fields -----------------------------------------------------------------


def test_3_1_2_the_first_title_is_the_title_and_a_missing_one_is_the_file_s_name() -> None:
    assert read_abc("X:1\nT:First\nT:Other name\nK:C\nC|\n").title == "First"
    assert read_song(b'X:1\nK:C\n"C"C4|\n', "some/old_tune.abc").title == "old_tune"


def test_3_1_3_and_6_1_3_composers_are_followed_by_the_origin() -> None:
    song = read_abc("X:1\nT:x\nC:Robert Jones\nC:Trad.\nO:England; Yorkshire\nK:C\nC|\n")
    assert song.composer == "Robert Jones; Trad. (England; Yorkshire)"


@pytest.mark.parametrize(
    ("text", "meter"),
    [
        ("6/8", Meter(6, 8)),
        ("C", Meter(4, 4, "common")),
        ("C|", Meter(2, 2, "cut")),
        ("(2+3+2)/8", Meter(7, 8, groups=(2, 3, 2))),
        ("2+2+3/8", Meter(7, 8, groups=(2, 2, 3))),
    ],
)
def test_3_1_6_meters(text: str, meter: Meter) -> None:
    assert read_bars("C|", meter=text).bars[0].meter == meter


def test_3_1_6_in_free_meter_a_bar_is_as_long_as_its_notes() -> None:
    song = read_bars("C D E|C D|", meter="none", unit="1/4")
    assert [bar.span.duration for bar in song.bars] == [3, 2]
    assert [str(bar.meter) for bar in song.bars] == ["3/4", "2/4"]
    assert song.remarks == ()


@pytest.mark.parametrize(
    ("meter", "unit"),
    [("2/4", F(1, 4)), ("3/4", F(1, 2)), ("4/4", F(1, 2)), ("6/8", F(1, 2)), ("5/8", F(1, 4)), ("C|", F(1, 2)), ("none", F(1, 2))],
)  # fmt: skip
def test_3_1_7_the_unit_is_a_sixteenth_below_three_quarters_else_an_eighth(meter: str, unit: F) -> None:
    assert lengths(read_abc(f"X:1\nT:x\nM:{meter}\nK:C\nC|\n")) == [unit]


def test_3_1_7_a_meter_change_within_the_tune_does_not_change_the_unit() -> None:
    song = read_abc("X:1\nT:x\nM:3/4\nK:C\nC2D2E2|\nM:2/4\nC2D2|\n")
    assert lengths(song) == [1] * 5
    assert [str(bar.meter) for bar in song.bars] == ["3/4", "2/4"]


@pytest.mark.parametrize(
    ("field", "tempo", "text"),
    [
        ("1/2=120", F(240), ""),
        ("1/4 3/8 1/4 3/8=40", F(200), ""),
        ('"Allegro" 1/4=120', F(120), "Allegro"),
        ('3/8=50 "Slowly"', F(75), "Slowly"),
        ('"Andante"', None, "Andante"),
        ("C=120", F(60), ""),
        ("120", F(60), ""),
        ("C3=40", F(60), ""),
    ],
)
def test_3_1_8_and_10_1_tempos_in_all_their_forms(field: str, tempo: F | None, text: str) -> None:
    song = read_abc(f"X:1\nT:x\nM:4/4\nL:1/8\nQ:{field}\nK:C\nC|\n")
    assert (song.tempo_quarters_per_minute, song.tempo_words) == (tempo, text)


def test_3_1_9_parts_are_sections_and_the_order_of_play_is_remarked_on() -> None:
    song = read_abc("X:1\nT:x\nM:1/4\nL:1/4\nP:ABA\nK:C\nP:A\nC|D|\nP:B\nE|\n")
    assert [bar.section for bar in song.bars] == ["A", "", "B"]
    assert "P:ABA" in remarks(song)


def test_3_1_10_the_copyright_of_the_transcription_is_kept() -> None:
    assert read_abc("X:1\nT:x\nZ:abc-copyright &copy; Jo Reed\nK:C\nC|\n").rights == "© Jo Reed"


KEYS = """
C# A#m G#Mix D#Dor E#Phr F#Lyd B#Loc; F# D#m C#Mix G#Dor A#Phr BLyd E#Loc; B G#m F#Mix C#Dor D#Phr ELyd A#Loc;
E C#m BMix F#Dor G#Phr ALyd D#Loc; A F#m EMix BDor C#Phr DLyd G#Loc; D Bm AMix EDor F#Phr GLyd C#Loc;
G Em DMix ADor BPhr CLyd F#Loc; C Am GMix DDor EPhr FLyd BLoc; F Dm CMix GDor APhr BbLyd ELoc;
Bb Gm FMix CDor DPhr EbLyd ALoc; Eb Cm BbMix FDor GPhr AbLyd DLoc; Ab Fm EbMix BbDor CPhr DbLyd GLoc;
Db Bbm AbMix EbDor FPhr GbLyd CLoc; Gb Ebm DbMix AbDor BbPhr CbLyd FLoc; Cb Abm GbMix DbDor EbPhr FbLyd BbLoc
"""


def test_3_1_14_the_table_of_keys_from_seven_sharps_to_seven_flats() -> None:
    for fifths, row in zip(range(7, -8, -1), KEYS.split(";"), strict=True):
        assert [read_bars("C|", key=key).key.fifths for key in row.split()] == [fifths] * 7


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("C major", Key(0, Mode.MAJOR)),
        ("A minor", Key(0, Mode.MINOR)),
        ("C ionian", Key(0, Mode.IONIAN)),
        ("F# mixolydian", Key(5, Mode.MIXOLYDIAN)),
        ("F#MIX", Key(5, Mode.MIXOLYDIAN)),
        ("Am", Key(0, Mode.MINOR)),
        ("", Key(0)),
        ("none", Key(0)),
        ("HP", Key(0)),
        ("Hp", Key(2)),
        ("D =c", Key(1, Mode.MIXOLYDIAN)),
        ("D exp ^f", Key(1, Mode.MIXOLYDIAN)),
        ("clef=alto", Key(0)),
        ("G treble", Key(1)),
    ],
)
def test_3_1_14_keys_in_words(text: str, key: Key) -> None:
    assert read_bars("C|", key=text).key == key


@pytest.mark.parametrize("key", ["D Phr ^f", "D exp _b _e ^f"])
def test_3_1_14_a_key_may_be_modified_or_spelled_out(key: str) -> None:
    assert pitches(read_bars("D E F G A B c d|", key=key)) == "D4 Eb4 F#4 G4 A4 Bb4 C5 D5"


def test_3_1_14_a_key_beyond_seven_sharps_is_a_problem_with_its_line() -> None:
    with pytest.raises(UnreadableSongError, match=r"line 6: The key K:G# would need 8 sharps"):
        read_bars("C|", key="G#")


@pytest.mark.parametrize(
    "text", ["E2E EFE|E2E EFG|[M:9/8] A2G F2E D2F|]", "E2E EFE|E2E EFG|\\\nM:9/8\nA2G F2E D2F|]"]
)
def test_3_2_a_field_may_stand_inline_or_between_lines(text: str) -> None:
    song = read_bars(text, meter="6/8")
    assert [str(bar.meter) for bar in song.bars] == ["6/8", "6/8", "9/8"]
    assert song.remarks == ()


def test_3_2_key_and_unit_may_change_inline_too() -> None:
    song = read_bars("F4 F4|[K:G][L:1/4]F2 F2|")
    assert pitches(song) == "F4 F4 F#4 F#4"
    assert lengths(song) == [2, 2, 2, 2]
    assert [bar.key.fifths for bar in song.bars] == [0, 1]


def test_3_3_a_field_goes_on_after_plus_colon() -> None:
    song = read_bars("CDEF GABc|\nw:nor-mal\n% between\n+:i-ta-lic\n%%vocalfont x\n+:nor-mal")
    assert words(song) == ["nor-", "mal", "i-", "ta-", "lic", "nor-", "mal", ""]


# --- 4 the tune body ----------------------------------------------------------------------


def test_4_1_octaves() -> None:
    assert pitches(read_bars("C,, C, C c c' c''|C,', C' |", meter="none")) == "C2 C3 C4 C5 C6 C7 C3 C5"


def test_4_2_accidentals() -> None:
    assert pitches(read_bars("__B, _B, =B, B, ^F ^^F F=F|")) == "Bbb3 Bb3 B3 B3 F#4 F##4 F##4 F4"


def test_4_2_and_11_3_an_accidental_lasts_to_the_end_of_the_bar_in_all_octaves() -> None:
    assert pitches(read_bars("^F f F, F|F f F, F|", unit="1/4")) == "F#4 F#5 F#3 F#4 F4 F5 F3 F4"


@pytest.mark.parametrize(
    ("reach", "expected"),
    [("not", "F#4 F4 F5"), ("octave", "F#4 F#4 F5"), ("pitch", "F#4 F#4 F#5")],
)
def test_11_3_how_far_an_accidental_reaches_can_be_set(reach: str, expected: str) -> None:
    song = read_abc(f"X:1\nT:x\nM:3/4\nL:1/4\n%%propagate-accidentals {reach}\nK:C\n^F F f|\n")
    assert pitches(song) == expected
    inline = read_abc(f"X:1\nT:x\nM:3/4\nL:1/4\nK:C\n[I:propagate-accidentals {reach}]^F F f|\n")
    assert pitches(inline) == expected


def test_4_3_lengths_in_sixteenths() -> None:
    song = read_bars("A A1 A2 A3 A4 A6 A7 A8 A12 A14 A15|", unit="1/16", meter="none")
    assert lengths(song) == [F(n, 4) for n in (1, 1, 2, 3, 4, 6, 7, 8, 12, 14, 15)]


def test_4_3_divided_lengths_and_their_shorthand() -> None:
    song = read_bars("A/2 A3/2 A/4 A/ A// A3/ A2/3|", meter="none")
    assert lengths(song) == [F(1, 4), F(3, 4), F(1, 8), F(1, 4), F(1, 8), F(3, 4), F(1, 3)]


@pytest.mark.parametrize(
    ("unit", "text"),
    [("1/16", "a3b cd3 a2b2c2d2"), ("1/8", "a3/2b/2 c/2d3/2 abcd"), ("1/8", "a>b c<d abcd")],
)
def test_4_4_broken_rhythm_three_ways(unit: str, text: str) -> None:
    song = read_bars(text + "|", unit=unit)
    assert lengths(song) == [F(3, 4), F(1, 4), F(1, 4), F(3, 4), F(1, 2), F(1, 2), F(1, 2), F(1, 2)]


def test_4_4_double_and_triple_broken_rhythm() -> None:
    song = read_bars("a>>b a>>>b a<<b a<<<b|", unit="1/4", meter="none")
    quarters = [F(7, 4), F(1, 4), F(15, 8), F(1, 8), F(1, 4), F(7, 4), F(1, 8), F(15, 8)]
    assert lengths(song) == quarters


def test_4_5_rests_take_time_and_z_counts_bars() -> None:
    short = read_bars("Z4|CD EF|GA Bc|", meter="2/4")
    written = read_bars("z4|z4|z4|z4|CD EF|GA Bc|", meter="2/4")
    assert [note.onset for note in short.melody] == [note.onset for note in written.melody]
    assert len(short.bars) == len(written.bars) == 6
    assert read_bars("Z|CD EF|", meter="2/4").melody[0].onset == 2


def test_4_5_an_invisible_rest_before_a_pickup_takes_no_time() -> None:
    song = read_bars("x6 C2|D4 E4|")
    assert song.bars[0].is_pickup
    assert song.melody[0].onset == 0


@pytest.mark.parametrize(
    ("key", "sounding"),
    [
        ("C transpose=-2", "Bb3 D4"),
        ("C t=-2", "Bb3 D4"),
        ("C octave=1", "C5 E5"),
        ("C octave=-1", "C3 E3"),
        ("C treble-8", "C3 E3"),
        ("C clef=treble+8", "C5 E5"),
        ("C bass", "C4 E4"),
        ("C middle=d", "C4 E4"),
    ],
)
def test_4_6_clefs_and_transposition_give_sounding_pitches(key: str, sounding: str) -> None:
    assert pitches(read_bars("C E|", key=key, meter="2/8")) == sounding


def test_4_6_a_transposed_part_sounds_in_another_key() -> None:
    assert read_bars("C|", key="C transpose=-2").key == Key(-2)


def test_4_7_back_quotes_only_help_the_eye() -> None:
    assert lengths(read_bars("A2``B``C|", meter="2/4")) == lengths(read_bars("A2BC|", meter="2/4"))


@pytest.mark.parametrize(
    ("sign", "barline"),
    [("|", Barline.REGULAR), ("||", Barline.DOUBLE), ("|]", Barline.FINAL), ("[|", Barline.DOUBLE)],
)
def test_4_8_bar_signs(sign: str, barline: Barline) -> None:
    assert read_bars(f"C8{sign}D8|").bars[0].barline is barline


@pytest.mark.parametrize("sign", ["::", ":|:", ":||:", ":| |:", ":|\n|:"])
def test_4_8_one_repeat_ends_and_the_next_starts(sign: str) -> None:
    first, second, *_ = read_bars(f"|:C8{sign}D8:|").bars
    assert (first.starts_repeat, first.repeat_times) == (True, 2)
    assert (second.starts_repeat, second.repeat_times) == (True, 2)


def test_4_8_more_dots_mean_more_times() -> None:
    assert read_bars("|::C8::|").bars[0].repeat_times == 3


def test_4_8_a_repeat_without_start_goes_back_to_the_last_double_bar_or_repeat() -> None:
    assert [bar.starts_repeat for bar in read_bars("C8|D8||E8|F8:|G8:|").bars] == [
        False, False, True, False, True,
    ]  # fmt: skip
    assert not any(bar.starts_repeat for bar in read_bars("C8|D8:|").bars)


def test_4_8_dotted_and_invisible_bar_lines_do_not_divide_a_bar() -> None:
    assert len(read_bars("C4.|D4|E4[|]F4|").bars) == 2


def test_4_8_bar_lines_in_the_wild() -> None:
    song = read_bars("|[|C8[|:::D8:|]E8|||")
    assert len(song.bars) == 3
    assert song.bars[1].starts_repeat
    assert song.bars[1].repeat_times == 4


def test_4_9_first_and_second_endings() -> None:
    for text in ("faf gfe|[1 dfe dBA:|[2 d2e dcB|]", "faf gfe|1 dfe dBA:|2 d2e dcB|]"):
        bars = read_bars(text, meter="6/8").bars
        assert [bar.endings for bar in bars] == [(), (1,), (2,)]
        assert [bar.ending_stops for bar in bars] == [False, True, True]
        assert [bar.repeat_times for bar in bars] == [0, 2, 0]


@pytest.mark.parametrize(
    ("text", "passes"),
    [("[1,3", (1, 3)), ("[1-3", (1, 2, 3)), ("[1,3,5-7", (1, 3, 5, 6, 7)), ("|1,3", (1, 3))],
)
def test_4_10_an_ending_may_be_for_several_passes(text: str, passes: tuple[int, ...]) -> None:
    assert read_bars(f"C8|D8{text if text[0] == '|' else '|' + text} E8:|").bars[2].endings == passes


def test_4_10_an_ending_lasts_until_a_double_bar() -> None:
    bars = read_bars("C8|1 D8|E8:|2 F8|G8||A8|]").bars
    assert [bar.endings for bar in bars] == [(), (1,), (1,), (2,), (2,), ()]
    assert [bar.ending_stops for bar in bars] == [False, False, True, False, True, False]


@pytest.mark.parametrize(("text", "meter"), [("abc-|cba|", "3/8"), ("c4-c4|", "4/4"), ("c4- c4|", "4/4")])
def test_4_11_tied_notes_are_one_note(text: str, meter: str) -> None:
    song = read_bars(text, meter=meter)
    assert max(lengths(song)) == (1 if meter == "3/8" else 4)


def test_4_11_a_slur_is_not_a_tie() -> None:
    assert len(read_bars("(c (d e f) g a)(c (d) e|", meter="none").melody) == 9


def test_4_11_a_tie_carries_its_accidental_over_the_bar_line() -> None:
    # Custom of staff notation, from memory; the standard is silent.
    song = read_bars("^c8-|c4 c4|")
    assert pitches(song) == "C#5 C5"
    assert lengths(song) == [6, 2]


def test_4_11_a_tie_between_different_pitches_is_left_out_with_a_remark() -> None:
    song = read_bars("c4-d4|")
    assert len(song.melody) == 2
    assert "tie leads to no note" in remarks(song)


def test_4_11_a_tie_that_leads_to_no_note_is_told_with_bar_and_beat() -> None:
    assert "left out (bar 1, beat 1; bar 2, beat 4)" in remarks(read_bars("c4-z4|c6 c2-|"))


def test_4_11_a_tie_over_a_repeat_is_told() -> None:
    assert "over a repeat or a jump is left out: the next note is struck anew (bar 2, beat 4)" in remarks(
        read_bars("|:c8|d6 c2-:|e8|")
    )


def test_4_12_grace_notes_are_left_out_with_a_remark_each() -> None:
    song = read_bars("{GdGe}A4 {/g}C4|A<{g}A A{g}<A A4|")
    assert lengths(song) == [2, 2, F(1, 4), F(3, 4), F(1, 4), F(3, 4), 2]
    assert remarks(song).count("grace notes") == 4


@pytest.mark.parametrize(
    ("text", "meter", "length"),
    [
        ("(2ab", "4/4", F(3, 4)),
        ("(3abc", "4/4", F(1, 3)),
        ("(4abcd", "6/8", F(3, 8)),
        ("(5abcde", "4/4", F(1, 5)),
        ("(5abcde", "6/8", F(3, 10)),
        ("(6abcdef", "4/4", F(1, 6)),
        ("(7abcdefg", "9/8", F(3, 14)),
        ("(8abcdefga", "4/4", F(3, 16)),
        ("(9abcdefgab", "12/8", F(1, 6)),
        ("(3:2abc", "4/4", F(1, 3)),
        ("(3:: abc", "4/4", F(1, 3)),
        ("(3:2:3 abc", "4/4", F(1, 3)),
        ("(3 a b c", "4/4", F(1, 3)),
    ],
)
def test_4_13_tuplets(text: str, meter: str, length: F) -> None:
    assert set(lengths(read_bars(text + "|", meter=meter))) == {length}


def test_4_13_a_tuplet_of_unequal_notes() -> None:
    assert lengths(read_bars("(3:2:2 G4c2|")) == [F(4, 3), F(2, 3)]
    assert lengths(read_bars("(3:2:4 G2A2Bc d|")) == [F(2, 3), F(2, 3), F(1, 3), F(1, 3), F(1, 2)]
    assert lengths(read_bars("(3::2 ab c|")) == [F(1, 3), F(1, 3), F(1, 2)]


@pytest.mark.parametrize("text", ["Hc8", "!fermata!c8", "!invertedfermata! c8", "!p! !fermata! c8"])
def test_4_14_a_fermata_stays_with_its_note(text: str) -> None:
    assert read_bars(text + "|").melody[0].has_fermata


def test_4_14_other_decorations_say_how_to_play_and_are_told_once_with_their_bars() -> None:
    song = read_bars("(3.a.b.c vAuBvA !trill!A4 ~g Tg|!<(!a!<)!b !>!c !mf!d|", meter="none")
    assert len(song.melody) == 13
    assert remarks(song) == (
        "1: Signs of expression are not carried over: staccato, trill, roll, crescendo, accent, mf (bars 1–2)."
    )


def test_4_14_signs_for_other_instruments_and_for_the_page_are_no_loss() -> None:
    song = read_bars("vAuB !thumb!c !3!d !editorial!e !courtesy!f !shortphrase!g !nil!a|", meter="none")
    assert song.remarks == ()


def test_4_14_an_unknown_decoration_is_left_out_with_line_and_column() -> None:
    assert "0: The decoration !wobble! is not known and left out (line 7, column 4)" in remarks(
        read_bars("C2 !wobble!D|E8|")
    )


@pytest.mark.parametrize(
    ("text", "jumps"),
    [
        ("!segno!C8|D8!D.S.!|", [(Jump.SEGNO,), (Jump.DAL_SEGNO,)]),
        ("SC8|D8!D.S.alfine!|", [(Jump.SEGNO,), (Jump.DAL_SEGNO,)]),
        ("C8!fine!|D8!D.C.!|", [(Jump.FINE,), (Jump.DA_CAPO,)]),
        ("C8|!fine!D8|E8!dacapo!|]", [(), (Jump.FINE,), (Jump.DA_CAPO,)]),
        ("C8!coda!|D8!D.C.alcoda!|!coda!E8|", [(Jump.TO_CODA,), (Jump.DA_CAPO,), (Jump.CODA,)]),
        ("C8|OD8|OE8|", [(Jump.TO_CODA,), (), (Jump.CODA,)]),
        ("C8!dacoda!|!coda!E8|", [(Jump.TO_CODA,), (Jump.CODA,)]),
        ('C8"^Fine"|D8"D.C. al Fine"|', [(Jump.FINE,), (Jump.DA_CAPO,)]),
        ("C8|D8|!D.C.!", [(), (Jump.DA_CAPO,)]),
    ],
)
def test_4_14_jumps_stand_at_the_bar_that_they_mean(text: str, jumps: list[tuple[Jump, ...]]) -> None:
    assert [bar.jumps for bar in read_bars(text).bars] == jumps


def test_4_14_a_jump_keeps_its_words() -> None:
    assert read_bars('C8"^Fine"|D8"D.C. al Fine"|').bars[1].jump_words == "D.C. al Fine"
    assert read_bars("!segno!C8|D8!D.S.alfine!|").bars[1].jump_words == "D.S. al Fine"


def test_4_15_a_symbol_line_puts_symbols_on_notes() -> None:
    song = read_bars('C2  C2 Ez   A2|\ns: "C" *  "Am" * |\ns: *   *  !fermata!  * |')
    assert chords(song) == [(0, "C"), (2, "Am")]
    assert [note.has_fermata for note in song.melody] == [False, False, True, False]


def test_4_16_a_letter_can_be_given_a_meaning() -> None:
    song = read_abc("X:1\nT:x\nM:4/4\nL:1/8\nU: n = !fermata!\nK:C\nnC8|\n")
    assert song.melody[0].has_fermata


def test_4_17_of_notes_on_one_stem_the_top_one_is_the_melody() -> None:
    song = read_bars("[CEGc]2 [d2f2][ce][df] [C2E2G2]3|", meter="none")
    assert pitches(song) == "C5 F5 E5 F5 G4"
    assert lengths(song) == [1, 1, F(1, 2), F(1, 2), 3]
    assert "top one is the melody" in remarks(song)


def test_4_17_the_length_is_that_of_the_first_note_and_a_unison_is_one_note() -> None:
    assert lengths(read_bars("[C4E2]D4|")) == [2, 2]
    assert pitches(read_bars("[DD]8|")) == "D4"


def test_4_17_notes_on_one_stem_can_be_tied_broken_and_decorated() -> None:
    song = read_bars(
        '( "^I" !f! [CEG]- > [CEG] "^IV" [F=AC]3/2"^V"[GBD]/  H[CEG]2 )|', meter="none", unit="1/4"
    )
    assert pitches(song) == "G4 A4 B4 G4"
    assert lengths(song) == [2, F(3, 2), F(1, 2), 2]
    assert song.melody[-1].has_fermata


def test_4_18_chord_symbols_last_until_the_next_one() -> None:
    song = read_bars('"Am7"A2D2 E4|F8|"C/e"G8|')
    assert chords(song) == [(0, "Am7"), (8, "C/e")]
    assert str(song.harmony[1].chord and song.harmony[1].chord.bass) == "E"
    assert [span.offset for span in song.harmony] == [8, 12]


def test_4_18_an_alternate_chord_is_left_out_with_a_remark() -> None:
    song = read_bars('"G(Em)"G8|')
    assert str(song.harmony[0].chord and song.harmony[0].chord.root) == "G"
    assert "“Em” is not understood" in remarks(song)


def test_4_18_unicode_signs_are_signs() -> None:
    song = read_bars('"B♭"G4 "F♯m"A4|')
    assert [str(span.chord and span.chord.root) for span in song.harmony] == ["Bb", "F#"]


def test_4_19_annotations_are_not_chords() -> None:
    song = read_bars('"^slowly"C2 "_A"D2 "<(" ">)" E2 "@-5,6 C"F2|')
    assert song.harmony == ()
    assert "“slowly” is not carried over" in remarks(song)


def test_4_19_a_chord_after_an_annotation_is_read() -> None:
    assert chords(read_bars('"^sweetly""Ab°7"C4"Cø"D4|')) == [(0, "Ab°7"), (2, "Cø")]


def test_4_20_the_order_of_constructs() -> None:
    song = read_bars('{g}"Gm7"v.=G,2 ~^c\'3 "Gm7"(v.=G,2~^c\'2)|', meter="none")
    assert pitches(song) == "G3 C#6 G3 C#6"
    assert [onset for onset, _ in chords(song)] == [0, F(5, 2)]


# --- 5 lyrics -----------------------------------------------------------------------------


def test_5_1_lyrics_follow_their_notes_even_when_they_are_postponed() -> None:
    apart = read_bars("C D E F|\nw: doh re mi fa\nG A B c|\nw: sol la ti doh", unit="1/4")
    together = read_bars("C D E F|\nG A B c|\nw: doh re mi fa sol la ti doh", unit="1/4")
    assert words(apart) == words(together) == ["doh", "re", "mi", "fa", "sol", "la", "ti", "doh"]


def test_5_1_an_empty_lyrics_line_uses_up_its_notes() -> None:
    song = read_bars("C D E F|\nw: doh re mi fa\nG G G G|\nw:\nF E F C|\nw: fa mi re doh", unit="1/4")
    assert words(song) == ["doh", "re", "mi", "fa", "", "", "", "", "fa", "mi", "re", "doh"]


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("syll-a-ble", ["syll-", "a-", "ble", ""]),
        ("syll-a--ble", ["syll-", "a-", "", "ble"]),
        ("syll-a -ble", ["syll-", "a-", "", "ble"]),
        ("time__ now", ["time", "", "", "now"]),
        ("of~the~day on", ["of the day", "on", "", ""]),
        ("* two * four", ["", "two", "", "four"]),
        ("a\\-b c", ["a-b", "c", "", ""]),
        ("one | three four", ["one", "", "three", "four"]),
        ("one two | three", ["one", "two", "three", ""]),
        ("1.~Three blind mice", ["1. Three", "blind", "mice", ""]),
    ],
)
def test_5_1_and_5_3_the_signs_of_alignment(line: str, expected: list[str]) -> None:
    assert words(read_bars(f"C D|E F|\nw: {line}", meter="2/4", unit="1/4")) == expected


def test_5_1_the_example_of_the_standard() -> None:
    song = read_bars("gf|e2dc B2A2|B2G2 E2D2|.G2.G2 GABc|d4 B2|\nw: Sa-ys my au-l' wan to your aul' wan,\n"
                     "+: Will~ye come to the Wa-x-ies dar-gle?")  # fmt: skip
    assert words(song)[:6] == ["Sa-", "ys", "my", "au-", "l'", "wan"]
    assert words(song)[-6:] == ["the", "Wa-", "x-", "ies", "dar-", "gle?"]
    assert remarks(song) == "3: Signs of expression are not carried over: staccato (bar 3)."


def test_5_1_rests_and_grace_notes_take_no_syllable_and_tied_notes_do() -> None:
    song = read_bars("C z {g}D E-|E F2|\nw: one two three four five", unit="1/4", meter="none")
    assert words(song) == ["one", "two", "three", "five"]


def test_5_1_too_many_syllables_are_remarked_on() -> None:
    assert "2 more syllables than" in remarks(read_bars("C8|\nw: one two three"))


def test_5_2_adjacent_lines_are_verses() -> None:
    song = read_bars(
        "CDEF FEDC|\nw: these are the lyr-ics for verse one\nw: these are the lyr-ics for verse two"
    )
    assert words(song, 1)[-1] == "one"
    assert words(song, 2)[-1] == "two"
    assert words(song, 2)[3] == "lyr-"


def test_10_6_without_a_version_words_belong_to_the_line_of_music_before_them() -> None:
    body = "X:1\nT:x\nM:4/4\nL:1/4\nK:C\nCDEF|\ncdef|]\nw:these are lyr-ics\n"
    assert words(read_abc(body)) == ["", "", "", "", "these", "are", "lyr-", "ics"]
    assert words(read_abc("%abc-2.1\n" + body)) == ["these", "are", "lyr-", "ics", "", "", "", ""]


# --- 6 to 8 -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    ["abc cba|\\ % end of line comment\nabc cba|", "abc \\\ncba|abc\\\n cba|", "abc cba|\\\n\\\nabc cba|"],
)
def test_6_1_1_a_backslash_joins_lines(text: str) -> None:
    assert pitches(read_bars(text, meter="6/8")) == pitches(read_bars("abc cba|abc cba|", meter="6/8"))


def test_6_1_1_fields_are_obeyed_between_joined_lines() -> None:
    song = read_bars("abc cab|\\\n%%setbarnb 10\nM:9/8\n%comment\nabc cba abc|", meter="6/8")
    assert [str(bar.meter) for bar in song.bars] == ["6/8", "9/8"]


def test_6_1_2_a_spacer_takes_no_time_but_can_carry_a_chord() -> None:
    assert chords(read_bars('C4 "Am" !pp! y D4|')) == [(2, "Am")]


TWO_VOICES = """X:1
T:Zocharti Loch
C:Louis Lewandowski (1821-1894)
M:C
Q:1/4=76
%%score (T1 T2) (B1 B2)
V:T1           clef=treble-8  name="Tenore I"   snm="T.I"
V:T2           clef=treble-8  name="Tenore II"  snm="T.II"
K:Gm
"""
LINE_BY_LINE = """% 1
[V:T1]  (B2c2 d2g2)  | f6e2      | (d2c2 d2)e2 | d4 c2z2 |
[V:T2]  (G2A2 B2e2)  | d6c2      | (B2A2 B2)c2 | B4 A2z2 |
% 5
[V:T1]  (B2c2 d2g2)  | f8        | d3c (d2fe)  | H d6    ||
[V:T2]       z8      |     z8    | B3A (B2c2)  | H A6    ||
"""
VOICE_BY_VOICE = """V:T1
 (B2c2 d2g2) | f6e2 | (d2c2 d2)e2 | d4 c2z2 |
 (B2c2 d2g2) | f8 | d3c (d2fe) | H d6 ||
V:T2
 (G2A2 B2e2) | d6c2 | (B2A2 B2)c2 | B4 A2z2 |
 z8 | z8 | B3A (B2c2) | H A6 ||
"""


def test_7_the_first_voice_is_the_melody_however_the_voices_are_written() -> None:
    by_line, by_voice = read_abc(TWO_VOICES + LINE_BY_LINE), read_abc(TWO_VOICES + VOICE_BY_VOICE)
    assert by_line.melody == by_voice.melody
    assert pitches(by_line).startswith("Bb3 C4 D4 G4 F4 Eb4 D4")
    assert len(by_line.bars) == 8
    assert "Of 2 voices the first one, T1, is the melody" in remarks(by_line)


def test_7_the_chords_may_stand_in_another_voice() -> None:
    song = read_abc('X:1\nT:x\nM:4/4\nL:1/4\nK:C\nV:1\nCDEF|\nV:2\n"C"C,4|\n')
    assert chords(song) == [(0, "C")]


def test_7_voices_may_change_in_mid_line() -> None:
    assert pitches(read_bars("[V:1] C8|[V:2] E8|[V:1] D8|[V:2] F8|")) == "C4 D4"


def test_7_3_inline_fields_count_for_their_voice() -> None:
    song = read_bars("[V:1] C4|[M:3/4]CEG|Gce|\n[V:2] E4|[M:3/4]G3 |E3 |", unit="1/4")
    assert [str(bar.meter) for bar in song.bars] == ["4/4", "3/4", "3/4"]


def test_7_4_what_is_laid_over_a_bar_is_left_out_with_a_remark() -> None:
    song = read_bars("A2 | c d e f g  a  &\\\n     A A A A A  A  &\\\n     F E D C B, A, |]", meter="3/4")
    assert pitches(song) == "A4 C5 D5 E5 F5 G5 A5"
    assert "laid over" in remarks(song)


def test_8_1_reserved_characters_are_ignored() -> None:
    song = read_bars('@a !pp! #bc2/3* [K:C#] de?f "@this $2was difficult to parse?" y |**', meter="none")
    assert pitches(song) == "A5 B5 C5 D#5 E#5 F#5"
    assert lengths(song)[:3] == [F(1, 2), F(1, 2), F(1, 3)]


@pytest.mark.parametrize(
    ("text", "title"),
    [
        ("Fa\\`a \\'e \\^o \\~n \\\"u \\cc \\vS \\HO \\ua", "Faà é ô ñ ü ç Š Ő ă"),
        ("\\AA \\/o \\ss \\AE \\oe", "Å ø ß Æ œ"),
        ("caf&eacute; &copy; &#233;", "café © é"),
        ("caf\\u00e9 \\U000000e9", "café é"),
        ("gin & tonic G\\&T \\\\ \\%", "gin & tonic G&T \\ %"),
        ("$1bold$0", "bold"),
        ("plain é", "plain é"),
    ],
)
def test_8_2_text_strings(text: str, title: str) -> None:
    assert read_abc(f"X:1\nT:{text}\nK:C\nC|\n").title == title


def test_3_1_17_another_charset_can_be_declared_and_an_undeclared_one_is_guessed_with_a_remark() -> None:
    body = 'X:1\nT:Für Ännchen\nK:C\n"C"C8|\n'
    declared = read_song(("I:abc-charset iso-8859-1\n\n" + body).encode("latin-1"), "x.abc")
    guessed = read_song(body.encode("latin-1"), "x.abc")
    assert declared.title == guessed.title == "Für Ännchen"
    assert declared.remarks == ()
    assert "Latin-1" in remarks(guessed)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_utf_8_and_utf_16_are_read_with_and_without_a_mark(encoding: str) -> None:
    assert read_song('X:1\nT:é\nK:C\n"C"C8|\n'.encode(encoding), "x.abc").title == "é"


def test_10_2_2_old_style_decorations_are_read() -> None:
    assert read_bars("+fermata+C8|").melody[0].has_fermata


def test_a_tune_without_x_is_read_all_the_same() -> None:
    # Section 10.5.1: deprecated, and common.
    assert pitches(read_abc("T:x\nM:4/4\nL:1/4\nK:C\nCDEF|\n")) == "C4 D4 E4 F4"


def test_2_2_1_music_after_an_empty_line_is_read_on_with_a_remark() -> None:
    song = read_abc("X:1\nT:x\nM:4/4\nL:1/4\nK:C\nCDEF|\n\nGABc|\n\nThanks to all the band.\n")
    assert len(song.bars) == 2
    assert "empty line" in remarks(song)


def test_several_tunes_give_the_first_with_a_remark_or_all_of_them() -> None:
    book = "".join(f'X:{n}\nT:Tune {n}\nK:C\n"C"C8|\n\n' for n in (1, 2, 3)).encode()
    song = read_song(book, "book.abc")
    assert song.title == "Tune 1"
    assert "2 more tunes" in remarks(song)
    assert [tune.title for tune in read_songs(book, "book.abc")] == ["Tune 1", "Tune 2", "Tune 3"]
