"""The whole form: spelled out, in a wanted time, with an introduction and an ending.

Common practice, no source, unless a line says otherwise. In forms and orders each letter is
a bar, as in ``tests/model/test_form.py``.
"""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apoyando.arranging import arrange_in_key
from apoyando.arranging.form import lay_out_form, lay_out_locks
from apoyando.model.arrangement import Arrangement, Role
from apoyando.model.form import play_order, playing_minutes
from apoyando.model.form_steps import Form, FormAct
from apoyando.model.instrument import StringNumber
from apoyando.model.locks import Lock, NoBarreLock, NoteLock, PositionLock, Stretch
from apoyando.model.pitch import Key
from apoyando.model.plan import ENDINGS, INTRODUCTIONS, Plan
from apoyando.model.song import Bar, Barline, Jump, Song
from apoyando.proofing import Proof, prove_arrangement, prove_bars, prove_form
from apoyando.proofing.form import lay_out_song
from apoyando.reading import load_default_levels
from apoyando.sound.performance import perform
from builders import change_bar, make_arrangement, make_bars, make_form, make_note, make_song
from strategies import songs_with_form

INTERMEDIATE = load_default_levels()["intermediate"]
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
PITCHES = ("C4", "D4", "E4", "F4", "G4", "A4", "B4", "C5")


def song_on(bars: tuple[Bar, ...]) -> Song:
    """One whole note in each bar and one chord over all, at a minute for every 24 bars of four quarters."""
    melody = " ".join(f"{PITCHES[index % 8]}:{bar.duration}" for index, bar in enumerate(bars))
    song = make_song(melody, f"C:{bars[-1].offset}", count=len(bars))
    return replace(song, bars=bars, tempo_quarters_per_minute=Fraction(96))


def lay_out(song: Song, **decisions: object) -> tuple[Song, Form]:
    piece, form = lay_out_form(song, replace(Plan(), **decisions))  # type: ignore[arg-type]
    assert form is not None
    return piece, form


def played(piece: Song, form: Form) -> str:
    """The bars of the song in letters as the piece plays them, ``-`` for a bar that is not the song's."""
    sources = (form.sources[index] for index in play_order(piece.bars))
    return "".join("-" if source is None else LETTERS[source] for source in sources)


def told(form: Form) -> list[str]:
    return [step.sentence for step in form.steps]


def test_a_plan_that_asks_for_nothing_leaves_the_song_as_it_is() -> None:
    song = song_on(make_form(": A | B [1 : | C [2"))
    assert lay_out_form(song, Plan()) == (song, None)
    assert lay_out_form(song_on(make_bars(4)), Plan(spell_out=True)) == (song_on(make_bars(4)), None)


# --- spelled out ---------------------------------------------------------------------


def test_repeats_and_jumps_are_written_out_without_a_mark_left() -> None:
    song = song_on(make_form("S A | B To | C DS | O D"))
    piece, form = lay_out(song, spell_out=True)
    assert form.sources == (0, 1, 2, 0, 1, 3)
    assert not any(bar.repeat_times or bar.endings or bar.jumps or bar.starts_repeat for bar in piece.bars)
    assert told(form) == ["Repeats and jumps written out."]


def test_a_bar_that_comes_again_keeps_its_number_with_a_count() -> None:
    piece, _ = lay_out(song_on(make_form(": A | B [1 : | C [2")), spell_out=True)
    assert [bar.number for bar in piece.bars] == ["1", "2", "1.2", "3"]


def test_where_a_repeat_was_a_double_bar_stands_and_the_last_barline_is_final() -> None:
    piece, _ = lay_out(song_on(make_form("A : | B Fine | C DC")), spell_out=True)
    assert [bar.barline for bar in piece.bars[:2]] == [Barline.DOUBLE, Barline.DOUBLE]
    assert piece.bars[-1].barline is Barline.FINAL


