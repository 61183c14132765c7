"""Moves: what it costs the hand as a whole to go from one grip to the next.

The move of each finger is priced touch by touch (``touches.in_turn``); here is what
belongs to the hand: the change of position, and laying down a barre.
"""

from dataclasses import dataclass

import numpy as np

from apoyando.fingering.grips import GripSet
from apoyando.fingering.touches import Flags, Ints
from apoyando.model.instrument import LAST_FRET, fret_distance_mm
from apoyando.model.level import BarreKind, Level
from apoyando.model.prices import Prices

_COMFORTABLE_SECONDS = 0.35
"""A shift in this time is neither hurried nor leisurely (estimate; no measured times were found)."""
_SHORTEST_SHARE = 0.25
_LONGEST_SHARE = 1.8
_FREE_HAND_SHARE = 0.5
"""A hand with no finger down has the whole slice to travel in, and nothing breaks off."""
_FULL_BARRE_STRING = 5
"""A barre over five or six strings is a full one."""

_POSITION_X = np.array([fret_distance_mm(fret) for fret in range(LAST_FRET + 2)])
_ROUNDING = 1e-9
_BARRE_CODES = 8 * (LAST_FRET + 2)


def hurry(seconds: float) -> float:
    """How much more a move costs in this time than in a comfortable one."""
    return min(max(_COMFORTABLE_SECONDS / max(seconds, 1e-6), _SHORTEST_SHARE), _LONGEST_SHARE)


def is_hurried(seconds: float) -> bool:
    return seconds < _COMFORTABLE_SECONDS


def is_too_short_to_shift(quarters: float, seconds: float, level: Level) -> bool:
    """Whether a slice is shorter than the level's shortest time for a shift, at its tempo."""
    quarters_per_minute = 60.0 * quarters / seconds
    shortest = float(level.shift_quarters) * max(1.0, quarters_per_minute / level.tempo_quarters_per_minute)
    return quarters < shortest * (1.0 - _ROUNDING)


def hand_codes(grips: GripSet) -> Ints:
    """One number for each grip that says all that a hand move depends on."""
    place = grips.position * _BARRE_CODES + grips.barre_fret * 8 + grips.barre_string
    return np.asarray(place * 2 + grips.is_free)


def hand_moves(before: Ints, after: Ints, seconds: float, level: Level, prices: Prices) -> Ints:
    """Price of going from each hand code in ``before`` to each in ``after``: shape (B, A).

    ``seconds`` is how long the grip before lasts: the time the tempo leaves for the shift.
    """
    position, barre_fret, _, was_free = _decoded(before[:, None])
    new_position, new_barre_fret, new_barre_string, is_free = _decoded(after[None, :])
    shift = _shift_prices(position, new_position, was_free | is_free, seconds, level, prices)
    laid = (new_barre_fret > 0) & (new_barre_fret != barre_fret)
    return np.asarray(shift + laid * _laid_prices(new_barre_string, prices))


@dataclass(frozen=True, slots=True)
class Hinges:
    """What finger 1 pays that keeps a note: to be laid flat into each grip's barre, and to be lifted to its tip."""

    laid: Ints
    lifted: int


def find_hinges(grips: GripSet, level: Level, prices: Prices) -> Hinges:
    """At a level that knows the hinge barre the laying costs more, or less, than with a free finger."""
    if BarreKind.HINGE in level.barre_kinds:
        return Hinges(prices.hinge_barre_laid - _laid_prices(grips.barre_string, prices), lifted=0)
    return Hinges(np.full(len(grips), prices.hinge_over_level), prices.hinge_over_level)


def _laid_prices(barre_string: Ints, prices: Prices) -> Ints:
    is_full = barre_string >= _FULL_BARRE_STRING
    return np.where(is_full, prices.full_barre_laid, prices.half_barre_laid)


def barres_kept(grips: GripSet, quarters: float, prices: Prices) -> Ints:
    """What each grip's barre of finger 1 costs for as long as the slice lasts."""
    half, full = (
        round(price * quarters)
        for price in (prices.half_barre_kept_per_quarter, prices.full_barre_kept_per_quarter)
    )
    return np.where(grips.barre_string >= _FULL_BARRE_STRING, full, (grips.barre_fret > 0) * half)


def _decoded(code: Ints) -> tuple[Ints, Ints, Ints, Flags]:
    rest, is_free = np.divmod(code, 2)
    rest, barre_string = np.divmod(rest, 8)
    position, barre_fret = np.divmod(rest, _BARRE_CODES // 8)
    return position, barre_fret, barre_string, is_free == 1


def _shift_prices(
    position: Ints, new_position: Ints, in_the_air: Flags, seconds: float, level: Level, prices: Prices
) -> Ints:
    distance = np.abs(_POSITION_X[position] - _POSITION_X[new_position])
    share = np.where(in_the_air, _FREE_HAND_SHARE, hurry(seconds))
    price = prices.shift + distance / 100.0 * prices.shift_per_100_mm
    too_far = (np.abs(position - new_position) > level.shift_frets) & ~in_the_air
    shifted = position != new_position
    return np.asarray(
        np.where(shifted, np.rint(price * share), 0).astype(np.int64) + too_far * prices.shift_over_level
    )
