"""The hand model beside people's hands: 2,054 chord shapes with fingers.

Source: ``references/chord_shapes.py`` says whose they are. The counts of shapes, of those
that contradict themselves and of barres were measured by others before this reader was
written. The file lies beside the project; without it these tests are skipped.
"""

from collections import Counter, defaultdict
from dataclasses import replace
from functools import cache

import pytest

from apoyando.fingering import find_best_way
from apoyando.model.instrument import STANDARD_TUNING
from apoyando.model.prices import Prices
from apoyando.reading import load_default_levels
from references.chord_shapes import (
    PATH,
    Answer,
    ChordShape,
    Obstacle,
    Press,
    ShapeBook,
    ask_fingers,
    find_fault,
    find_obstacle,
    is_admitted,
    pose_shape,
    read_shapes,
)
from references.exact_solver import solve_exactly
from references.plain_search import World, plain_best_price

pytestmark = pytest.mark.skipif(not PATH.exists(), reason="the chord shapes lie beside the project")

ADVANCED = load_default_levels()["advanced"]
INTERMEDIATE = load_default_levels()["intermediate"]
PRICES = Prices()
WORLD = World(STANDARD_TUNING, ADVANCED, PRICES)

SAME_AS_PEOPLE = 0.87
"""The share of the held-out shapes in which the search must take people's fingers; measured: 0.873."""
SAME_WHERE_TUNED = 0.925
"""… and of those on which the prices were tuned; measured: 0.930."""

NOT_ADMITTED = {
    Obstacle.FRETS_CROSSED: {"C 9 1", "C 9 4", "D maj9 2", "A dim 2", "A m/G# 1"},
    Obstacle.STRINGS_CROSSED: {"C minor 1", "C 7sg 2", "G aug9 1", "G maj7 1"},
    Obstacle.BARRE_IN_THE_WAY: {
        "C 69 1",
        "C# mmaj11 1",
        "Eb mmaj11 2",
        "E sus2 4",
        "F 9b5 4",
        "G maj13 1",
        "Ab m11 4",
        "B maj7#5 3",
        "B mmaj9 4",
    },
    Obstacle.TOO_WIDE: {"C mmaj11 1", "Ab m9 1"},
}
"""Every shape whose fingers the hand model does not admit at ``advanced``."""


@cache
def book() -> ShapeBook:
    return read_shapes()


def shape(name: str) -> ChordShape:
    (found,) = (shape for shape in book().shapes if shape.name == name)
    return found


@cache
def answers(*, held_out: bool) -> tuple[Answer, ...]:
    asked = (shape for shape in book().distinct if shape.is_held_out is held_out)
    return tuple(ask_fingers(shape, ADVANCED, PRICES) for shape in asked)


# Reading.


def test_of_2069_shapes_15_contradict_themselves_and_70_are_doubles() -> None:
    assert len(book().shapes) + len(book().faults) == 2069
    assert len(book().faults) == 15
    assert len(book().shapes) - len(book().distinct) == 70


def test_a_fault_is_told_with_its_reason() -> None:
    assert book().faults["Eb m69 3"] == "string 2 is stopped by no finger"
    assert book().faults["G dim 3"] == "string 3 has finger 4 and is silent"
    assert find_fault((-1, 2, 0, 0, 0, 0), (0, 1, 2, 0, 0, 0)) == "string 4 has finger 2 and is open"
    assert find_fault((-1, 2, 3, 0, 0, 0), (0, 1, 1, 0, 0, 0)) == "finger 1 lies at two frets"
    assert find_fault((-1, 3, 2, 0, 1, 0), (0, 3, 2, 0, 1, 0)) == ""


def test_frets_count_from_the_nut_and_strings_from_the_lowest() -> None:
    """A-shape barre at III (common practice): string 6 is not in every diagram of it."""
    assert shape("C major 2").places == ((6, 3), (5, 3), (4, 5), (3, 5), (2, 5), (1, 3))
    assert shape("C major 1").places == ((5, 3), (4, 2), (3, 0), (2, 1), (1, 0))
    assert shape("C major 1").fingers == (3, 2, 0, 1, 0)


@pytest.mark.parametrize(("finger", "count"), [(1, 1074), (2, 66), (3, 80), (4, 63)])
def test_barres_are_found_by_their_fingers(finger: int, count: int) -> None:
    assert sum(finger in shape.barres for shape in book().shapes) == count


