"""What the left hand minds as a whole: the rule, and the shape beside it that is free of it.

The rules were read off shapes that people fingered (``docs/hand.md``). Shapes are written from
string 6 to string 1, x for a silent string; a finger on two strings lies flat.
"""

from collections import Counter

import numpy as np
import pytest

from apoyando.fingering.postures import posture_prices
from apoyando.fingering.touches import NO_TOUCH, TOUCH_INDEX, Touch
from apoyando.model.hand import Finger
from apoyando.model.instrument import Fret, Place, StringNumber
from apoyando.model.prices import Prices

PRICES = Prices()
SILENT = ("xxxxxx", "xxxxxx")


def touches(frets: str, fingers: str) -> list[int]:
    count = Counter(fingers)
    return [
        NO_TOUCH
        if fret == "x"
        else TOUCH_INDEX[
            Touch(
                Place(StringNumber(string), Fret(int(fret))),
                Finger(int(finger)),
                count[finger] > 1 and finger != "0",
            )
        ]
        for string, fret, finger in zip(range(6, 0, -1), frets, fingers, strict=True)
    ]


def posture(*shapes: tuple[str, str]) -> list[int]:
    return list(posture_prices(np.array([touches(*shape) for shape in shapes]).T, PRICES))


@pytest.mark.parametrize(
    "shape",
    [("xx2224", "xx1113"), ("x2xxx4", "x1xxx3"), ("x23xx4", "x12xx3")],
    ids=["over a barre", "over a tip", "finger 2 far away"],
)
def test_finger_3_reaches_string_1_two_frets_from_finger_1(shape: tuple[str, str]) -> None:
    assert posture(shape) == [PRICES.ring_on_string_one]


@pytest.mark.parametrize(
    "shape",
    [
        ("xx2224", "xx1114"),
        ("xxx234", "xxx123"),
        ("x2xxx3", "x1xxx3"),
        ("x2xx4x", "x1xx3x"),
        ("x3xxx3", "x2xxx3"),
    ],
    ids=["the little finger", "finger 2 beside it", "one fret apart", "string 2", "no finger 1"],
)
def test_it_does_not_reach_elsewhere(shape: tuple[str, str]) -> None:
    assert posture(shape) == [0]


@pytest.mark.parametrize(
    "shape",
    [("xx3211", "xx4312"), ("x03211", "x04312"), ("xx5x33", "xx3x12"), ("320011", "430012")],
    ids=["F", "with an open bass", "one finger beyond it", "and C in the bass"],
)
def test_finger_2_does_not_take_string_1_beside_finger_1(shape: tuple[str, str]) -> None:
    """In all 152 shapes of the tuned half with two such notes finger 1 lies flat."""
    assert posture(shape) == [PRICES.middle_beside_index]


@pytest.mark.parametrize(
    "shape",
    [
        ("xx3211", "xx3211"),
        ("xxxx11", "xxxx12"),
        ("x02220", "x01230"),
        ("xx2131", "xx3142"),
        ("xx3212", "xx4312"),
        ("xx3211", "xx4322"),
    ],
    ids=["flat", "two tips alone", "on inner strings", "not on string 2", "a fret apart", "no finger 1"],
)
def test_elsewhere_two_tips_lie_side_by_side(shape: tuple[str, str]) -> None:
    assert PRICES.middle_beside_index not in posture(shape)


def test_a_barre_over_a_string_that_is_silent_between_its_notes_is_minded_once() -> None:
    minded = [PRICES.barre_over_silent_string]
    assert posture(("xx2x2x", "xx1x1x"), ("x22x2x", "x11x1x"), ("2xxxx2", "1xxxx1")) == 3 * minded
    assert posture(("xx22xx", "xx11xx"), ("222222", "111111")) == [0, 0]


def test_a_barre_is_not_minded_over_a_string_stopped_higher() -> None:
    assert posture(("xx232x", "xx121x")) == [0]
    assert posture(("x2x32x", "x1x21x")) == [PRICES.barre_over_silent_string]


def test_a_small_barre_is_minded_once_below_a_string_that_sounds() -> None:
    assert posture(("x2444x", "x1333x")) == [0]
    assert posture(("x24440", "x13330"), ("x24446", "x13334")) == [PRICES.small_barre_below_string] * 2
    assert posture(("x24400", "x13300")) == [PRICES.small_barre_below_string]


def test_each_small_barre_is_minded_for_itself() -> None:
    assert posture(("334455", "223344")) == [2 * PRICES.small_barre_below_string]


def test_each_grip_has_its_own_price_and_silence_has_none() -> None:
    assert posture(SILENT, ("xx2224", "xx1113"), SILENT) == [0, PRICES.ring_on_string_one, 0]
