"""Postures: what a grip costs as a whole, besides its touches and their pairs.

Conventions: touches have shape (voices, N), a column for each grip. Each rule looks only at
the grips that have the touch from which it takes its name, which are few.
"""

import numpy as np

from apoyando.fingering.touches import (
    FINGER,
    FRET,
    IN_BARRE,
    IS_BARRE,
    IS_SMALL_BARRE,
    IS_SOUNDING,
    IS_STOPPED,
    STRING,
    Flags,
    Ints,
)
from apoyando.model.hand import Finger
from apoyando.model.prices import Prices

_RING_ON_STRING_ONE: Flags = (FINGER == Finger.RING) & (STRING == 1) & ~IN_BARRE
_MIDDLE_ON_STRING_ONE: Flags = (FINGER == Finger.MIDDLE) & (STRING == 1) & ~IN_BARRE
_INDEX_ON_STRING_TWO: Flags = (FINGER == Finger.INDEX) & (STRING == 2) & ~IN_BARRE  # noqa: PLR2004 - string 2
_FIRST_POSITION_FRETS = 4
_OFF_ITS_FRET: Flags = (FINGER > 0) & (FRET <= _FIRST_POSITION_FRETS) & (FINGER != FRET)
_RING, _MIDDLE, _BARRE, _SMALL_BARRE, _OFF = 1, 2, 4, 8, 16
_MARKS: Ints = (
    _RING_ON_STRING_ONE * _RING
    + _MIDDLE_ON_STRING_ONE * _MIDDLE
    + IS_BARRE * _BARRE
    + IS_SMALL_BARRE * _SMALL_BARRE
    + _OFF_ITS_FRET * _OFF
)
"""From which rules a touch takes, or gives, the name."""
_REACH_FRETS = 2
_NOWHERE = -9
"""A fret far from all."""

# What the rules look for in a grip: of each touch its fret or string, if it is of the kind.
_RING_FRET: Ints = _RING_ON_STRING_ONE * FRET
_INDEX_FRET: Ints = np.where(FINGER == Finger.INDEX, FRET, _NOWHERE)
_MIDDLE_ON_STRING_TWO: Flags = (FINGER == Finger.MIDDLE) & (STRING == 2)  # noqa: PLR2004 - string 2
_MIDDLE_FRET: Ints = _MIDDLE_ON_STRING_ONE * FRET
_INDEX_BESIDE_FRET: Ints = np.where(_INDEX_ON_STRING_TWO, FRET, _NOWHERE)
_BEYOND_STRING_TWO: Flags = (FINGER > Finger.MIDDLE) & (STRING > 2)  # noqa: PLR2004 - string 2
_BARRE_STRING: Ints = IS_BARRE * STRING
_BARRE_STRING_OR_7: Ints = np.where(IS_BARRE, STRING, 7)


def posture_prices(touches: Ints, prices: Prices) -> Ints:
    """The price of each grip as a whole: (N,)."""
    price = np.zeros(touches.shape[1], dtype=np.int64)
    marks = np.bitwise_or.reduce(_MARKS.take(touches), axis=0)
    any_marks = np.bitwise_or.reduce(marks)
    for mark, count, each in (
        (_RING, _ring_reaches, prices.ring_on_string_one),
        (_MIDDLE, _middle_is_beside, prices.middle_beside_index),
        (_BARRE, _barre_over_silent_string, prices.barre_over_silent_string),
        (_SMALL_BARRE, _small_barres_below_strings, prices.small_barre_below_string),
        (_OFF, _finger_is_alone, prices.lone_finger_off_its_fret),
    ):
        if any_marks & mark:
            marked = (marks & mark).nonzero()[0]
            price[marked] += count(touches.take(marked, axis=1)) * each
    return price


def _ring_reaches(touches: Ints) -> Ints:
    """Finger 3 on string 1, two frets above finger 1, without finger 2 beside it on string 2."""
    ring, index = _RING_FRET.take(touches).max(axis=0), _INDEX_FRET.take(touches).max(axis=0)
    helped = _MIDDLE_ON_STRING_TWO.take(touches).any(axis=0)
    return np.asarray((ring - index == _REACH_FRETS) & ~helped, dtype=np.int64)


def _middle_is_beside(touches: Ints) -> Ints:
    """Tip 2 on string 1 at the fret of tip 1 on string 2, another finger on a string beyond."""
    middle, index = _MIDDLE_FRET.take(touches).max(axis=0), _INDEX_BESIDE_FRET.take(touches).max(axis=0)
    beyond = _BEYOND_STRING_TWO.take(touches).any(axis=0)
    return np.asarray((middle == index) & beyond, dtype=np.int64)


def _barre_over_silent_string(touches: Ints) -> Ints:
    """Finger 1 flat, and a string between its notes does not sound."""
    string = STRING.take(touches)
    lowest, highest = _BARRE_STRING.take(touches).max(axis=0), _BARRE_STRING_OR_7.take(touches).min(axis=0)
    between = IS_SOUNDING.take(touches) & (string < lowest) & (string > highest)
    return np.asarray(between.sum(axis=0) < lowest - highest - 1, dtype=np.int64)


def _small_barres_below_strings(touches: Ints) -> Ints:
    """How many of fingers 2 to 4 lie flat with a sounding string on the side of string 1."""
    string = STRING.take(touches)
    count = np.zeros(touches.shape[1], dtype=np.int64)
    for finger in (Finger.MIDDLE, Finger.RING, Finger.LITTLE):
        flat = IN_BARRE.take(touches) & (FINGER.take(touches) == finger)
        highest = np.where(flat, string, 7).min(axis=0) * flat.any(axis=0)
        count += (IS_SOUNDING.take(touches) & (string < highest)).any(axis=0)
    return count


def _finger_is_alone(touches: Ints) -> Ints:
    """One note is stopped."""
    return np.asarray(IS_STOPPED.take(touches).sum(axis=0) == 1, dtype=np.int64)