def test_a_note_held_into_a_bar_is_struck_anew_where_the_music_comes_from_elsewhere() -> None:
    """Bars of four quarters: the second note is held over the barline, and the second bar is repeated."""
    song = replace(make_song("C4:3 D4:3 E4:2", "C:8"), bars=make_form("A | : B :"))
    piece, _ = lay_out(song, spell_out=True)
    notes = [(note.span.onset, note.span.offset, str(note.pitch)) for note in piece.melody]
    struck = ["0 3 C4", "3 6 D4", "6 8 E4", "8 10 D4", "10 12 E4"]
    assert [" ".join(map(str, note)) for note in notes] == struck


@settings(deadline=None)
@given(songs_with_form())
def test_a_song_spelled_out_sounds_as_it_does_played_from_its_marks(song: Song) -> None:
    piece, form = lay_out_form(song, Plan(spell_out=True))
    assert play_order(piece.bars) == tuple(range(len(piece.bars)))
    assert (form.sources if form else tuple(range(len(song.bars)))) == play_order(song.bars)
    assert sounding(piece) == sounding(song)


def sounding(song: Song) -> list[tuple[Fraction, Fraction, int]]:
    """The melody as the room of sound plays it from the written marks."""
    notes = [
        replace(make_note("melody", 0, 1, "E4"), span=note.span, pitch=note.pitch) for note in song.melody
    ]
    played_notes = perform(make_arrangement(notes, song.bars)).notes
    return [(each.span.onset, each.span.offset, each.note.pitch.midi) for each in played_notes]


@settings(deadline=None)
@given(songs_with_form())
def test_each_bar_spelled_out_has_the_tune_and_the_chords_of_its_source(song: Song) -> None:
    piece, form = lay_out_form(song, Plan(spell_out=True))
    for bar, source in zip(piece.bars, form.sources if form else range(len(song.bars)), strict=True):
        assert source is not None
        assert heard_in(piece, bar) == heard_in(song, song.bars[source])


def heard_in(song: Song, bar: Bar) -> object:
    """What sounds in one bar, counted from its start, by naive code."""
    return [
        (max(each.onset, bar.onset) - bar.onset, min(each.offset, bar.offset) - bar.onset, what)
        for each, what in (*((n, n.pitch) for n in song.melody), *((h, h.chord) for h in song.harmony))
        if each.onset < bar.offset and bar.onset < each.offset
    ]


# --- a wanted time -------------------------------------------------------------------


def strains(*marks: str) -> tuple[Bar, ...]:
    """For each mark eight bars: "" plain, "2" played twice, "|" closed by a double bar."""
    bars = make_bars(8 * len(marks))
    for strain, mark in enumerate(marks):
        first, last = 8 * strain, 8 * strain + 7
        if mark == "2":
            bars = change_bar(change_bar(bars, first, starts_repeat=True), last, repeat_times=2)
        if mark == "|":
            bars = change_bar(bars, last, barline=Barline.DOUBLE)
    return bars


