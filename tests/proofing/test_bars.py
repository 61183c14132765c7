"""The bars, and the notes and voices in them."""

from dataclasses import replace
from fractions import Fraction

import pytest

from apoyando.model.arrangement import Role
from apoyando.model.time import Span
from apoyando.proofing import Breach, Proof, prove_bars
from builders import change_bar, make_arrangement, make_bars, make_note, make_span, small_arrangement
from proofing.scene import breaches_of, song_of, witnesses_of


def test_the_bars_of_the_song_are_proven_with_a_pickup_and_a_change_of_meter() -> None:
    arrangement = make_arrangement([make_note("bass", 0, 1, "C3")], make_bars(3, "3/4", pickup=1))
    assert isinstance(prove_bars(arrangement, song_of(arrangement)), Proof)
    changed = change_bar(arrangement.bars, 3, meter=make_bars(1, "4/4")[0].meter, span=make_span(7, 4))
    other = replace(arrangement, bars=changed)
    assert isinstance(prove_bars(other, song_of(other)), Proof)


def test_a_gap_between_bars_is_refuted() -> None:
    song = song_of(small_arrangement())
    late = change_bar(song.bars, 1, span=make_span(5, 4))
    broken = replace(small_arrangement(), bars=late)
    assert breaches_of(prove_bars(broken, replace(song, bars=late))) == [Breach.BARS_BROKEN]


def test_the_first_bar_starts_at_zero() -> None:
    late = change_bar(make_bars(1), 0, span=make_span(1, 4))
    arrangement = make_arrangement([], late)
    assert breaches_of(prove_bars(arrangement, song_of(arrangement))) == [Breach.BARS_BROKEN]


@pytest.mark.parametrize("bars", [1, 3])
def test_more_or_fewer_bars_than_the_song_are_refuted(bars: int) -> None:
    arrangement = make_arrangement([], make_bars(2))
    song = replace(song_of(arrangement), bars=make_bars(bars))
    answer = prove_bars(arrangement, song)
    assert breaches_of(answer) == [Breach.BARS_DIFFER]
    assert witnesses_of(answer)[0].bar == str(min(bars, 2) + 1)


def test_a_bar_in_another_meter_than_the_songs_is_refuted() -> None:
    arrangement = make_arrangement([], make_bars(2, "6/8"))
    song = replace(song_of(arrangement), bars=make_bars(2, "3/4"))
    assert breaches_of(prove_bars(arrangement, song)) == [Breach.BARS_DIFFER] * 2


@pytest.mark.parametrize(
    ("onset", "offset", "is_inside"),
    [(0, 4, True), (3, 4, True), (3, "65/16", False), ("-1/16", 1, False), (4, 5, False)],
)
def test_every_note_lies_in_the_piece(onset: int | str, offset: int | str, is_inside: bool) -> None:
    note = replace(make_note("bass", 0, 1, "C3"), span=Span(Fraction(onset), Fraction(offset)))
    arrangement = make_arrangement([note], make_bars(1))
    answer = prove_bars(arrangement, song_of(arrangement))
    assert breaches_of(answer) == ([] if is_inside else [Breach.OUTSIDE_PIECE])


def test_without_bars_every_note_is_outside_and_the_song_has_more_bars() -> None:
    arrangement = replace(small_arrangement(), bars=())
    answer = prove_bars(arrangement, song_of(small_arrangement()))
    assert set(breaches_of(answer)) == {Breach.OUTSIDE_PIECE, Breach.BARS_DIFFER}


@pytest.mark.parametrize("role", list(Role))
def test_notes_of_one_voice_follow_each_other(role: Role) -> None:
    def answer(onset: str) -> list[Breach]:
        notes = [make_note(role, 0, 2, "C4"), make_note(role, onset, 1, "E4")]
        arrangement = make_arrangement(notes)
        return breaches_of(prove_bars(arrangement, song_of(arrangement)))

    assert answer("2") == []
    assert answer("31/16") == [Breach.VOICE_OVERLAP]


@pytest.mark.parametrize(("role", "is_chord"), [(Role.MELODY, False), (Role.BASS, False), (Role.INNER, True)])
def test_only_inner_notes_make_chords_of_one_length(role: Role, is_chord: bool) -> None:
    chord = make_arrangement([make_note(role, 0, 2, "C4"), make_note(role, 0, 2, "E4")])
    uneven = make_arrangement([make_note(role, 0, 2, "C4"), make_note(role, 0, 1, "E4")])
    assert breaches_of(prove_bars(chord, song_of(chord))) == ([] if is_chord else [Breach.VOICE_OVERLAP])
    assert breaches_of(prove_bars(uneven, song_of(uneven))) == [Breach.VOICE_OVERLAP]
