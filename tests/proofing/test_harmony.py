"""The accompaniment plays tones of the chords, and the chords are the song's."""

from dataclasses import replace

import pytest

from apoyando.model.arrangement import Arrangement
from apoyando.model.pitch import Interval
from apoyando.proofing import Breach, Proof, prove_harmony
from builders import make_arrangement, make_harmony, make_line, make_note
from proofing.scene import breaches_of, song_of, witnesses_of


def over(chords: str, *notes: tuple[str, int | str, int | str]) -> Arrangement:
    """Inner notes (pitch, onset, duration) under chords."""
    inner = [make_note("inner", onset, duration, pitch) for pitch, onset, duration in notes]
    return make_arrangement(inner, harmony=make_harmony(chords))


def breaches(arrangement: Arrangement) -> list[Breach]:
    return breaches_of(prove_harmony(arrangement, song_of(arrangement)))


@pytest.mark.parametrize("pitch", ["G3", "B3", "D3", "F3"])
def test_the_tones_of_the_chord_are_proven(pitch: str) -> None:
    """G7 is G B D F (any harmony text)."""
    assert breaches(over("G.dominant:4", (pitch, 0, 4))) == []


@pytest.mark.parametrize("pitch", ["A3", "C4", "F#3", "E3"])
def test_any_other_tone_is_refuted(pitch: str) -> None:
    arrangement = over("G.dominant:4", (pitch, 0, 4))
    (witness,) = witnesses_of(prove_harmony(arrangement, song_of(arrangement)))
    assert (witness.breach, witness.notes) == (Breach.NOT_A_TONE, arrangement.notes)


def test_the_bass_of_a_slash_chord_is_a_tone() -> None:
    assert breaches(over("C:4", ("D3", 0, 4))) == [Breach.NOT_A_TONE]
    assert breaches(over("C/D:4", ("D3", 0, 4))) == []


def test_the_melody_may_have_any_tone() -> None:
    melody = make_arrangement(make_line("melody", "F4:4"), harmony=make_harmony("C:4"))
    assert breaches(melody) == []


def test_a_note_ends_with_its_chord_or_belongs_to_the_next_too() -> None:
    assert breaches(over("C:2 G:2", ("E3", 0, 2))) == []
    assert breaches(over("C:2 G:2", ("G3", 0, 4))) == []
    arrangement = over("C:2 G:2", ("E3", 0, "33/16"))
    (witness,) = witnesses_of(prove_harmony(arrangement, song_of(arrangement)))
    assert witness.breach is Breach.RUNS_INTO_CHORD
    assert witness.onset == 2


def test_a_note_struck_with_the_new_chord_is_measured_by_the_new_chord() -> None:
    assert breaches(over("C:2 G:2", ("E3", 2, 1))) == [Breach.NOT_A_TONE]


def test_where_no_chord_is_wanted_nothing_is_played_or_held() -> None:
    assert breaches(over("N.C.:4", ("E3", 0, 1))) == [Breach.NO_CHORD]
    assert breaches(over("C:2 N.C.:2", ("E3", 0, 3))) == [Breach.RUNS_INTO_CHORD]
    assert breaches(over("C:2 N.C.:2", ("E3", 0, 2))) == []


def test_where_the_song_says_nothing_no_note_starts_but_one_may_go_on() -> None:
    assert breaches(over("-:2 C:2", ("E3", 0, 2))) == [Breach.NO_CHORD]
    assert breaches(over("C:2 -:2", ("E3", 0, 4))) == []


def test_the_chords_are_the_songs_moved_by_the_transposition() -> None:
    up_a_tone = Interval(2, 2)
    song = song_of(over("C:2 A.minor/G:2"))
    moved = replace(over("D:2 B.minor/A:2"), transposition=up_a_tone)
    assert isinstance(prove_harmony(moved, song), Proof)
    assert (
        breaches_of(prove_harmony(replace(moved, transposition=Interval(0, 0)), song))
        == [Breach.CHORDS_DIFFER] * 2
    )


@pytest.mark.parametrize("chords", ["C:2 F:2", "C:1 G:3", "C:2", "C:2 N.C.:2", "C:2 G.dominant:2"])
def test_a_chord_of_the_song_that_is_not_there_for_its_whole_time_is_refuted(chords: str) -> None:
    assert Breach.CHORDS_DIFFER in breaches_of(prove_harmony(over(chords), song_of(over("C:2 G:2"))))


def test_a_chord_may_be_written_in_two_pieces() -> None:
    assert isinstance(prove_harmony(over("C:1 C:1 G:2"), song_of(over("C:2 G:2"))), Proof)


def test_chords_of_the_same_tones_on_another_root_differ() -> None:
    """C6 and Am7 have the same four tones (any harmony text)."""
    answer = prove_harmony(over("A.minor-seventh:4"), song_of(over("C.major-sixth:4")))
    assert breaches_of(answer) == [Breach.CHORDS_DIFFER]
