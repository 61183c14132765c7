"""Touches: one finger at one place, and how the hand goes from one to the next.

Conventions: a touch is an index into the tables below. Index 0..5 are the open strings
1..6; then, for every fret, string and way of stopping, one index each; the last index is
NO_TOUCH, a role that does not sound. A finger stops a string with its tip or, laid flat, as
part of a barre.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

from apoyando.model.hand import FINGERS, Finger
from apoyando.model.instrument import LAST_FRET, STRINGS, Fret, Place, contact_point_mm

Ints = npt.NDArray[np.int64]
Small = npt.NDArray[np.int32]
"""Prices of single moves: half as wide, for there are many."""
Flags = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]

_WAYS = tuple((finger, in_barre) for in_barre in (False, True) for finger in FINGERS)
"""The ways to stop a string: finger, and whether as part of a barre."""


@dataclass(frozen=True, slots=True)
class Touch:
    """One finger at one place."""

    place: Place
    finger: Finger
    in_barre: bool


def _all_touches() -> tuple[Touch, ...]:
    opens = [Touch(Place(string, Fret(0)), Finger.OPEN, False) for string in STRINGS]
    stopped = [
        Touch(Place(string, Fret(fret)), finger, in_barre)
        for fret in range(1, LAST_FRET + 1)
        for string in STRINGS
        for finger, in_barre in _WAYS
    ]
    return (*opens, *stopped)


TOUCHES: tuple[Touch, ...] = _all_touches()
NO_TOUCH = len(TOUCHES)
TOUCH_INDEX = {touch: index for index, touch in enumerate(TOUCHES)}

# The touches as columns; the last row is NO_TOUCH, with finger -1 and string 0.
FINGER: Ints = np.array([t.finger for t in TOUCHES] + [-1])
STRING: Ints = np.array([t.place.string for t in TOUCHES] + [0])
FRET: Ints = np.array([t.place.fret for t in TOUCHES] + [0])
IN_BARRE: Flags = np.array([t.in_barre for t in TOUCHES] + [False])
IS_STOPPED: Flags = FINGER > 0
IS_SOUNDING: Flags = FINGER >= 0
IS_BARRE: Flags = IN_BARRE & (FINGER == Finger.INDEX)
IS_INDEX_TIP: Flags = ~IN_BARRE & (FINGER == Finger.INDEX)
IS_SMALL_BARRE: Flags = IN_BARRE & (FINGER > Finger.INDEX)
PLACE = np.unique(np.where(IS_SOUNDING, (FRET * 8 + STRING) * 8 + FINGER, 0), return_inverse=True)[1].astype(
    np.int16
)
"""Equal for two touches exactly if finger and place are; a tip laid flat stays where it is. 0 is silence."""
PLACE_BITS = 9
assert PLACE.max() < 1 << PLACE_BITS  # noqa: S101 - places are packed side by side in one integer


def numbered(values: Ints, below: int) -> tuple[Ints, Ints]:
    """The different values in order, and for each value which of them it is; all lie in 0 .. below - 1."""
    is_there = np.zeros(below, dtype=np.bool_)
    is_there[values] = True
    distinct = is_there.nonzero()[0]
    number = np.empty(below, dtype=np.int64)
    number[distinct] = np.arange(len(distinct))
    return distinct, number.take(values)


@cache
def touches_at(place: Place, flat_fingers: tuple[Finger, ...]) -> tuple[int, ...]:
    """Every way to sound a place, as touch indices."""
    if place.is_open:
        return (TOUCH_INDEX[Touch(place, Finger.OPEN, False)],)
    return tuple(
        TOUCH_INDEX[Touch(place, finger, in_barre)]
        for finger, in_barre in _WAYS
        if not in_barre or finger in flat_fingers
    )


def _contact_points() -> tuple[Floats, Floats]:
    points = [contact_point_mm(t.place) if t.finger else (0.0, 0.0) for t in TOUCHES] + [(0.0, 0.0)]
    return np.array([x for x, _ in points]), np.array([y for _, y in points])


CONTACT_X, CONTACT_Y = _contact_points()


def _by_string_and_fret(mm: Floats) -> Floats:
    table = np.zeros((len(STRINGS) + 1, LAST_FRET + 1))
    for touch, value in zip(TOUCHES, mm, strict=False):
        table[touch.place.string, touch.place.fret] = value
    return table


STRING_X, STRING_Y = _by_string_and_fret(CONTACT_X)[1], _by_string_and_fret(CONTACT_Y)
"""Where a finger touches at each stopped fret: along the fingerboard (the same on all strings), across it."""


_NEIGHBOUR_FRETS = 1
"""How far a tip reaches to either side of its own fret while the hand stays."""


def in_other_positions(one: Ints, other: Ints) -> Flags:
    """Whether the hand must shift from a touch of ``one`` (rows) to stop a touch of ``other`` (columns).

    So it is where no position has both within reach of their fingers, or where one finger goes
    farther than to the next fret. A barre reaches nowhere beside its fret.
    """
    lowest, highest = _LOWEST_POSITION, _HIGHEST_POSITION
    apart = (lowest[one][:, None] > highest[other]) | (lowest[other] > highest[one][:, None])
    leaps = (FINGER[one][:, None] == FINGER[other]) & (
        np.abs(FRET[one][:, None] - FRET[other]) > _NEIGHBOUR_FRETS
    )
    return np.asarray((IS_STOPPED[one][:, None] & IS_STOPPED[other]) & (apart | leaps))


def ring_over(one: Ints, other: Ints, midi: Ints) -> Flags:
    """Whether a touch of ``one`` (rows) can ring on under a step to a touch of ``other`` (columns), its neighbour.

    ``midi`` has the note of every touch. A step is one or two semitones; the finger that stops the
    first note is not the one that stops the second.
    """
    sound = IS_SOUNDING[one][:, None] & IS_SOUNDING[other]
    apart = np.abs(midi[one][:, None] - midi[other])
    steps = (apart > 0) & (apart <= _WIDEST_STEP)
    beside = np.abs(STRING[one][:, None] - STRING[other]) == 1
    stays = ~IS_STOPPED[one][:, None] | (FINGER[one][:, None] != FINGER[other])
    return np.asarray(sound & steps & beside & stays)


_WIDEST_STEP = 2
_HOME = FRET - FINGER + 1
_REACH = np.where(IS_BARRE, 0, _NEIGHBOUR_FRETS)
_LOWEST_POSITION, _HIGHEST_POSITION = _HOME - _REACH, np.maximum(_HOME + _REACH, 1)
