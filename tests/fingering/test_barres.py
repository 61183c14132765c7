"""Whether a finger can lie flat: what it covers, and what may sound beside it.

The rules are those of ``docs/hand.md``, "What the hand can do"; a note is string, fret and finger.
"""

import numpy as np
import pytest

from apoyando.fingering.hand_tables import HandTables, barres_lie, hand_tables
from apoyando.fingering.problem import FORBIDDEN
from apoyando.fingering.touches import NO_TOUCH, TOUCH_INDEX, Touch
from apoyando.model.hand import Finger
from apoyando.model.instrument import Fret, Place, StringNumber, distance_mm
from apoyando.model.prices import Prices
from apoyando.reading import load_default_levels

LEVELS = load_default_levels()
SMALL = hand_tables(LEVELS["advanced"], Prices(), 1.0)
PLAIN = hand_tables(LEVELS["intermediate"], Prices(), 1.0)


def flat(string: int, fret: int, finger: int) -> int:
    return TOUCH_INDEX[Touch(Place(StringNumber(string), Fret(fret)), Finger(finger), True)]


def tip(string: int, fret: int, finger: int) -> int:
    """Finger 0 is an open string."""
    return TOUCH_INDEX[Touch(Place(StringNumber(string), Fret(fret)), Finger(finger), False)]


def lies(*touches: int, tables: HandTables = SMALL) -> bool:
    return bool(barres_lie(np.array([*touches, NO_TOUCH])[:, None], tables)[0])


def test_a_barre_of_a_higher_finger_stops_two_strings_at_least() -> None:
    assert lies(flat(4, 3, 3), flat(3, 3, 3))
    assert not lies(flat(4, 3, 3))
    assert not lies(flat(4, 3, 3), tip(1, 1, 1))


def test_finger_1_lies_on_up_to_string_1_over_strings_that_do_not_sound() -> None:
    """So one note is enough; but string 1 alone is no barre."""
    assert lies(flat(4, 2, 1), tables=PLAIN)
    assert not lies(flat(1, 2, 1), tables=PLAIN)


@pytest.mark.parametrize(
    ("beside", "can"),
    [
        (tip(1, 0, 0), False),
        (tip(5, 0, 0), True),
        (tip(3, 2, 2), False),
        (tip(3, 3, 2), True),
        (tip(5, 4, 3), True),
    ],
    ids=["an open string", "one beyond it", "a finger at its fret", "a finger above it", "beyond and above"],
)
def test_finger_1_alone_on_a_string_does_not_lie_flat_where_something_is_in_its_way(
    beside: int, *, can: bool
) -> None:
    assert lies(flat(4, 2, 1), beside) is can


def test_it_lies_short_of_string_1_over_two_strings() -> None:
    assert lies(flat(4, 2, 1), flat(3, 2, 1), tip(1, 0, 0))
    assert lies(flat(4, 2, 1), flat(3, 2, 1), tip(2, 2, 2))


@pytest.mark.parametrize("finger", [1, 2])
def test_between_two_notes_of_a_barre_only_higher_frets_sound(finger: int) -> None:
    ends = flat(4, 3, finger), flat(2, 3, finger)
    assert lies(*ends)
    assert lies(*ends, tip(3, 4, 4))
    assert not lies(*ends, tip(3, 0, 0))
    assert not lies(*ends, tip(3, 3, 4))
    assert finger == 1 or not lies(*ends, tip(3, 2, 1))


def test_where_no_finger_lies_flat_there_is_nothing_to_ask() -> None:
    assert lies(tip(3, 2, 1), tip(1, 0, 0))


@pytest.mark.parametrize("fret", range(2, 8))
def test_beyond_its_lowest_string_a_finger_is_within_reach_from_there(fret: int) -> None:
    """Finger 1 flat over strings 2 and 1, finger 4 on string 6: against the level's own table."""
    limit = LEVELS["intermediate"].spans[Finger.INDEX, Finger.LITTLE].outermost_mm
    apart = distance_mm(Place(StringNumber(2), Fret(1)), Place(StringNumber(6), Fret(fret)))
    barre = flat(2, 1, 1), flat(1, 1, 1)
    assert lies(*barre, tip(6, fret, 4), tables=PLAIN) == (apart <= limit)
    assert lies(*barre, tip(6, fret, 4), tables=SMALL)  # there the span is asked of each note


@pytest.mark.parametrize("fret", range(2, 8))
def test_over_the_barre_a_finger_is_within_reach_along_its_own_string(fret: int) -> None:
    limit = LEVELS["intermediate"].spans[Finger.INDEX, Finger.LITTLE].outermost_mm
    apart = distance_mm(Place(StringNumber(1), Fret(1)), Place(StringNumber(1), Fret(fret)))
    pair = flat(6, 1, 1), tip(1, fret, 4)
    assert (PLAIN.together[pair] < FORBIDDEN) == (apart <= limit)
