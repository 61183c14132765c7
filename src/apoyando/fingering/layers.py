"""Layers: the slices of a problem with every grip in which each can be sounded."""

from dataclasses import dataclass

import numpy as np

from apoyando.fingering.grips import GripSet, RoleTouches, enumerate_grips, role_touches
from apoyando.fingering.moves import worst_shift_losses
from apoyando.fingering.problem import NoWayError, RoleSlice, Slice
from apoyando.fingering.touches import FRET, NO_TOUCH, STRING, HandTables, Ints, hand_tables
from apoyando.model.instrument import Tuning
from apoyando.model.level import Level
from apoyando.model.prices import Prices

ROLES = 3
MELODY, BASS, INNER = range(ROLES)
"""The order of the roles in every tuple of three."""


@dataclass(frozen=True, slots=True)
class Layer:
    """One slice, ready to be walked through.

    The columns have one row for each grip: ``price`` of sounding the slice so, ``fills`` the
    wants that it meets, ``touch`` and ``candidate`` (three each: melody, bass, inner).
    """

    slice: Slice
    roles: tuple[RoleTouches, RoleTouches, RoleTouches]
    grips: GripSet
    price: Ints
    fills: Ints

    @property
    def role_slices(self) -> tuple[RoleSlice, RoleSlice, RoleSlice]:
        return self.slice.melody, self.slice.bass, self.slice.inner

    def rows(self, role: int) -> Ints:
        """For each grip, the row of ``roles[role]`` that it uses."""
        return (self.grips.melody, self.grips.bass, self.grips.inner)[role]

    def touches(self, role: int) -> Ints:
        return np.asarray(self.roles[role].touch[self.rows(role)])

    def candidates(self, role: int) -> Ints:
        return np.asarray(self.roles[role].candidate[self.rows(role)])


class LayerMaker:
    """Makes layers, and keeps what slices that look alike have in common."""

    def __init__(self, tuning: Tuning, level: Level, prices: Prices, hand_size: float) -> None:
        self.tables: HandTables = hand_tables(level, prices, hand_size)
        self.level = level
        self.prices = prices
        self.worst_in_turn = (
            self.tables.melody_in_turn.max(axis=1),
            self.tables.in_turn.max(axis=1),
            self.tables.in_turn.max(axis=1),
        )
        self._tuning = tuning
        self._shift_losses: dict[float, Ints] = {}
        self._touches: dict[tuple[object, ...], RoleTouches] = {}
        self._grips: dict[tuple[object, ...], GripSet] = {}

    def make(self, slice_: Slice) -> Layer:
        """Raises NoWayError if a role that must sound has no place on the fingerboard."""
        role_slices = (slice_.melody, slice_.bass, slice_.inner)
        melody, bass, inner = (self._role_touches(role) for role in role_slices)
        grips = self._grip_set(slice_, (melody, bass, inner))
        if not len(grips):
            raise NoWayError(f"no place on the fingerboard for {role_slices}")
        fills = _fills(slice_.bass, bass)[grips.bass] | _fills(slice_.inner, inner)[grips.inner]
        struck = (
            _candidate_prices(slice_.melody, melody)[grips.melody]
            + _candidate_prices(slice_.bass, bass)[grips.bass]
            + _candidate_prices(slice_.inner, inner)[grips.inner]
        )
        barre = round(self.prices.barre_kept_per_quarter * slice_.quarters)
        price = grips.price + struck + (grips.barre_fret > 0) * barre
        return Layer(slice_, (melody, bass, inner), grips, np.asarray(price), np.asarray(fills))

    def worst_shift_losses(self, seconds: float) -> Ints:
        """See ``moves.worst_shift_losses``; kept for each length of slice."""
        if seconds not in self._shift_losses:
            self._shift_losses[seconds] = worst_shift_losses(seconds, self.level, self.prices)
        return self._shift_losses[seconds]

    def _role_touches(self, role: RoleSlice) -> RoleTouches:
        key = (tuple((c.note, c.highest_fret) for c in role.candidates), _may_be_silent(role))
        if key not in self._touches:
            self._touches[key] = role_touches(
                role.candidates,
                self._tuning,
                may_be_silent=_may_be_silent(role),
                with_barre=self.level.allows_barre,
            )
        return self._touches[key]

    def _grip_set(self, slice_: Slice, roles: tuple[RoleTouches, RoleTouches, RoleTouches]) -> GripSet:
        key = (*(id(role) for role in roles), slice_.bass_inner_prices)
        if key not in self._grips:
            self._grips[key] = enumerate_grips(*roles, _bass_inner_table(slice_), self.tables)
        return self._grips[key]


def _may_be_silent(role: RoleSlice) -> bool:
    let_go = role.is_held and role.release_price is not None
    return role.is_silent or role.none_price is not None or let_go


def _bass_inner_table(slice_: Slice) -> Ints:
    """With a last row and column of zeros for a silent role (index -1)."""
    table = np.zeros((len(slice_.bass.candidates) + 1, len(slice_.inner.candidates) + 1), dtype=np.int64)
    if slice_.bass_inner_prices:
        table[:-1, :-1] = slice_.bass_inner_prices
    return table


def _candidate_prices(role: RoleSlice, touches: RoleTouches) -> Ints:
    """Paid when the role is struck; a held note has been paid for."""
    if not role.is_struck:
        return np.zeros(len(touches.candidate), dtype=np.int64)
    by_candidate = np.array([*(c.price for c in role.candidates), role.none_price or 0], dtype=np.int64)
    price = by_candidate[touches.candidate]
    sounds = touches.touch != NO_TOUCH
    if role.string_prices:
        price = price + sounds * np.array(role.string_prices)[STRING[touches.touch] - 1]
    if role.fret_prices:
        price = price + sounds * np.array(role.fret_prices)[FRET[touches.touch]]
    return np.asarray(price)


def _fills(role: RoleSlice, touches: RoleTouches) -> Ints:
    by_candidate = np.array([*(c.fills for c in role.candidates), 0], dtype=np.int64)
    return np.asarray(by_candidate[touches.candidate])
