"""Natural harmonics: what sounds, who touches, and what a touching finger damps.

The strings by the series of partials (see ``tests/model/test_harmonics.py``); that one finger may lie
flat over the strings it touches is common practice, no source.
"""

from dataclasses import replace

import pytest

from apoyando.model.arrangement import Note
from apoyando.model.hand import Finger
from apoyando.model.instrument import DROP_D_TUNING
from apoyando.proofing import Breach, Proof, prove_barres, prove_holds, prove_pitches, prove_reach
from apoyando.proofing.pitches import count_parts
from builders import make_arrangement, make_harmonic, make_note, make_pitch
from proofing.scene import breaches_of, make_level, place, witnesses_of

FLAT = (make_harmonic("melody", 0, 2, "D5", 3, 7), make_harmonic("inner", 0, 2, "A4", 4, 7))


@pytest.mark.parametrize(
    ("fret", "parts"),
    [(12, 2), (7, 3), (19, 3), (5, 4), (9, 5), (4, 5), (16, 5), (0, None), (1, None), (6, None), (8, None)],
)
def test_a_string_is_divided_where_its_nodes_lie(fret: int, parts: int | None) -> None:
    """1/2, 1/3, 2/3, 1/4, 2/5, 1/5 and 3/5 of the string."""
    assert count_parts(fret) == parts  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("pitch", "string", "fret"), [("E5", 1, 12), ("F#5", 2, 7), ("G5", 3, 5), ("A4", 4, 19), ("C#5", 5, 0)]
)
def test_a_harmonic_sounds_what_the_string_gives_where_it_is_touched(
    pitch: str, string: int, fret: int
) -> None:
    note = make_harmonic("melody", 0, 1, pitch, string, fret)
    answer = prove_pitches(make_arrangement([note]))
    if fret:
        assert isinstance(answer, Proof)
    else:
        assert Breach.NO_NODE in breaches_of(answer)


def test_the_note_that_would_be_stopped_there_is_another_one() -> None:
    note = make_harmonic("melody", 0, 1, "B4", 1, 7)
    (witness,) = witnesses_of(prove_pitches(make_arrangement([note])))
    assert witness.breach is Breach.WRONG_PITCH
    assert witness.sentence == (
        "Bar 1, beat 1: B (harmonic, finger 3, string 1 fret 7): the place gives MIDI note 83, not 71."
    )


def test_the_tuning_moves_harmonics_too() -> None:
    low = make_harmonic("bass", 0, 1, "D3", 6, 12)
    assert isinstance(prove_pitches(make_arrangement([low], tuning=DROP_D_TUNING)), Proof)
    assert breaches_of(prove_pitches(make_arrangement([low]))) == [Breach.WRONG_PITCH]


def test_a_capo_takes_the_highest_nodes_away() -> None:
    high = make_harmonic("melody", 0, 1, "B5", 1, 19)
    assert isinstance(prove_pitches(make_arrangement([high])), Proof)
    assert breaches_of(prove_pitches(make_arrangement([high], capo=1))) == [Breach.NO_SUCH_PLACE]


def test_one_finger_touches_several_strings_at_one_fret_without_a_barre() -> None:
    arrangement = make_arrangement(FLAT)
    assert isinstance(prove_holds(arrangement), Proof)
    assert isinstance(prove_barres(arrangement), Proof)


def test_one_finger_does_not_touch_at_two_frets() -> None:
    apart = (FLAT[0], make_harmonic("inner", 0, 2, "D4", 4, 12))
    assert breaches_of(prove_holds(make_arrangement(apart))) == [Breach.FINGER_TAKEN]


def test_a_finger_does_not_touch_and_press_at_once() -> None:
    pressed = make_note("inner", 0, 2, "A3", string=4, finger=3)
    assert breaches_of(prove_holds(make_arrangement([FLAT[0], pressed]))) == [Breach.FINGER_TAKEN]


def test_nothing_else_sounds_on_a_string_while_its_harmonic_rings() -> None:
    plucked = make_note("inner", 1, 1, "G3")
    assert breaches_of(prove_holds(make_arrangement([FLAT[0], plucked]))) == [Breach.STRING_TAKEN]


AROUND = (make_harmonic("melody", 0, 2, "F#5", 2, 7), make_harmonic("inner", 0, 2, "A4", 4, 7))


@pytest.mark.parametrize(
    ("between", "is_damped"),
    [
        (make_note("inner", 0, 2, "G3"), True),
        (make_note("inner", 0, 2, "A3", string=3, finger=1), True),
        (make_note("inner", 0, 2, "D4", string=3, finger=4), True),
        (make_note("inner", 0, 2, "Eb4", string=3, finger=4), False),
        (make_note("inner", 0, 2, "B3", string=2, finger=0), False),
    ],
    ids=[
        "open between",
        "stopped below between",
        "stopped at its fret between",
        "stopped above between",
        "on a string that is touched",
    ],
)
def test_a_string_between_two_that_one_finger_touches_is_damped(between: Note, is_damped: bool) -> None:
    found = (
        []
        if isinstance(answer := prove_holds(make_arrangement([*AROUND, between])), Proof)
        else breaches_of(answer)
    )
    assert (Breach.STRING_DAMPED in found) is is_damped


def test_beside_the_touched_strings_an_open_one_sounds_on() -> None:
    bass = make_note("bass", 0, 2, "A2")
    assert isinstance(prove_holds(make_arrangement([*AROUND, bass])), Proof)


def test_reach_is_measured_at_the_node_which_lies_over_the_wire() -> None:
    """From a quarter of the second fret behind its wire to the wire of fret 7, straight along string 4:
    650 (2^(-2/12) - 2^(-7/12)) mm and the quarter."""
    pressed = make_note("bass", 0, 2, "E3", string=4, finger=1)
    touched = make_harmonic("melody", 0, 2, "D5", 3, 7, 4)
    along = 650 * (2 ** (-2 / 12) - 2 ** (-7 / 12)) + 650 * (2 ** (-1 / 12) - 2 ** (-2 / 12)) / 4
    for limit, is_in_reach in ((along + 1, True), (along - 0.1, False)):
        level = make_level({(1, 4): limit})
        answer = prove_reach(make_arrangement([pressed, touched]), level)
        assert isinstance(answer, Proof) is is_in_reach


def test_the_finger_that_touches_is_named() -> None:
    none = replace(FLAT[0], finger=Finger.OPEN)
    assert breaches_of(prove_pitches(make_arrangement([none]))) == [Breach.FINGER_AND_PLACE]
    assert place(3, 7) == none.place
    assert make_pitch("D5") == none.pitch
