"""Moves: what it costs the hand as a whole to go from one grip to the next.

The move of each finger is priced touch by touch (``hand_tables``); here is what
belongs to the hand: the change of position, and laying down a barre.
"""

from dataclasses import dataclass
from enum import IntEnum
from fractions import Fraction

import numpy as np

from apoyando.fingering.grips import GripSet
from apoyando.fingering.touches import IS_BARRE, IS_INDEX_TIP, IS_SOUNDING, Ints, Small, numbered
from apoyando.model.instrument import LAST_FRET, STRINGS, fret_distance_mm
from apoyando.model.level import BarreKind, Level
from apoyando.model.prices import Prices

_COMFORTABLE_SECONDS = 0.35
"""A shift in this time is neither hurried nor leisurely (estimate; no measured times were found)."""
_SHORTEST_SHARE = 0.25
_LONGEST_SHARE = 1.8
_FREE_HAND_SHARE = 0.5
"""A hand with no finger down has the whole slice to travel in, and nothing breaks off; so has the hand that begins."""
_FULL_BARRE_STRING = 5
"""A barre over five or six strings is a full one."""

_POSITION_X = np.array([fret_distance_mm(fret) for fret in range(LAST_FRET + 2)])
_ROUNDING = 1e-9
_FRETS = LAST_FRET + 1
_PLACES = 2 * (LAST_FRET + 2)
"""Positions, each with fingers down and without."""


class _Kind(IntEnum):
    """What a held note asks of a touch: whether finger 1 makes it, and how."""

    OTHER = 0
    TIP = 1
    FLAT = 2
    SILENT = 3


_KIND = np.select([~IS_SOUNDING, IS_BARRE, IS_INDEX_TIP], [_Kind.SILENT, _Kind.FLAT, _Kind.TIP], _Kind.OTHER)


def hurry(seconds: float) -> float:
    """How much more a move costs in this time than in a comfortable one."""
    return min(max(_COMFORTABLE_SECONDS / max(seconds, 1e-6), _SHORTEST_SHARE), _LONGEST_SHARE)


def is_hurried(seconds: float) -> bool:
    return seconds < _COMFORTABLE_SECONDS


def is_too_short_to_shift(quarters: float, seconds: float, level: Level) -> bool:
    """Whether a slice is shorter than the level's shortest time for a shift, at its tempo."""
    shortest = level.at_tempo(level.shift_quarters, Fraction(60.0 * quarters / seconds))
    return quarters < float(shortest) * (1.0 - _ROUNDING)


@dataclass(frozen=True, slots=True, eq=False)
class Hands:
    """Hands that differ in what a move of the hand depends on, an entry each.

    ``place`` is a row of ``shift_prices``; ``laid`` what it costs to lay the barre, where there is one.
    """

    place: Ints
    barre_fret: Ints
    laid: Small

    def __len__(self) -> int:
        return len(self.place)


def find_hands(grips: GripSet, prices: Prices) -> tuple[Hands, Ints]:
    """The different hands of some grips, and for each grip which is its own."""
    codes = ((grips.position * 2 + grips.is_free) * _FRETS + grips.barre_fret) * 8 + grips.barre_string
    distinct, own = numbered(codes, _PLACES * _FRETS * 8)
    place_and_fret, barre_string = np.divmod(distinct, 8)
    place, barre_fret = np.divmod(place_and_fret, _FRETS)
    laid = np.where(barre_fret > 0, _laid_prices(barre_string, prices), 0)
    return Hands(place, barre_fret, laid.astype(np.int32)), own


def shift_prices(seconds: float, level: Level, prices: Prices) -> Small:
    """What the hand pays to go from each place (rows) to each: a place is a position, and whether no finger presses.

    ``seconds`` is how long the grip before lasts: the time the tempo leaves for the shift.
    """
    position, is_free = np.divmod(np.arange(_PLACES), 2)
    in_the_air = (is_free[:, None] | is_free) > 0
    apart = np.abs(_POSITION_X[position, None] - _POSITION_X[position])
    share = np.where(in_the_air, _FREE_HAND_SHARE, hurry(seconds))
    price = np.rint((prices.shift + apart / 100.0 * prices.shift_per_100_mm) * share)
    frets = np.abs(position[:, None] - position)
    too_far = (frets > level.shift_frets) & ~in_the_air
    return np.asarray(((frets > 0) * price + too_far * prices.shift_over_level).astype(np.int32))


def hand_moves(before: Hands, after: Hands, shifts: Small) -> Small:
    """Price of going from each hand in ``before`` to each in ``after``: shape (B, A)."""
    laid = (after.barre_fret != before.barre_fret[:, None]) * after.laid
    return np.asarray(shifts.take(before.place, axis=0).take(after.place, axis=1) + laid)


def beginning_prices(hands: Hands) -> Small:
    """What it costs to begin with each hand: before the first note there is all the time to lay a barre."""
    return np.asarray(np.rint(hands.laid * _FREE_HAND_SHARE).astype(np.int32))


def held_prices(release_price: int, level: Level, prices: Prices) -> Small:
    """What a voice that is held pays to go on by another touch: from each kind (rows) to each kind in a grip after.

    Finger 1 that keeps a note is laid flat from its tip, or lifted to it: at a level that knows the
    hinge barre the laying costs more, or less, than with a free finger. Or the note is let go.
    """
    paid = np.zeros((len(_Kind), len(_Kind), 2), dtype=np.int32)
    paid[_Kind.TIP, _Kind.FLAT], paid[_Kind.FLAT, _Kind.TIP] = (
        prices.hinge_over_level,
        prices.hinge_over_level,
    )
    if BarreKind.HINGE in level.barre_kinds:
        laid = (prices.half_barre_laid, prices.full_barre_laid)
        paid[_Kind.TIP, _Kind.FLAT] = prices.hinge_barre_laid - np.array(laid)
        paid[_Kind.FLAT, _Kind.TIP] = 0
    paid[:, _Kind.SILENT] = release_price
    paid[_Kind.SILENT, _Kind.SILENT] = 0
    return paid.reshape(len(_Kind), -1)


def touch_kinds(touches: Ints) -> Ints:
    """The row of each touch in ``held_prices``."""
    return _KIND.take(touches)


def touch_kinds_in(kinds: Ints, grips: GripSet) -> Ints:
    """The column of each grip's touch in ``held_prices``: whether the grip has a full barre tells too."""
    return kinds * 2 + (grips.barre_string >= _FULL_BARRE_STRING)


def _laid_prices(barre_string: Ints, prices: Prices) -> Ints:
    is_full = barre_string >= _FULL_BARRE_STRING
    return np.where(is_full, prices.full_barre_laid, prices.half_barre_laid)


def barres_kept(grips: GripSet, quarters: float, prices: Prices) -> Ints:
    """What each grip's barre of finger 1 costs for as long as the slice lasts."""
    half, full = (
        round(price * quarters)
        for price in (prices.half_barre_kept_per_quarter, prices.full_barre_kept_per_quarter)
    )
    shorter = _FULL_BARRE_STRING - 1
    by_string = np.array([0, *(half,) * shorter, *(full,) * (len(STRINGS) - shorter)], dtype=np.int64)
    return by_string.take(grips.barre_string)
