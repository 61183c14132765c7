"""What the arrangement says of itself speaks of places that are there."""

from dataclasses import replace
from fractions import Fraction

import pytest

from apoyando.model.arrangement import GivenUpHold, MelodyChange, Relaxation, RelaxationStep
from apoyando.proofing import Breach, Proof, prove_report
from builders import make_pitch, small_arrangement
from proofing.scene import breaches_of, song_of, witnesses_of

PIECE = small_arrangement()
SONG = song_of(PIECE)

# The bass of bar 1 is C3 from 0 to 2 and again from 2 to 4.
HOLD = GivenUpHold("1", Fraction(2), make_pitch("C3"), Fraction(5), Fraction(4), "string 5 is needed")
STEP = Relaxation(RelaxationStep.INNER_DROPPED, "2", Fraction(4), "out of reach")
CHANGE = MelodyChange("2", Fraction(5), "A4", "A5", "asked for")


def test_an_arrangement_that_reports_nothing_is_proven() -> None:
    assert isinstance(prove_report(PIECE, SONG), Proof)


def test_what_is_there_is_proven() -> None:
    told = replace(PIECE, given_up_holds=(HOLD,), relaxations=(STEP,), melody_changes=(CHANGE,))
    proof = prove_report(told, SONG)
    assert isinstance(proof, Proof)
    assert proof.notes_checked == 1


@pytest.mark.parametrize(
    "hold",
    [
        replace(HOLD, bar="2"),
        replace(HOLD, onset=Fraction(1)),
        replace(HOLD, pitch=make_pitch("E3")),
        replace(HOLD, held_until=Fraction(3)),
        replace(HOLD, wanted_until=Fraction(4)),
        replace(HOLD, onset=Fraction(100)),
    ],
)
def test_a_given_up_hold_that_is_not_there_is_refuted(hold: GivenUpHold) -> None:
    answer = prove_report(replace(PIECE, given_up_holds=(hold,)), SONG)
    assert set(breaches_of(answer)) == {Breach.REPORT_NOWHERE}
    assert witnesses_of(answer)[0].onset == hold.onset


@pytest.mark.parametrize(("bar", "onset"), [("1", 4), ("2", 3), ("3", 8), ("2", 8), ("2", -1)])
def test_a_relaxation_outside_its_bar_is_refuted(bar: str, onset: int) -> None:
    step = replace(STEP, bar=bar, onset=Fraction(onset))
    answer = prove_report(replace(PIECE, relaxations=(step,)), SONG)
    assert breaches_of(answer) == [Breach.REPORT_NOWHERE]


def test_a_melody_change_where_no_melody_note_starts_is_refuted() -> None:
    change = replace(CHANGE, onset=Fraction(11, 2))
    answer = prove_report(replace(PIECE, melody_changes=(change,)), SONG)
    assert breaches_of(answer) == [Breach.REPORT_NOWHERE]


def test_without_bars_every_place_is_nowhere() -> None:
    answer = prove_report(replace(PIECE, bars=(), relaxations=(STEP,)), SONG)
    assert breaches_of(answer) == [Breach.REPORT_NOWHERE]
