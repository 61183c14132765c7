"""Transitions: every way from some grips of one layer into the grips of the next.

The price of a transition is a sum of tables: what the touches before pay for each touch
after (a finger that must jump, a bass let go), what each voice pays for its step, and what
the hand as a whole pays for its shift and its barre. A held note keeps string and finger.
"""

from dataclasses import dataclass

import numpy as np

from apoyando.fingering.grips import NONE_CHOSEN, RoleTouches
from apoyando.fingering.layers import BASS, INNER, MELODY, ROLES, Layer, LayerMaker
from apoyando.fingering.moves import hand_codes, hand_moves
from apoyando.fingering.touches import NO_TOUCH, PLACE, HandTables, Ints

_PLACES = 1 << 12
"""More than any number in PLACE, so that three of them make one number."""


@dataclass(frozen=True, slots=True)
class Transitions:
    """From B states into the A grips of the layer after.

    ``to_role[r]`` has shape (B, rows of role r after), ``row_after[r]`` gives for each grip
    after its row there. ``hand[hand_before[s], hand_after[g]]`` is the hand's own price.
    ``touch_before`` has shape (3, B).
    """

    after: Layer
    touch_before: Ints
    to_role: tuple[Ints, Ints, Ints]
    hand: Ints
    hand_before: Ints
    hand_after: Ints

    def price(self, states: Ints, grips: Ints) -> Ints:
        """For pairs of a state before and a grip after, given as two columns."""
        total = self.hand[self.hand_before[states], self.hand_after[grips]]
        for role in range(ROLES):
            total += self.to_role[role][states, self.after.rows(role)[grips]]
        return np.asarray(total)

    def pairs(self, states: Ints) -> tuple[Ints, Ints]:
        """Every possible pair from ``states`` into a grip after; the pairs of a grip side by side."""
        held = [role for role in range(ROLES) if self.after.role_slices[role].is_held]
        let_go = self._let_go(held)
        parts: list[tuple[Ints, Ints]] = []
        for silent in np.unique(let_go):
            stay = [role for role in held if not silent >> role & 1]
            parts.append(self._joined(states, np.flatnonzero(let_go == silent), stay))
        which_states, which_grips = zip(*parts, strict=True)
        return np.concatenate(which_states), np.concatenate(which_grips)

    def _let_go(self, held: list[int]) -> Ints:
        """For each grip after, the held roles that it may have let go, as bits."""
        bits = np.zeros(len(self.after.grips), dtype=np.int64)
        for role in held:
            if self.after.role_slices[role].release_price is not None:
                bits |= (self.after.touches(role) == NO_TOUCH).astype(np.int64) << role
        return bits

    def _joined(self, states: Ints, grips: Ints, held: list[int]) -> tuple[Ints, Ints]:
        before = _held_number([self.touch_before[role][states] for role in held], len(states))
        after = _held_number([self.after.touches(role)[grips] for role in held], len(grips))
        which_state, which_grip = _equal_pairs(before, after)
        return states[which_state], grips[which_grip]


def make_transitions(before: Layer, grip: Ints, after: Layer, maker: LayerMaker) -> Transitions:
    """From the grips ``grip`` (B,) of the layer before into all grips of the layer after."""
    codes, hand_before = np.unique(hand_codes(before.grips)[grip], return_inverse=True)
    new_codes, hand_after = np.unique(hand_codes(after.grips), return_inverse=True)
    return Transitions(
        after=after,
        touch_before=np.stack([before.touches(role)[grip] for role in range(ROLES)]),
        to_role=_role_tables(before, grip, after, maker.tables),
        hand=hand_moves(codes, new_codes, before.slice.seconds, maker.level, maker.prices),
        hand_before=hand_before,
        hand_after=hand_after,
    )


def _role_tables(before: Layer, grip: Ints, after: Layer, tables: HandTables) -> tuple[Ints, Ints, Ints]:
    melody, bass, inner = (
        _finger_moves(before, grip, after.roles[role], tables) + _let_go_prices(before, grip, after, role)
        for role in range(ROLES)
    )
    bass += _steps(after.slice.bass_motion, before.candidates(BASS)[grip], after.roles[BASS])
    inner += _steps(after.slice.inner_motion, before.candidates(INNER)[grip], after.roles[INNER])
    return melody, bass, inner


def _let_go_prices(before: Layer, grip: Ints, after: Layer, role: int) -> Ints:
    """What it costs to let a held note go: from a touch to none."""
    price = after.role_slices[role].release_price if after.role_slices[role].is_held else None
    was_sounding = before.touches(role)[grip] != NO_TOUCH
    is_silent = after.roles[role].touch == NO_TOUCH
    return np.outer(was_sounding, is_silent) * (price or 0)


def _finger_moves(before: Layer, grip: Ints, after: RoleTouches, tables: HandTables) -> Ints:
    """What the three touches of each state pay for each touch of one role after."""
    by_role = (tables.melody_in_turn, tables.in_turn, tables.in_turn)
    total = np.zeros((len(grip), len(after.touch)), dtype=np.int64)
    for role in (MELODY, BASS, INNER):
        rows = before.roles[role].touch[:, None]
        total += by_role[role][rows, after.touch][before.rows(role)[grip]]
    return total


def _steps(motion: tuple[tuple[int, ...], ...], before: Ints, after: RoleTouches) -> Ints:
    """What a voice pays for going from its candidate before to its candidate after."""
    if not motion:
        return np.zeros((len(before), len(after.candidate)), dtype=np.int64)
    table = np.pad(np.array(motion, dtype=np.int64), ((0, 1), (0, 1)))
    assert NONE_CHOSEN == -1  # noqa: S101 - the padding is the row of a silent voice
    return np.asarray(table[before[:, None], after.candidate])


def _held_number(touches: list[Ints], count: int) -> Ints:
    """One number for the places and fingers of the held notes."""
    number = np.zeros(count, dtype=np.int64)
    for touch in touches:
        number = number * _PLACES + PLACE[touch]
    return number


def _equal_pairs(before: Ints, after: Ints) -> tuple[Ints, Ints]:
    """All index pairs with ``before[i] == after[j]``, sorted by j, then i."""
    order = np.argsort(before, kind="stable")
    ranked = before[order]
    first = np.searchsorted(ranked, after, side="left")
    count = np.searchsorted(ranked, after, side="right") - first
    j = np.repeat(np.arange(len(after)), count)
    start = np.repeat(first - (np.cumsum(count) - count), count)
    return order[np.arange(len(j)) + start], j
