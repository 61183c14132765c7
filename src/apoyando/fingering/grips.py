"""Grips: everything the hand does in one slice of time.

A grip holds one touch for each role (NO_TOUCH where the role is silent). ``GripSet`` lists,
as columns of equal length, every grip in which a slice can be sounded, with its price.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from apoyando.fingering.problem import FORBIDDEN, Candidate
from apoyando.fingering.touches import (
    FINGER,
    FRET,
    IN_BARRE,
    NO_TOUCH,
    STRING,
    Flags,
    HandTables,
    Ints,
    touches_at,
)
from apoyando.model.instrument import LAST_FRET, Tuning

POSITIONS = int(LAST_FRET)
"""Where finger 1 can lie: frets 1 to the last."""

NONE_CHOSEN = -1


@dataclass(frozen=True, slots=True)
class RoleTouches:
    """The ways in which one role can sound: which candidate, by which touch."""

    candidate: Ints
    touch: Ints


@dataclass(frozen=True, slots=True)
class GripSet:
    """Every grip for one choice of candidates, one row each.

    ``melody``, ``bass``, ``inner`` index the rows of the role's ``RoleTouches``. ``position``
    is the fret at which finger 1 lies or would lie. ``barre_fret`` is 0 without a barre,
    ``barre_string`` the lowest-pitched string under it. ``is_free`` marks grips in which no
    finger presses, and the hand may rest in any position.
    """

    melody: Ints
    bass: Ints
    inner: Ints
    price: Ints
    position: Ints
    barre_fret: Ints
    barre_string: Ints
    is_free: Flags

    def __len__(self) -> int:
        return len(self.melody)


def role_touches(
    candidates: Sequence[Candidate], tuning: Tuning, *, may_be_silent: bool, with_barre: bool
) -> RoleTouches:
    """Every way to sound any of the candidates; silence first where it is allowed."""
    rows = [(NONE_CHOSEN, NO_TOUCH)] if may_be_silent else []
    for index, candidate in enumerate(candidates):
        rows += [
            (index, touch)
            for place in tuning.places(candidate.note, candidate.highest_fret)
            for touch in touches_at(place, with_barre=with_barre)
        ]
    table = np.array(rows, dtype=np.int64).reshape(-1, 2)
    return RoleTouches(candidate=table[:, 0], touch=table[:, 1])


def enumerate_grips(
    melody: RoleTouches,
    bass: RoleTouches,
    inner: RoleTouches,
    bass_inner_prices: Ints,
    tables: HandTables,
) -> GripSet:
    """Every grip the hand can take, with what it costs to hold it.

    ``bass_inner_prices`` has a row for each bass candidate and a column for each inner one,
    plus a last row and column of zeros for a silent role; FORBIDDEN keeps two apart.
    """
    together = (
        tables.together[melody.touch[:, None], bass.touch][:, :, None]
        + tables.together[melody.touch[:, None], inner.touch][:, None, :]
        + (
            tables.together[bass.touch[:, None], inner.touch]
            + bass_inner_prices[bass.candidate[:, None], inner.candidate]
        )[None, :, :]
    )
    m, b, i = np.nonzero(together < FORBIDDEN)
    touches = np.stack([melody.touch[m], bass.touch[b], inner.touch[i]], axis=1)
    price = together[m, b, i] + tables.touch[touches].sum(axis=1)
    return _with_positions(m, b, i, touches, price)


def _with_positions(m: Ints, b: Ints, i: Ints, touches: Ints, price: Ints) -> GripSet:
    finger, fret = FINGER[touches], FRET[touches]
    pressed = finger > 0
    is_free = np.asarray(~pressed.any(axis=1))
    lowest = np.where(pressed, finger, 9).argmin(axis=1)
    rows = np.arange(len(m))
    position = np.maximum(fret[rows, lowest] - finger[rows, lowest] + 1, 1)
    in_barre = IN_BARRE[touches]
    barre_fret = np.where(in_barre, fret, 0).max(axis=1)
    barre_string = np.where(in_barre, STRING[touches], 0).max(axis=1)
    # A barre over a single sounding string must still cover a second one.
    pressing = np.flatnonzero(~is_free & ((barre_fret == 0) | (barre_string > 1)))
    # A free hand may wait anywhere: one row for each position.
    order = np.concatenate([pressing, np.repeat(np.flatnonzero(is_free), POSITIONS)])
    waiting = np.tile(np.arange(1, POSITIONS + 1), int(is_free.sum()))
    return GripSet(
        melody=m[order],
        bass=b[order],
        inner=i[order],
        price=price[order],
        position=np.concatenate([position[pressing], waiting]),
        barre_fret=barre_fret[order],
        barre_string=barre_string[order],
        is_free=is_free[order],
    )
