"""Every bar of the piece is a bar of the song, in the song's order of play but for the listed steps.

Whatever the maker makes is proven in ``tests/arranging/test_form.py``; here is what is refuted.
"""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import pytest

from apoyando.model.arrangement import Arrangement
from apoyando.model.form_steps import Form, FormAct, FormStep
from apoyando.model.song import Bar, Jump, Song
from apoyando.proofing import Breach, Proof, prove_form
from apoyando.proofing.form import lay_out_song
from builders import change_bar, make_arrangement, make_bars, make_line, make_song
from proofing.scene import breaches_of, witnesses_of

SONG = make_song("C4:4 D4:4 E4:4 F4:4", "C:16", count=4)


def step(act: FormAct, first: int = 0, end: int = 0, times: int = 0, bar: int = 0) -> FormStep:
    return FormStep(act=act, sentence="told", first=first, end=end, times=times, bar=bar)


def piece(
    sources: Sequence[int | None], *steps: FormStep, bars: tuple[Bar, ...] | None = None, line: str = ""
) -> Arrangement:
    written = make_bars(len(sources)) if bars is None else bars
    return replace(make_arrangement(make_line("melody", line), written), form=Form(tuple(sources), steps))


def breaches(arrangement: Arrangement, song: Song = SONG) -> list[Breach]:
    return breaches_of(prove_form(arrangement, song))


def test_the_song_s_own_form_needs_no_steps() -> None:
    assert isinstance(prove_form(make_arrangement([], make_bars(4)), SONG), Proof)
    assert isinstance(prove_form(piece([0, 1, 2, 3]), SONG), Proof)


def test_where_no_form_is_listed_the_marks_lead_as_the_song_s_do() -> None:
    repeated = change_bar(make_bars(4), 3, repeat_times=2)
    assert breaches(make_arrangement([], repeated)) == [Breach.FORM_ORDER]
    assert breaches(make_arrangement([], repeated), replace(SONG, bars=repeated)) == []


def test_a_bar_left_out_or_in_another_order_is_shown_where_the_ways_part() -> None:
    (witness,) = witnesses_of(prove_form(piece([0, 1, 3, 2]), SONG))
    assert (witness.breach, witness.bar) == (Breach.FORM_ORDER, "3")
    assert breaches(piece([0, 1, 2])) == [Breach.FORM_ORDER]
    assert breaches(piece([0, 1, 2, 3, 3])) == [Breach.FORM_ORDER]


def test_what_is_left_out_or_comes_again_is_told_by_its_places_in_the_order_of_play() -> None:
    repeated = replace(SONG, bars=change_bar(SONG.bars, 1, repeat_times=2))
    left_out = step(FormAct.LEFT_OUT, first=2, end=4)
    assert breaches(piece([0, 1, 2, 3], left_out), repeated) == []
    assert breaches(piece([0, 1, 2, 3]), repeated) == [Breach.FORM_ORDER]
    again = step(FormAct.PLAYED_AGAIN, first=2, end=4, times=2)
    assert breaches(piece([0, 1, 2, 3, 2, 3, 2, 3], again)) == []
    assert breaches(piece([0, 1, 2, 3, 2, 3], again)) == [Breach.FORM_ORDER]


def test_signs_that_lead_elsewhere_than_the_song_s_are_refuted() -> None:
    astray = change_bar(make_bars(4), 3, jumps=(Jump.DA_CAPO,))
    assert breaches(piece([0, 1, 2, 3], bars=astray)) == [Breach.FORM_ORDER]


@pytest.mark.parametrize("act", [FormAct.LEFT_OUT, FormAct.PLAYED_AGAIN])
def test_no_section_begins_under_a_note_that_is_held_on(act: FormAct) -> None:
    held = replace(SONG, melody=make_song("C4:9 D4:7", "C:16", count=4).melody)
    sources = [0, 1, 3] if act is FormAct.LEFT_OUT else [0, 1, 2, 3, 2]
    told = step(act, first=2, end=3, times=1)
    assert breaches(piece(sources, told)) == []
    assert Breach.FORM_CUT in breaches(piece(sources, told), held)


def test_an_introduction_is_the_end_of_the_song_or_bars_that_are_not_in_it() -> None:
    two = step(FormAct.INTRODUCTION, times=2)
    assert breaches(piece([2, 3, 0, 1, 2, 3], two)) == []
    assert breaches(piece([None, None, 0, 1, 2, 3], two)) == []
    assert breaches(piece([1, 2, 0, 1, 2, 3], two)) == [Breach.FORM_SOURCE]
    assert Breach.FORM_SOURCE in breaches(piece([0, 1, None, 2, 3]))


