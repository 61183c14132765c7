"""A fingered score is proven against the score itself."""

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from apoyando.arranging import finger_score
from apoyando.model.arrangement import Arrangement, GivenUpHold, Relaxation, RelaxationStep
from apoyando.model.hand import Finger, Pluck
from apoyando.model.instrument import Fret, Place, StringNumber
from apoyando.model.plan import Plan
from apoyando.model.score import Score
from apoyando.proofing import (
    SCORE_RULES,
    Breach,
    Proof,
    Refutation,
    Rule,
    merge_unisons,
    prove_fingering,
    prove_score,
)
from apoyando.reading import load_default_levels
from builders import change_bar, make_note, make_pitch
from guitar_scores import make_score
from proofing.scene import INTERMEDIATE

SCORE = make_score("E4:1 G4@1.4m:1 C4:2", "C3@5.3:2 E3:2")
FINGERED = finger_score(SCORE, Plan(), load_default_levels()).arrangement


def breaches(arrangement: Arrangement, score: Score = SCORE) -> list[Breach]:
    answer = prove_score(arrangement, score)
    return [witness.breach for witness in answer.witnesses] if isinstance(answer, Refutation) else []


def changed(name: str, **changes: Any) -> Arrangement:
    """The fingered score with its one note of this name changed."""
    notes = [replace(note, **changes) if str(note.pitch) == name else note for note in FINGERED.notes]
    return replace(FINGERED, notes=tuple(notes))


def without(pitch: str) -> Arrangement:
    return replace(FINGERED, notes=tuple(note for note in FINGERED.notes if str(note.pitch) != pitch))


def relaxed(arrangement: Arrangement, step: RelaxationStep, onset: int) -> Arrangement:
    return replace(arrangement, relaxations=(Relaxation(step, "1", Fraction(onset), "said"),))


def test_a_fingered_score_is_proven_by_every_rule_for_scores() -> None:
    certificate = prove_fingering(FINGERED, SCORE, INTERMEDIATE)

    assert certificate.is_proven, certificate.witnesses
    assert [answer.rule for answer in certificate.answers] == list(SCORE_RULES)


def test_a_proof_says_how_many_notes_of_the_score_it_looked_at() -> None:
    assert prove_score(FINGERED, SCORE) == Proof(rule=Rule.SCORE, notes_checked=5)


def test_a_note_of_the_score_must_be_there_unless_it_is_left_to_the_player_at_its_moment() -> None:
    assert breaches(without("G4")) == [Breach.SCORE_NOTE_MISSING]
    assert breaches(relaxed(without("G4"), RelaxationStep.PLAYER_DECIDES, 1)) == []
    assert breaches(relaxed(without("G4"), RelaxationStep.PLAYER_DECIDES, 2)) == [Breach.SCORE_NOTE_MISSING]


def test_one_note_left_to_the_player_does_not_excuse_two() -> None:
    both = replace(FINGERED, notes=tuple(note for note in FINGERED.notes if note.onset != 0))

    assert breaches(relaxed(both, RelaxationStep.PLAYER_DECIDES, 0)) == [Breach.SCORE_NOTE_MISSING]


def test_no_note_is_added() -> None:
    added = replace(FINGERED, notes=(*FINGERED.notes, make_note("inner", 1, 1, "D4")))

    assert breaches(added) == [Breach.SCORE_NOTE_ADDED]


def test_a_note_at_another_pitch_or_by_another_name_is_one_missing_and_one_added() -> None:
    for name in ("G#4", "F##4"):
        assert set(breaches(changed("G4", pitch=make_pitch(name)))) == {
            Breach.SCORE_NOTE_MISSING,
            Breach.SCORE_NOTE_ADDED,
        }


@pytest.mark.parametrize("until", [Fraction(3, 2), Fraction(5, 2)])
def test_a_note_is_as_long_as_written_unless_a_shorter_one_is_listed(until: Fraction) -> None:
    note = next(note for note in FINGERED.notes if str(note.pitch) == "C3")
    cut = changed("C3", span=replace(note.span, offset=until))
    hold = GivenUpHold("1", note.onset, note.pitch, note.offset, until, "said")

    assert breaches(cut) == [Breach.SCORE_NOTE_LENGTH]
    assert breaches(replace(cut, given_up_holds=(hold,))) == []
    other = replace(hold, held_until=Fraction(1))
    assert breaches(replace(cut, given_up_holds=(other,))) == [Breach.SCORE_NOTE_LENGTH]


def test_what_is_written_of_the_left_hand_is_kept_unless_it_is_listed_as_let_go() -> None:
    moved = changed("G4", place=Place(StringNumber(2), Fret(8)))

    assert breaches(moved) == [Breach.FINGERING_CHANGED]
    assert breaches(changed("G4", finger=Finger.RING)) == [Breach.FINGERING_CHANGED]
    assert breaches(relaxed(moved, RelaxationStep.FINGERING_LET_GO, 1)) == []


def test_a_written_plucking_letter_is_never_let_go() -> None:
    other = changed("G4", pluck=Pluck.I)

    assert breaches(relaxed(other, RelaxationStep.FINGERING_LET_GO, 1)) == [Breach.FINGERING_CHANGED]


def test_what_is_not_written_is_free() -> None:
    assert breaches(changed("E4", place=Place(StringNumber(2), Fret(5)), finger=Finger.LITTLE)) == []


def test_a_unison_written_in_two_voices_is_two_notes_and_one_sound() -> None:
    score = make_score("E3:1 G3:1", "E3:2")
    fingered = finger_score(score, Plan(), load_default_levels()).arrangement

    assert len(fingered.notes) == 3
    assert [note.duration for note in merge_unisons(fingered).notes if str(note.pitch) == "E3"] == [2]
    assert prove_fingering(fingered, score, INTERMEDIATE).is_proven
    assert breaches(merge_unisons(fingered), score) == [Breach.SCORE_NOTE_MISSING]


def test_bars_that_are_not_the_score_s_are_refuted() -> None:
    other = replace(FINGERED, bars=change_bar(FINGERED.bars, 0, number="7"))
    certificate = prove_fingering(other, SCORE, INTERMEDIATE)

    assert Breach.BARS_DIFFER in {witness.breach for witness in certificate.witnesses}
