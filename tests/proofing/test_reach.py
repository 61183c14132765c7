"""The fingers lie in order and within reach."""

from dataclasses import replace
from itertools import combinations

import pytest

from apoyando.model.arrangement import Arrangement, Note
from apoyando.proofing import Breach, Proof, prove_barres, prove_holds, prove_pitches, prove_reach
from builders import make_arrangement, make_barre
from proofing import naive
from proofing.scene import INTERMEDIATE, barre_note, breaches_of, hand, make_level, stop, witnesses_of

# Open-position chord shapes as every method prints them, (string, fret, finger) (common
# practice, no source).
OPEN_SHAPES = {
    "C": [(5, 3, 3), (4, 2, 2), (3, 0, 0), (2, 1, 1), (1, 0, 0)],
    "A": [(5, 0, 0), (4, 2, 1), (3, 2, 2), (2, 2, 3), (1, 0, 0)],
    "G": [(6, 3, 2), (5, 2, 1), (4, 0, 0), (3, 0, 0), (2, 0, 0), (1, 3, 3)],
    "E": [(6, 0, 0), (5, 2, 2), (4, 2, 3), (3, 1, 1), (2, 0, 0), (1, 0, 0)],
    "D": [(4, 0, 0), (3, 2, 1), (2, 3, 3), (1, 2, 2)],
    "Am": [(5, 0, 0), (4, 2, 2), (3, 2, 3), (2, 1, 1), (1, 0, 0)],
    "Em": [(6, 0, 0), (5, 2, 2), (4, 2, 3), (3, 0, 0), (2, 0, 0), (1, 0, 0)],
    "Dm": [(4, 0, 0), (3, 2, 2), (2, 3, 3), (1, 1, 1)],
}


@pytest.mark.parametrize("name", OPEN_SHAPES)
def test_the_open_chord_shapes_are_proven_as_printed(name: str) -> None:
    arrangement = hand(*OPEN_SHAPES[name])
    assert isinstance(prove_pitches(arrangement), Proof)
    assert isinstance(prove_holds(arrangement), Proof)
    assert isinstance(prove_reach(arrangement, INTERMEDIATE), Proof)


@pytest.mark.parametrize("name", OPEN_SHAPES)
def test_any_two_fingers_of_an_open_shape_exchanged_are_refuted(name: str) -> None:
    """A finger has one place in these shapes, so every exchange crosses two fingers."""
    shape = OPEN_SHAPES[name]
    for one, other in combinations([entry for entry in shape if entry[2]], 2):
        swapped = [
            (s, f, other[2] if finger == one[2] else one[2] if finger == other[2] else finger)
            for s, f, finger in shape
        ]
        assert Breach.FINGER_ORDER in breaches_of(prove_reach(hand(*swapped), INTERMEDIATE))


def test_the_f_barre_chord_is_proven_as_printed() -> None:
    assert isinstance(prove_holds(f_chord()), Proof)
    assert isinstance(prove_reach(f_chord(), INTERMEDIATE), Proof)
    assert isinstance(prove_barres(f_chord()), Proof)


def f_chord() -> Arrangement:
    """133211 with a full barre at fret 1 (common practice, no source)."""
    notes = [
        barre_note(6, 1),
        stop(5, 3, 3),
        stop(4, 3, 4),
        stop(3, 2, 2),
        barre_note(2, 1),
        barre_note(1, 1),
    ]
    return make_arrangement(notes, barres=(make_barre(1, 6, 0, 1),))


def test_at_one_fret_the_lower_number_lies_on_the_lower_string() -> None:
    assert isinstance(prove_reach(hand((5, 2, 2), (4, 2, 3)), INTERMEDIATE), Proof)
    assert breaches_of(prove_reach(hand((5, 2, 3), (4, 2, 2)), INTERMEDIATE)) == [Breach.FINGER_ORDER]


def test_a_higher_finger_may_lie_on_a_lower_string_at_a_higher_fret_only() -> None:
    assert isinstance(prove_reach(hand((2, 1, 1), (5, 2, 2)), INTERMEDIATE), Proof)
    assert breaches_of(prove_reach(hand((2, 2, 1), (5, 1, 2)), INTERMEDIATE)) == [Breach.FINGER_ORDER]


def test_fingers_that_follow_each_other_may_cross_but_not_while_one_is_held() -> None:
    in_turn = [stop(2, 3, 1, 0, 1), stop(3, 2, 2, 1, 1)]
    held = [stop(2, 3, 1, 0, 2), stop(3, 2, 2, 1, 1)]
    assert isinstance(prove_reach(make_arrangement(in_turn), INTERMEDIATE), Proof)
    (witness,) = witnesses_of(prove_reach(make_arrangement(held), INTERMEDIATE))
    assert witness.breach is Breach.FINGER_ORDER
    assert [witness.onset, witness.offset] == [1, 2]