def test_an_introduction_that_is_played_again_is_refuted() -> None:
    back = change_bar(make_bars(6), 5, repeat_times=2)
    repeated = replace(SONG, bars=change_bar(SONG.bars, 3, repeat_times=2))
    two = step(FormAct.INTRODUCTION, times=2)
    assert breaches(piece([2, 3, 0, 1, 2, 3], two, bars=back), repeated) == [Breach.FORM_ORDER]
    start = change_bar(back, 2, starts_repeat=True)
    assert breaches(piece([2, 3, 0, 1, 2, 3], two, bars=start), repeated) == []


def with_upbeat(last: str) -> tuple[Song, Arrangement]:
    """An upbeat and two bars of three, played twice, the bar before the second upbeat shortened."""
    song = make_song(f"G4:1 C5:3 {last}", "C:7", "3/4", count=2, pickup="1")
    lengths = [1, 3, 2, 1, 3, 3]
    onsets = [sum(lengths[:index]) for index in range(6)]
    sources = (0, 1, 2, 0, 1, 2)
    bars = tuple(
        replace(
            song.bars[source],
            index=index,
            span=replace(song.bars[0].span, onset=Fraction(onset), offset=Fraction(onset + length)),
        )
        for index, (source, onset, length) in enumerate(zip(sources, onsets, lengths, strict=True))
    )
    steps = (
        step(FormAct.PLAYED_AGAIN, first=0, end=3, times=1),
        step(FormAct.SHORTENED, bar=2),
    )
    return song, piece(sources, *steps, bars=bars)


def test_a_bar_is_shortened_before_an_upbeat_where_nothing_begins_only() -> None:
    song, arrangement = with_upbeat("E4:3")
    assert breaches(arrangement, song) == []
    assert [bar.duration for bar in lay_out_song(arrangement, song).bars] == [1, 3, 2, 1, 3, 3]
    song, arrangement = with_upbeat("E4:2 F4:1")
    assert breaches(arrangement, song) == [Breach.FORM_UPBEAT]
    assert breaches(piece([0, 1, 2, 3], step(FormAct.SHORTENED, bar=1))) == [Breach.FORM_UPBEAT]


def test_a_listed_ending_is_there() -> None:
    ending = step(FormAct.ENDING, bar=3)
    plain = piece([0, 1, 2, 3], ending, line="C4:4 D4:4 E4:4 F4:4")
    assert breaches(plain) == [Breach.FORM_ENDING]
    last = plain.notes[-1]
    held = replace(plain, notes=(*plain.notes[:-1], replace(last, has_fermata=True)))
    assert breaches(held) == []
    alone = replace(plain, notes=(*plain.notes[:-1], replace(last, is_rolled=True)))
    assert breaches(alone) == [Breach.FORM_ENDING], "a single note is no chord"
    bass = make_line("bass", "C3:4", start=12)
    half = replace(alone, notes=(*alone.notes, *bass))
    assert breaches(half) == [Breach.FORM_ENDING], "a chord of which one note is rolled"
    whole = replace(alone, notes=(*alone.notes, replace(bass[0], is_rolled=True)))
    assert breaches(whole) == []


def test_the_song_laid_out_has_the_notes_of_each_bar_and_joins_what_is_held_on() -> None:
    song = make_song("C4:6 D4:2 E4:8", "C:8 G:8", count=4)
    again = step(FormAct.PLAYED_AGAIN, first=1, end=2, times=1)
    laid_out = lay_out_song(piece([0, 1, 2, 3, 1], again), song)
    notes = [f"{note.onset} {note.offset} {note.pitch}" for note in laid_out.melody]
    assert notes == ["0 6 C4", "6 8 D4", "8 16 E4", "16 18 C4", "18 20 D4"]
    assert [bar.number for bar in laid_out.bars] == ["1", "2", "3", "4", "2.2"]


def test_on_the_dominant_the_song_laid_out_has_its_chord_and_no_tune() -> None:
    two = step(FormAct.INTRODUCTION, times=2)
    laid_out = lay_out_song(piece([None, None, 0, 1, 2, 3], two), SONG)
    assert [str(each.chord.root) for each in laid_out.harmony[:2] if each.chord] == ["G", "G"]
    assert laid_out.melody[0].onset == 8
    assert [bar.number for bar in laid_out.bars[:3]] == ["i1", "i2", "1"]
