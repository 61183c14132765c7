"""Finger 1 across several strings."""

from dataclasses import replace

import pytest

from apoyando.model.arrangement import Arrangement, Barre, Note
from apoyando.proofing import Breach, Proof, prove_barres
from builders import make_arrangement, make_barre
from proofing.scene import barre_note, breaches_of, stop, witnesses_of


def with_barre(*notes: Note, barre: Barre | None = None) -> Arrangement:
    """Half a barre at fret 5 over strings 4 to 1, two quarters long, one of its notes sounding."""
    laid = barre or make_barre(5, 4, 0, 2)
    return make_arrangement([barre_note(4, 5, 0, 2), *notes], barres=(laid,))


def test_a_barre_with_its_notes_is_proven() -> None:
    assert isinstance(prove_barres(with_barre(barre_note(1, 5), barre_note(2, 5, 1, 1))), Proof)


def test_without_barres_there_is_nothing_to_refute() -> None:
    assert isinstance(prove_barres(make_arrangement([stop(2, 1, 1), stop(1, 0, 0)])), Proof)


def test_a_note_in_a_barre_where_none_lies_is_refuted() -> None:
    assert breaches_of(prove_barres(make_arrangement([barre_note(4, 5)]))) == [Breach.NO_BARRE]


@pytest.mark.parametrize(
    ("onset", "duration", "is_covered"),
    [(0, 2, True), (1, 1, True), (1, "17/16", True), (2, 1, False)],
)
def test_a_barre_covers_its_notes_for_a_part_of_their_length(
    onset: int, duration: int | str, is_covered: bool
) -> None:
    answer = prove_barres(with_barre(barre_note(1, 5, onset, duration)))
    assert breaches_of(answer) == ([] if is_covered else [Breach.NO_BARRE])


def test_a_barre_that_grows_from_half_to_full_goes_on_covering() -> None:
    half, full = make_barre(5, 4, 0, 1), make_barre(5, 6, 1, 1)
    notes = [barre_note(4, 5, 0, 2), barre_note(6, 5, 1, 1)]
    assert isinstance(prove_barres(make_arrangement(notes, barres=(full, half))), Proof)


def test_a_barre_covers_from_its_lowest_string_to_string_1() -> None:
    assert isinstance(prove_barres(with_barre(barre_note(1, 5))), Proof)
    breaches = breaches_of(prove_barres(with_barre(barre_note(5, 5))))
    assert set(breaches) == {Breach.NO_BARRE, Breach.FINGER_LEAVES_BARRE}


@pytest.mark.parametrize(("string", "sounds"), [(1, False), (4, False), (5, True), (6, True)])
def test_no_open_string_sounds_under_a_barre(string: int, sounds: bool) -> None:
    barre = make_barre(5, 4, 0, 2)
    notes = [barre_note(3, 5, 0, 2), stop(string, 0, 0, 1, 1)]
    answer = prove_barres(make_arrangement(notes, barres=(barre,)))
    assert breaches_of(answer) == ([] if sounds else [Breach.OPEN_UNDER_BARRE])


def test_an_open_string_may_sound_until_the_barre_is_laid_and_from_when_it_is_lifted() -> None:
    barre = make_barre(5, 4, 1, 1)
    lying = barre_note(4, 5, 1, 1)
    around = [stop(1, 0, 0, 0, 1), stop(1, 0, 0, 2, 1)]
    into = stop(1, 0, 0, 0, "17/16")
    assert isinstance(prove_barres(make_arrangement([lying, *around], barres=(barre,))), Proof)
    (witness,) = witnesses_of(prove_barres(make_arrangement([lying, into], barres=(barre,))))
    assert witness.breach is Breach.OPEN_UNDER_BARRE
    assert (witness.notes, witness.barres) == ((into,), (barre,))


@pytest.mark.parametrize("string", [1, 6])
@pytest.mark.parametrize(("fret", "lies"), [(4, False), (5, False), (6, True)])
def test_other_fingers_press_above_the_barre_only_on_any_string(string: int, fret: int, lies: bool) -> None:
    answer = prove_barres(with_barre(stop(string, fret, 2)))
    assert breaches_of(answer) == ([] if lies else [Breach.BESIDE_BARRE])


def test_finger_1_is_nowhere_else_while_its_barre_lies() -> None:
    assert breaches_of(prove_barres(with_barre(stop(1, 5, 1)))) == [Breach.FINGER_LEAVES_BARRE]
    assert breaches_of(prove_barres(with_barre(stop(6, 7, 1)))) == [Breach.FINGER_LEAVES_BARRE]
    assert isinstance(prove_barres(with_barre(stop(6, 7, 1, 2, 1))), Proof)


