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


def posture_prices(touches: Ints, prices: Prices) -> Ints:
    """The price of each grip as a whole: (N,)."""
    price = np.zeros(touches.shape[1], dtype=np.int64)
    marks = np.bitwise_or.reduce(_MARKS.take(touches), axis=0)
    for mark, count, each in (
        (_RING, _ring_reaches, prices.ring_on_string_one),
        (_MIDDLE, _middle_is_beside, prices.middle_beside_index),
        (_BARRE, _barre_over_silent_string, prices.barre_over_silent_string),
        (_SMALL_BARRE, _small_barres_below_strings, prices.small_barre_below_string),
        (_OFF, _finger_is_alone, prices.lone_finger_off_its_fret),
    ):
        marked = np.flatnonzero(marks & mark)
        if len(marked):
            price[marked] += count(touches.take(marked, axis=1)) * each
    return price


def _ring_reaches(touches: Ints) -> Ints:
    """Finger 3 on string 1, two frets above finger 1, without finger 2 beside it on string 2."""
    finger, fret = FINGER.take(touches), FRET.take(touches)
    ring = np.where(_RING_ON_STRING_ONE.take(touches), fret, 0).max(axis=0)
    index = np.where(finger == Finger.INDEX, fret, _NOWHERE).max(axis=0)
    helped = ((finger == Finger.MIDDLE) & (STRING.take(touches) == 2)).any(axis=0)  # noqa: PLR2004 - string 2
    return np.asarray((ring - index == _REACH_FRETS) & ~helped, dtype=np.int64)


def _middle_is_beside(touches: Ints) -> Ints:
    """Tip 2 on string 1 at the fret of tip 1 on string 2, another finger on a string beyond."""
    fret = FRET.take(touches)
    middle = np.where(_MIDDLE_ON_STRING_ONE.take(touches), fret, 0).max(axis=0)
    index = np.where(_INDEX_ON_STRING_TWO.take(touches), fret, _NOWHERE).max(axis=0)
    beyond = (FINGER.take(touches) > Finger.MIDDLE) & (STRING.take(touches) > 2)  # noqa: PLR2004 - string 2
    return np.asarray((middle == index) & beyond.any(axis=0), dtype=np.int64)


def _barre_over_silent_string(touches: Ints) -> Ints:
    """Finger 1 flat, and a string between its notes does not sound."""
    flat, string = IS_BARRE.take(touches), STRING.take(touches)
    lowest, highest = np.where(flat, string, 0).max(axis=0), np.where(flat, string, 7).min(axis=0)
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
    return np.asarray((FINGER.take(touches) > 0).sum(axis=0) == 1, dtype=np.int64)