def test_every_pattern_is_in_one_half_wherever_it_lies_on_the_neck() -> None:
    halves = defaultdict(set)
    for each in book().shapes:
        halves[each.pattern].add(each.is_held_out)
    assert all(len(those) == 1 for those in halves.values())
    sizes = Counter(each.is_held_out for each in book().distinct)
    assert sizes == {False: 1071, True: 913}


def test_a_pattern_is_the_same_at_every_fret_but_open_strings_stay() -> None:
    assert shape("C major 4").pattern == shape("F major 1").pattern == (1, 3, 3, 2, 1, 1)
    assert shape("C major 1").pattern == (-1, 3, 2, 0, 1, 0)


# The hand model beside them.


def test_every_shape_is_admitted_but_twenty_by_name() -> None:
    refused = {each.name for each in book().shapes if not is_admitted(each, ADVANCED, PRICES)}
    assert refused == set().union(*NOT_ADMITTED.values())
    assert len(refused) == 20


def test_the_reason_for_each_is_found_without_the_search() -> None:
    found = defaultdict(set)
    for each in book().shapes:
        obstacle = find_obstacle(each, ADVANCED)
        if obstacle:
            found[obstacle].add(each.name)
    assert found == NOT_ADMITTED


def test_intermediate_hands_lay_no_small_barre() -> None:
    """Finger 2 over strings 6 and 5 beside finger 1 on string 4; finger 1 with string 1 open."""
    for each in (shape("C 9 2"), shape("D mmaj7 2")):
        assert is_admitted(each, ADVANCED, PRICES)
        assert not is_admitted(each, replace(ADVANCED, small_barres=False), PRICES)
        assert not is_admitted(each, INTERMEDIATE, PRICES)


def test_the_search_takes_people_s_fingers_in_this_share_of_the_held_out_shapes() -> None:
    assert sum(answer.agrees for answer in answers(held_out=True)) / 913 >= SAME_AS_PEOPLE


def test_the_search_takes_people_s_fingers_in_this_share_of_the_shapes_it_was_tuned_on() -> None:
    assert sum(answer.agrees for answer in answers(held_out=False)) / 1071 >= SAME_WHERE_TUNED


def test_where_it_takes_others_they_are_no_dearer_than_people_s() -> None:
    """The optimum cannot be dearer than what it was free to choose."""
    for answer in answers(held_out=True):
        if answer.people_price is not None:
            assert answer.saves is not None
            assert answer.saves >= 0
            assert answer.saves == 0 or not answer.agrees


# Small barres, beside the plain search and the independent solver.

SMALL = ("Ab maj7b5 4", "E maj7 2", "Ab 7#9 3", "E sus4 4", "D /Bb 2", "E /B 2")
"""Barres by fingers 2, 3 and 4, by finger 1 short of string 1, and across a string stopped higher."""


def drawn(frets: str, fingers: str) -> ChordShape:
    """A shape written from string 6 to string 1, x for a silent string."""
    rows = zip(range(6, 0, -1), frets, fingers, strict=True)
    return ChordShape(frets, tuple(Press(s, int(f), int(n)) for s, f, n in rows if f != "x"))


WHOLE = (
    ("xx2224", "xx1113"),
    ("x42x23", "x31x12"),
    ("x53555", "x21333"),
    ("x32333", "x21334"),
    ("334455", "112233"),
    ("x35x53", "x13x41"),
)
"""Shapes with fingers of which the hand as a whole minds something."""


@pytest.mark.parametrize("name", SMALL)
def test_with_small_barres_too_the_price_is_the_plain_search_s_price(name: str) -> None:
    for problem in (pose_shape(shape(name)), pose_shape(shape(name), shape(name).fingers)):
        found = find_best_way(problem, tuning=STANDARD_TUNING, level=ADVANCED, prices=PRICES)
        assert found.price == plain_best_price(problem, WORLD)


@pytest.mark.parametrize("name", SMALL)
def test_with_small_barres_too_the_price_is_the_proven_optimum(name: str) -> None:
    problem = pose_shape(shape(name))
    found = find_best_way(problem, tuning=STANDARD_TUNING, level=ADVANCED, prices=PRICES)
    assert found.price == solve_exactly(problem, WORLD)


@pytest.mark.parametrize(("frets", "fingers"), WHOLE)
def test_what_the_hand_minds_as_a_whole_is_priced_alike_by_all_three(frets: str, fingers: str) -> None:
    given = drawn(frets, fingers)
    for problem in (pose_shape(given), pose_shape(given, given.fingers)):
        found = find_best_way(problem, tuning=STANDARD_TUNING, level=ADVANCED, prices=PRICES)
        assert found.price == plain_best_price(problem, WORLD) == solve_exactly(problem, WORLD)
