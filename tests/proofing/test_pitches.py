"""Each note by itself: place, pitch and finger."""

from dataclasses import replace

import pytest

from apoyando.model.hand import Finger
from apoyando.model.instrument import DROP_D_TUNING
from apoyando.proofing import Breach, Proof, Rule, prove_pitches
from builders import make_arrangement, make_note, make_pitch, small_arrangement
from proofing.scene import FINGERS, breaches_of, change_note, place, witnesses_of


def test_a_proof_counts_the_notes_it_looked_at() -> None:
    arrangement = small_arrangement()
    assert prove_pitches(arrangement) == Proof(rule=Rule.PITCHES, notes_checked=len(arrangement.notes))


@pytest.mark.parametrize(
    ("pitch", "string", "fret"),
    [("E2", 6, 0), ("G2", 6, 3), ("C3", 5, 3), ("E3", 4, 2), ("A3", 3, 2), ("C4", 2, 1), ("G4", 1, 3)],
)
def test_the_first_position_has_its_known_pitches(pitch: str, string: int, fret: int) -> None:
    """Common practice, no source: the notes every beginner learns, sounding an octave below the page."""
    note = replace(make_note("inner", 0, 1, pitch), place=place(string, fret), finger=Finger(min(fret, 4)))
    assert isinstance(prove_pitches(make_arrangement([note])), Proof)


def test_a_place_one_fret_off_is_refuted_with_the_note() -> None:
    note = replace(make_note("inner", 0, 1, "C4"), place=place(2, 2), finger=Finger.MIDDLE)
    (witness,) = witnesses_of(prove_pitches(make_arrangement([note])))
    assert witness.breach is Breach.WRONG_PITCH
    assert witness.notes == (note,)
    assert witness.sentence == (
        "Bar 1, beat 1: C (finger 2, string 2 fret 2): the place gives MIDI note 61, not 60."
    )


def test_drop_d_moves_the_sixth_string_only() -> None:
    low_d = replace(make_note("bass", 0, 1, "E2"), pitch=make_pitch("D2"))
    assert breaches_of(prove_pitches(make_arrangement([low_d]))) == [Breach.WRONG_PITCH]
    assert isinstance(prove_pitches(make_arrangement([low_d], tuning=DROP_D_TUNING)), Proof)


@pytest.mark.parametrize("string", [0, 7])
def test_a_string_that_is_not_there_is_refuted(string: int) -> None:
    note = replace(make_note("inner", 0, 1, "C4"), place=place(string, 1))
    assert breaches_of(prove_pitches(make_arrangement([note]))) == [Breach.NO_SUCH_PLACE]


def test_the_last_fret_is_19_and_a_capo_takes_frets_away() -> None:
    peak = make_note("melody", 0, 1, "B5", string=1)
    assert peak.place.fret == 19
    assert isinstance(prove_pitches(make_arrangement([peak])), Proof)
    assert breaches_of(prove_pitches(make_arrangement([peak], capo=1))) == [Breach.NO_SUCH_PLACE]
    above = make_note("melody", 0, 1, "C6", string=1)
    assert breaches_of(prove_pitches(make_arrangement([above]))) == [Breach.NO_SUCH_PLACE]


@pytest.mark.parametrize(("fret", "finger"), [(0, 1), (1, 0)])
def test_open_strings_take_finger_0_and_nothing_else_does(fret: int, finger: int) -> None:
    arrangement = make_arrangement([make_note("inner", 0, 1, "C4" if fret else "B3")])
    refuted = change_note(arrangement, 0, finger=FINGERS[finger])
    assert isinstance(prove_pitches(arrangement), Proof)
    assert breaches_of(prove_pitches(refuted)) == [Breach.FINGER_AND_PLACE]