def strain_order(piece: Song, form: Form) -> str:
    """The strains as they are played: the first A, the second B …"""
    order = [form.sources[index] for index in play_order(piece.bars)]
    assert all(source is not None and source % 8 == place % 8 for place, source in enumerate(order))
    return "".join("ABCDEFGH"[source // 8] for source in order[::8] if source is not None)


@pytest.mark.parametrize(
    ("marks", "minutes", "order"),
    [
        (("2", "2"), 1.0, "AAB"),  # 32 bars last 4/3 minutes: one repeat goes
        (("2", "2"), 2 / 3, "AB"),
        (("2", "|", "|"), 1.0, "ABC"),
        (("2", "|", "|"), 2 / 3, "AC"),  # what is heard once goes last, and never the end
        (("2", "|", "|"), 0.1, "AC"),
        (("|", "|"), 4 / 3, "ABAB"),
        (("|", "|"), 1.0, "ABB"),
        (("|", "|"), 2.4, "ABABABB"),
        (("2", "|"), 2.0, "AABAAB"),
    ],
)
def test_a_wanted_time_is_neared_by_whole_sections(marks: Sequence[str], minutes: float, order: str) -> None:
    piece, form = lay_out(song_on(strains(*marks)), minutes=minutes)
    assert strain_order(piece, form) == order


def test_a_song_of_one_section_is_played_again_as_a_whole_only() -> None:
    _, form = lay_out(song_on(make_bars(4)), minutes=0.6)
    assert told(form) == ["The whole song played 4 times."]


def test_an_introduction_is_part_of_the_wanted_time() -> None:
    """Sixteen bars are two thirds of a minute, the introduction's four bars a sixth."""
    song = song_on(strains("|", "|"))
    piece, form = lay_out(song, minutes=1.0)
    assert strain_order(piece, form) == "ABB"
    piece, form = lay_out(song, minutes=1.0, introduction="last-phrase")
    assert played(piece, form) == LETTERS[12:16] + LETTERS[:16]


def test_nothing_that_is_heard_only_once_goes_where_the_song_is_less_than_a_tenth_too_long() -> None:
    song = song_on(strains("|", "|", "|"))
    for minutes, order in ((0.91, "ABC"), (0.82, "AC")):
        piece, form = lay_out(song, minutes=minutes)
        assert strain_order(piece, form) == order


def test_a_first_ending_goes_with_its_pass() -> None:
    song = song_on(make_form(": A | B | C | D | E [1 : | F [2"))
    piece, form = lay_out(song, minutes=0.2)
    assert played(piece, form) == "ABCDF"
    assert told(form) == ["Bars 1 to 5 left out the first time."]


def test_what_comes_again_at_once_is_written_once_between_repeat_signs() -> None:
    piece, form = lay_out(song_on(strains("|", "|")), minutes=2.0)
    assert len(piece.bars) == 16
    assert (piece.bars[0].starts_repeat, piece.bars[-1].repeat_times) == (True, 3)
    assert told(form) == ["The whole song played 3 times."]
    spelled, _ = lay_out(song_on(strains("|", "|")), minutes=2.0, spell_out=True)
    assert len(spelled.bars) == 48


def test_periods_of_eight_bars_are_sections_where_a_phrase_begins() -> None:
    phrases = " ".join(["C4:4 D4:4 E4:4 F4:4 G4:4 A4:4 B4:4 C5:2 r:2"] * 3)
    runs = " ".join(["C4:1"] * 96)
    song = replace(make_song(phrases, "C:96", count=24), tempo_quarters_per_minute=Fraction(96))
    piece, form = lay_out(song, minutes=2 / 3)
    assert strain_order(piece, form) == "AC"
    unbroken = replace(make_song(runs, "C:96", count=24), tempo_quarters_per_minute=Fraction(96))
    _, kept = lay_out(unbroken, minutes=2 / 3)
    assert told(kept) == ["No whole section more or less brings the song nearer to 0.666667 min."]


def test_no_section_is_cut_under_a_note_that_is_held_on() -> None:
    song = song_on(strains("|", "|", "|"))
    held = make_song("C4:30 D4:4 E4:62", "C:96", count=24)
    _, form = lay_out(replace(song, melody=held.melody), minutes=0.5)
    assert [step.act for step in form.steps] == [FormAct.NOT_DONE]


@settings(deadline=None)
@given(songs_with_form(), st.sampled_from([0.1, 0.2, 0.3, 0.5, 1.0, 3.0]))
def test_the_time_reached_is_never_farther_from_the_wanted_than_the_song_is(
    song: Song, minutes: float
) -> None:
    piece, form = lay_out(song, minutes=minutes, spell_out=True)
    tempo, wanted = song.tempo_quarters_per_minute or Fraction(96), Fraction(str(minutes))
    reached, written = (playing_minutes(each.bars, tempo) for each in (piece, song))
    longest_upbeat = song.bars[0].duration / tempo
    assert abs(reached - wanted) <= abs(written - wanted) + 8 * longest_upbeat * song.bars[0].is_pickup
    order = play_order(song.bars)
    assert (form.sources[0], form.sources[-1]) == (order[0], order[-1])


# --- upbeats that come after the end -------------------------------------------------


def with_upbeat(last: str) -> Song:
    """An upbeat of one quarter, two bars of three; ``last`` is the tune of the second."""
    song = make_song(f"G4:1 C5:3 {last}", "G:1 C:6", "3/4", count=2, pickup="1")
    return replace(song, tempo_quarters_per_minute=Fraction(60))


def test_the_bar_before_an_upbeat_makes_room_for_it() -> None:
    piece, form = lay_out(with_upbeat("E4:3"), minutes=0.24, spell_out=True)
    assert [bar.duration for bar in piece.bars] == [1, 3, 2, 1, 3, 3]
    assert told(form)[1:] == [
        "Repeats and jumps written out.",
        "Bar 2 without its end, where the upbeat comes.",
    ]
    assert [note.duration for note in piece.melody] == [1, 3, 2, 1, 3, 3]


def test_where_a_note_begins_in_the_end_of_the_bar_it_is_not_cut() -> None:
    piece, form = lay_out(with_upbeat("E4:2 F4:1"), minutes=0.24, spell_out=True)
    assert [bar.duration for bar in piece.bars] == [1, 3, 3, 1, 3, 3]
    assert not form.steps_of(FormAct.SHORTENED)


def test_between_repeat_signs_the_bar_is_short_each_time() -> None:
    piece, _ = lay_out(with_upbeat("E4:3"), minutes=0.24)
    assert [bar.duration for bar in piece.bars] == [1, 3, 2]


# --- an introduction -----------------------------------------------------------------


def test_the_last_phrase_comes_first_with_numbers_of_its_own() -> None:
    song = song_on(strains("|", "|"))
    piece, form = lay_out(song, introduction="last-phrase")
    assert form.sources[:5] == (12, 13, 14, 15, 0)
    assert [bar.number for bar in piece.bars[:6]] == ["i1", "i2", "i3", "i4", "1", "2"]
    assert piece.bars[3].barline is Barline.DOUBLE
    assert told(form) == ["Bars 13 to 16 played first, as an introduction."]


def test_the_last_phrase_is_as_long_as_it_is_in_the_tune() -> None:
    two_by_eight = " ".join(["C4:1 D4:1 E4:1 F4:1"] * 7 + ["G4:3 r:1"]) + " "
    song = make_song(2 * two_by_eight, "C:64", count=16)
    _, form = lay_out(song, introduction="last-phrase")
    assert told(form) == ["Bars 9 to 16 played first, as an introduction."]


def test_on_the_dominant_the_accompaniment_plays_alone_for_two_bars() -> None:
    song = song_on(make_bars(4, fifths=1))
    piece, form = lay_out(song, introduction="dominant")
    assert form.sources == (None, None, 0, 1, 2, 3)
    chord = piece.harmony[0].chord
    assert chord is not None
    assert (str(chord.root), chord.kind) == ("D", "dominant")
    assert piece.harmony[0].duration == 8
    assert piece.melody[0].onset == 8


@pytest.mark.parametrize(
    "form",
    ["A | B : | C", "A Fine | B DC", "S A To | B DS | O C", "A | B S | C DS", ": A : | B DC", "A | B DS"],
)
@pytest.mark.parametrize("kind", ["last-phrase", "dominant"])
def test_what_goes_back_to_the_beginning_does_not_go_back_to_the_introduction(form: str, kind: str) -> None:
    song = song_on(make_form(form))
    piece, laid_out = lay_out(song, introduction=kind)
    order = "".join(LETTERS[index] for index in play_order(song.bars))
    (step,) = laid_out.steps
    assert played(piece, laid_out)[step.times :] == order
    assert len(piece.bars) == step.times + len(song.bars)


def test_da_capo_becomes_dal_segno_with_the_sign_where_the_song_begins() -> None:
    piece, _ = lay_out(song_on(make_form("A Fine | B DC")), introduction="dominant")
    assert [bar.jumps for bar in piece.bars[2:]] == [(Jump.SEGNO, Jump.FINE), (Jump.DAL_SEGNO,)]


def test_where_no_sign_is_free_the_song_is_written_out() -> None:
    song = song_on(make_form("A | S B | C DS DC | D"))
    order = "".join(LETTERS[index] for index in play_order(song.bars))
    piece, form = lay_out(song, introduction="dominant")
    assert played(piece, form) == f"--{order}"


def test_a_last_phrase_in_another_key_makes_no_introduction() -> None:
    bars = change_bar(make_bars(8), 7, key=Key(2))
    piece, form = lay_out(song_on(bars), introduction="last-phrase")
    assert [step.act for step in form.steps] == [FormAct.NOT_DONE]
    assert len(piece.bars) == 8


def test_a_song_of_one_bar_has_no_last_phrase_to_begin_with() -> None:
    _, form = lay_out(song_on(make_bars(1)), introduction="last-phrase")
    assert told(form) == ["The song is too short to begin with its last phrase."]


# --- every form is proven ------------------------------------------------------------

plans = st.builds(
    Plan,
    introduction=st.sampled_from(INTRODUCTIONS),
    ending=st.sampled_from(ENDINGS[:2]),
    spell_out=st.booleans(),
    minutes=st.none() | st.sampled_from([0.1, 0.2, 0.4, 1.0]),
)


@settings(deadline=None, max_examples=300)
@given(songs_with_form(), plans)
def test_whatever_the_plan_asks_every_bar_is_proven_to_be_the_song_s(song: Song, plan: Plan) -> None:
    piece, form = lay_out_form(song, plan)
    notes = [
        replace(
            make_note("melody", 0, 1, "E4"),
            span=n.span,
            pitch=n.pitch,
            source=index,
            has_fermata=n.has_fermata,
        )
        for index, n in enumerate(piece.melody)
    ]
    arrangement = replace(make_arrangement(notes, piece.bars), form=form)
    answer = prove_form(arrangement, song)
    assert isinstance(answer, Proof), answer.witnesses
    laid_out = lay_out_song(arrangement, song)
    assert isinstance(prove_bars(arrangement, laid_out), Proof)
    assert [(n.span, n.pitch) for n in laid_out.melody] == [(n.span, n.pitch) for n in piece.melody]


# --- the ending ----------------------------------------------------------------------

TUNE = make_song("E4:1 G4:1 C5:2 D5:1 B4:1 C5:2", "C:4 G:2 C:2")


def arrange(song: Song, **decisions: object) -> Arrangement:
    plan = replace(Plan(), **decisions)  # type: ignore[arg-type]
    arrangement = arrange_in_key(song, plan, INTERMEDIATE, song.key)
    certificate = prove_arrangement(arrangement, song, INTERMEDIATE)
    assert certificate.is_proven, certificate.witnesses
    return arrangement


@pytest.mark.parametrize("ending", ["fermata", "rolled-chord"])
def test_the_last_chord_is_struck_together_and_held_to_the_end(ending: str) -> None:
    arrangement = arrange(TUNE, ending=ending)
    last = [note for note in arrangement.notes if note.onset == 6]
    assert {note.role for note in last} == {Role.MELODY, Role.BASS, Role.INNER}
    assert {note.offset for note in last} == {Fraction(8)}
    assert max(note.onset for note in arrangement.notes) == 6


def test_the_fermata_stands_on_the_last_note_of_the_tune_alone() -> None:
    arrangement = arrange(TUNE, ending="fermata")
    assert [note.onset for note in arrangement.notes if note.has_fermata] == [6]
    assert arrangement.form is not None
    assert told(arrangement.form) == ["The last chord is held."]


def test_every_note_of_the_last_chord_is_rolled_and_no_other() -> None:
    arrangement = arrange(TUNE, ending="rolled-chord")
    assert {note.onset for note in arrangement.notes if note.is_rolled} == {Fraction(6)}
    assert all(note.is_rolled for note in arrangement.notes if note.onset == 6)


def test_the_piece_ends_where_it_is_over_when_played() -> None:
    """D.C. al Fine: the last bar of the page is not the last of the piece."""
    song = replace(
        TUNE, bars=change_bar(change_bar(TUNE.bars, 0, jumps=(Jump.FINE,)), 1, jumps=(Jump.DA_CAPO,))
    )
    arrangement = arrange(song, ending="fermata")
    assert [note.onset for note in arrangement.notes if note.has_fermata] == [2]


def test_a_last_note_alone_is_not_rolled_and_that_is_told() -> None:
    song = make_song("E4:4 C5:4", "C:4 N.C.:4")
    arrangement = arrange(song, ending="rolled-chord")
    assert not any(note.is_rolled for note in arrangement.notes)
    assert arrangement.form is not None
    assert told(arrangement.form) == ["The last note stands alone: there is nothing to roll."]


def test_where_the_tune_is_silent_at_the_end_the_ending_is_left_as_it_is() -> None:
    arrangement = arrange(make_song("E4:4", "C:8"), ending="fermata")
    assert arrangement.form is not None
    assert told(arrangement.form) == ["The tune is silent in the last bar: the ending is left as it is."]


# --- arranged ------------------------------------------------------------------------


def test_what_comes_again_is_fingered_as_the_first_time() -> None:
    """But for the last bar, which closes."""
    song = replace(TUNE, bars=change_bar(TUNE.bars, 1, repeat_times=2))
    arrangement = arrange(song, spell_out=True)
    first, again = (
        [
            (n.onset - start, n.place, n.finger)
            for n in arrangement.notes
            if start <= n.onset < start + song.bars[-1].onset
        ]
        for start in (Fraction(0), song.duration)
    )
    assert first == again


@settings(deadline=None, max_examples=15)
@given(songs_with_form(most_bars=3), plans)
def test_every_song_is_arranged_and_certified_in_every_form(song: Song, plan: Plan) -> None:
    short = plan if (plan.minutes or 0) < 0.4 else replace(plan, minutes=0.2)
    arrangement = arrange_in_key(song, short, INTERMEDIATE, song.key)
    certificate = prove_arrangement(arrangement, song, INTERMEDIATE)
    assert certificate.is_proven, certificate.witnesses


# --- locks ---------------------------------------------------------------------------


def locks_on(song: Song, lock: Lock, **decisions: object) -> tuple[Lock, ...]:
    plan = replace(Plan(locks=(lock,)), **decisions)  # type: ignore[arg-type]
    piece, form = lay_out_form(song, plan)
    return lay_out_locks(plan, song, piece, form).locks


def test_a_lock_on_a_bar_holds_each_time_the_bar_comes() -> None:
    song = song_on(make_form(": A | B [1 : | C [2"))
    lock = NoteLock(bar="1", beat=Fraction(1), string=StringNumber(2))
    again = replace(lock, bar="1.2")
    assert locks_on(song, lock, spell_out=True) == (lock, again)
    assert locks_on(song, again, spell_out=True) == (again,), "a number of the page is taken as it is"


def test_a_lock_on_a_stretch_is_laid_on_each_run_of_its_bars() -> None:
    song = song_on(make_form(": A | B [1 : | C [2"))
    lock = PositionLock(Stretch(bar="1", to_bar="3", beat=Fraction(2), until_beat=Fraction(3)), 5)
    assert [
        str(each.stretch) for each in locks_on(song, lock, spell_out=True) if isinstance(each, PositionLock)
    ] == [
        "bar 1 from beat 2 to bar 2",
        "bar 1.2 from beat 2",
        "bar 3 until beat 3",
    ]


def test_locks_keep_their_bars_behind_an_introduction_and_on_the_whole_piece() -> None:
    song = song_on(strains("|", "|"))
    for lock in (PositionLock(Stretch(bar="13", to_bar="14"), 5), NoBarreLock(Stretch())):
        assert locks_on(song, lock, introduction="last-phrase") == (lock,)
