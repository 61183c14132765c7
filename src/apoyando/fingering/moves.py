"""Moves: what it costs the hand as a whole to go from one grip to the next.

The move of each finger is priced touch by touch (``touches.in_turn``); here is what
belongs to the hand: the change of position, and laying down a barre.
"""

import numpy as np

from apoyando.fingering.grips import GripSet
from apoyando.fingering.touches import Flags, Ints
from apoyando.model.instrument import LAST_FRET, fret_distance_mm
from apoyando.model.level import Level
from apoyando.model.prices import Prices

_COMFORTABLE_SECONDS = 0.35
"""A shift in this time is neither hurried nor leisurely (estimate; no measured times were found)."""
_SHORTEST_SHARE = 0.6
_LONGEST_SHARE = 1.8
_FREE_HAND_SHARE = 0.5
"""A hand with no finger down has the whole slice to travel in, and nothing breaks off."""
_FULL_BARRE_STRING = 5
"""A barre over five or six strings is a full one."""

_POSITION_X = np.array([fret_distance_mm(fret) for fret in range(LAST_FRET + 2)])
_BARRE_CODES = 8 * (LAST_FRET + 2)


def hand_codes(grips: GripSet) -> Ints:
    """One number for each grip that says all that a hand move depends on."""
    return np.asarray(
        (grips.position * _BARRE_CODES + grips.barre_fret * 8 + grips.barre_string) * 2 + grips.is_free
    )


def hand_moves(before: Ints, after: Ints, seconds: float, level: Level, prices: Prices) -> Ints:
    """Price of going from each hand code in ``before`` to each in ``after``: shape (B, A).

    ``seconds`` is how long the grip before lasts: the time the tempo leaves for the shift.
    """
    position, barre_fret, _, was_free = _decoded(before[:, None])
    new_position, new_barre_fret, new_barre_string, is_free = _decoded(after[None, :])
    shift = _shift_prices(position, new_position, was_free | is_free, seconds, level, prices)
    laid = (new_barre_fret > 0) & (new_barre_fret != barre_fret)
    lay = np.where(new_barre_string >= _FULL_BARRE_STRING, prices.full_barre_laid, prices.half_barre_laid)
    return np.asarray(shift + laid * lay)


def _decoded(code: Ints) -> tuple[Ints, Ints, Ints, Flags]:
    rest, is_free = np.divmod(code, 2)
    rest, barre_string = np.divmod(rest, 8)
    position, barre_fret = np.divmod(rest, _BARRE_CODES // 8)
    return position, barre_fret, barre_string, is_free == 1


def _shift_prices(
    position: Ints, new_position: Ints, in_the_air: Flags, seconds: float, level: Level, prices: Prices
) -> Ints:
    distance = np.abs(_POSITION_X[position] - _POSITION_X[new_position])
    hurry = min(max(_COMFORTABLE_SECONDS / max(seconds, 1e-6), _SHORTEST_SHARE), _LONGEST_SHARE)
    share = np.where(in_the_air, _FREE_HAND_SHARE, hurry)
    price = prices.shift + distance / 100.0 * prices.shift_per_100_mm
    too_far = (np.abs(position - new_position) > level.shift_frets) & ~in_the_air
    shifted = position != new_position
    return np.asarray(
        np.where(shifted, np.rint(price * share), 0).astype(np.int64) + too_far * prices.shift_over_level
    )


def worst_shift_losses(seconds: float, level: Level, prices: Prices) -> Ints:
    """How much more a shift can at most cost from one resting place than from another.

    Indexed by ``2 * position + is_free`` of the first and of the second: shape (R, R).
    """
    codes = np.arange(2 * (LAST_FRET + 2))
    position, is_free = codes // 2, codes % 2 == 1
    price = _shift_prices(position[:, None], position, is_free[:, None] | is_free, seconds, level, prices)
    return np.asarray((price[:, None, :] - price[None, :, :]).max(axis=2))