def test_another_finger_cannot_say_that_it_lies_in_the_barre() -> None:
    above = stop(1, 6, 2)
    assert isinstance(prove_barres(with_barre(above)), Proof)
    answer = prove_barres(with_barre(replace(above, in_barre=True)))
    assert breaches_of(answer) == [Breach.NO_BARRE]


def test_a_barre_that_stops_nothing_is_refuted() -> None:
    arrangement = make_arrangement([stop(5, 0, 0)], barres=(make_barre(5, 4, 0, 2),))
    assert breaches_of(prove_barres(arrangement)) == [Breach.BARRE_UNUSED]


@pytest.mark.parametrize(("fret", "lowest_string"), [(0, 4), (20, 4), (5, 1), (5, 7)])
def test_a_barre_that_cannot_be_on_the_guitar_is_refuted(fret: int, lowest_string: int) -> None:
    arrangement = make_arrangement([], barres=(make_barre(fret, lowest_string, 0, 1),))
    assert Breach.BARRE_IMPOSSIBLE in breaches_of(prove_barres(arrangement))


def test_two_barres_never_lie_at_once_but_one_may_follow_the_other() -> None:
    notes = [barre_note(4, 5, 0, 1), barre_note(4, 7, 1, 1)]
    in_turn = (make_barre(5, 4, 0, 1), make_barre(7, 4, 1, 1))
    at_once = (make_barre(5, 4, 0, "17/16"), make_barre(7, 4, 1, 1))
    assert isinstance(prove_barres(make_arrangement(notes, barres=in_turn)), Proof)
    assert Breach.BARRES_CLASH in breaches_of(prove_barres(make_arrangement(notes, barres=at_once)))


def test_two_notes_of_finger_1_need_the_barre_for_as_long_as_both_last() -> None:
    """The tip may stay alone when the barre is raised, but not two places."""
    low, high = barre_note(5, 5, 0, "17/16"), barre_note(1, 5, 0, 1)
    barre = make_barre(5, 5, 0, 1)
    assert breaches_of(prove_barres(make_arrangement([low, high], barres=(barre,)))) == []
    both_last = replace(high, span=low.span)
    answer = prove_barres(make_arrangement([low, both_last], barres=(barre,)))
    assert breaches_of(answer) == [Breach.NO_BARRE]


def with_small_barre(*notes: Note) -> Arrangement:
    """Finger 3 at fret 5 over strings 4 to 2, two quarters long."""
    lying = [barre_note(4, 5, 0, 2, finger=3), barre_note(2, 5, 0, 2, finger=3)]
    return make_arrangement([*lying, *notes], barres=(make_barre(5, 4, 0, 2, 2, 3),))


@pytest.mark.parametrize(("string", "sounds"), [(1, True), (3, False), (5, True)])
def test_open_strings_sound_on_both_sides_of_a_small_barre_but_not_under_it(
    string: int, sounds: bool
) -> None:
    answer = prove_barres(with_small_barre(stop(string, 0, 0)))
    assert breaches_of(answer) == ([] if sounds else [Breach.OPEN_UNDER_BARRE])


@pytest.mark.parametrize(
    ("note", "presses"),
    [
        ((5, 3, 1), True),  # below the barre, beside it
        ((1, 3, 1), True),
        ((3, 3, 1), False),  # under it
        ((5, 5, 2), True),  # at its fret the lower number lies on the lower-pitched string
        ((1, 5, 2), False),
        ((1, 5, 4), True),
        ((5, 5, 4), False),
        ((3, 6, 4), True),  # above the barre
    ],
)
def test_fingers_beside_a_small_barre_keep_their_order(note: tuple[int, int, int], presses: bool) -> None:
    answer = prove_barres(with_small_barre(stop(*note)))
    assert breaches_of(answer) == ([] if presses else [Breach.BESIDE_BARRE])


def test_finger_1_may_lie_short_of_string_1_where_the_barre_says_so() -> None:
    notes = [barre_note(4, 5), barre_note(2, 5), stop(1, 0, 0)]
    short, usual = make_barre(5, 4, 0, 1, highest_string=2), make_barre(5, 4, 0, 1)
    assert breaches_of(prove_barres(make_arrangement(notes, barres=(short,)))) == []
    assert breaches_of(prove_barres(make_arrangement(notes, barres=(usual,)))) == [Breach.OPEN_UNDER_BARRE]


def test_two_barres_may_lie_at_once_in_the_order_of_their_fingers() -> None:
    notes = [barre_note(6, 3), barre_note(5, 3), barre_note(4, 5, finger=3), barre_note(3, 5, finger=3)]
    low, high = make_barre(3, 6, 0, 1), make_barre(5, 4, 0, 1, 3, 3)
    assert breaches_of(prove_barres(make_arrangement(notes, barres=(low, high)))) == []