def test_a_span_of_exactly_the_limit_is_proven_and_one_a_hair_wider_refuted() -> None:
    wide = hand((6, 1, 1), (1, 4, 4))
    span_mm = naive.gap_mm((6, 1), (1, 4))
    assert isinstance(prove_reach(wide, make_level({(1, 4): span_mm})), Proof)
    (witness,) = witnesses_of(prove_reach(wide, make_level({(1, 4): span_mm - 0.001})))
    assert witness.breach is Breach.TOO_WIDE
    assert set(witness.notes) == set(wide.notes)


def test_the_distances_are_those_of_the_published_rule() -> None:
    """Equal temperament, fret n at L (1 - 2^(-n/12)); tip ¼ of a fret behind the wire, by hand:
    on string 3 the tips lie 27.36 mm and 126.43 mm from the nut, and 0.23 mm apart across.
    """
    proof = prove_reach(hand((3, 1, 1), (3, 4, 4)), INTERMEDIATE)
    assert isinstance(proof, Proof)
    assert proof.widest is not None
    assert proof.widest.span_mm == pytest.approx(99.06, abs=0.01)


def test_four_frets_that_are_too_far_in_first_position_are_near_at_the_seventh() -> None:
    low, high = hand((3, 1, 2), (3, 4, 4)), hand((3, 7, 2), (3, 10, 4))
    assert breaches_of(prove_reach(low, INTERMEDIATE)) == [Breach.TOO_WIDE]
    assert isinstance(prove_reach(high, INTERMEDIATE), Proof)


def test_a_small_hand_has_smaller_limits() -> None:
    arrangement = hand((3, 1, 1), (3, 4, 4))
    assert isinstance(prove_reach(arrangement, INTERMEDIATE, 0.96), Proof)  # 99.84 mm
    assert breaches_of(prove_reach(arrangement, INTERMEDIATE, 0.95)) == [Breach.TOO_WIDE]  # 98.80 mm


def test_the_proof_shows_the_widest_span_and_where_it_is() -> None:
    narrow = [stop(3, 1, 1, 0, 1), stop(2, 2, 2, 0, 1)]
    wide: list[Note] = [stop(6, 1, 1, 5, 1), stop(3, 3, 3, 5, 2)]
    proof = prove_reach(make_arrangement([*narrow, *wide]), INTERMEDIATE)
    assert isinstance(proof, Proof)
    assert proof.widest is not None
    assert set(proof.widest.notes) == set(wide)
    assert proof.widest.bar == "2"
    assert proof.widest.onset == 5
    assert proof.widest.span_mm == pytest.approx(naive.gap_mm((6, 1), (3, 3)))
    assert (proof.notes_checked, proof.moments_checked) == (4, 3)


def test_a_hand_with_no_finger_down_has_no_widest_span() -> None:
    proof = prove_reach(hand((1, 0, 0), (6, 0, 0)), INTERMEDIATE)
    assert isinstance(proof, Proof)
    assert proof.widest is None
    assert proof.notes_checked == 0


def test_a_barre_is_as_far_as_its_nearest_string_wherever_its_notes_sound() -> None:
    barre = make_barre(1, 4, 0, 2)
    far, over = barre_note(4, 1), stop(1, 3, 3)
    limit = make_level({(1, 3): naive.gap_mm((1, 1), (1, 3))})
    assert isinstance(prove_reach(make_arrangement([far, over], barres=(barre,)), limit), Proof)
    beyond = stop(5, 3, 3)
    answer = prove_reach(make_arrangement([far, beyond], barres=(barre,)), limit)
    assert breaches_of(answer) == [Breach.TOO_WIDE]


def test_a_tip_that_is_laid_flat_later_is_measured_as_a_tip_before() -> None:
    barre = make_barre(1, 4, 1, 1)
    grows, over = barre_note(4, 1, 0, 2), stop(1, 3, 3, 0, 2)
    limit = make_level({(1, 3): naive.gap_mm((1, 1), (1, 3))})
    answer = prove_reach(make_arrangement([grows, over], barres=(barre,)), limit)
    assert breaches_of(answer) == [Breach.TOO_WIDE]


def test_a_barre_that_lies_without_sounding_counts_with_its_nearest_string() -> None:
    barre = make_barre(1, 3, 0, 2)
    sounding, finger = barre_note(2, 1, 0, 1), stop(5, 3, 3, 1, 1)
    span_mm = naive.gap_mm((3, 1), (5, 3))
    arrangement = make_arrangement([sounding, finger], barres=(barre,))
    assert isinstance(prove_reach(arrangement, make_level({(1, 3): span_mm})), Proof)
    (witness,) = witnesses_of(prove_reach(arrangement, make_level({(1, 3): span_mm - 0.001})))
    assert witness.barres == (barre,)
    assert witness.notes == (finger,)
    released = replace(arrangement, barres=(make_barre(1, 3, 0, 1),))
    assert isinstance(prove_reach(released, make_level({(1, 3): span_mm - 0.001})), Proof)
