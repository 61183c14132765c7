"""Transitions: every way from some grips of one layer into the grips of the next.

The price of a transition is a sum of tables: what the touches before pay for each touch
after (a finger that must jump, a note let go), what each voice pays for its step, and what
the hand as a whole pays for its shift and its barre. A held note keeps string and finger.
"""

from dataclasses import dataclass

import numpy as np

from apoyando.fingering.layers import Layer, LayerMaker, padded
from apoyando.fingering.moves import hand_codes, hand_moves
from apoyando.fingering.touches import NO_TOUCH, PLACE, PLACE_BITS, Ints


@dataclass(frozen=True, slots=True)
class Transitions:
    """From B states into the A grips of the layer after.

    ``to_voice[v]`` has shape (B, ways to sound voice v after).
    ``hand[hand_before[s], hand_after[g]]`` is the hand's own price. ``touch_before`` has
    shape (voices, B).
    """

    after: Layer
    touch_before: Ints
    to_voice: tuple[Ints, ...]
    hand: Ints
    hand_before: Ints
    hand_after: Ints

    def price(self, states: Ints, grips: Ints) -> Ints:
        """For pairs of a state before and a grip after, given as two columns."""
        total = self.hand[self.hand_before[states], self.hand_after[grips]]
        for table, rows in zip(self.to_voice, self.after.grips.rows, strict=True):
            total += table[states, rows[grips]]
        return np.asarray(total)

    def pairs(self, states: Ints) -> tuple[Ints, Ints]:
        """Every possible pair from ``states`` into a grip after; the pairs of a grip side by side."""
        held = [index for index, voice in enumerate(self.after.slice.voices) if voice.is_held]
        let_go = self._let_go(held)
        parts: list[tuple[Ints, Ints]] = []
        for silent in np.unique(let_go):
            stay = [voice for voice in held if not silent >> voice & 1]
            parts.append(self._joined(states, np.flatnonzero(let_go == silent), stay))
        which_states, which_grips = zip(*parts, strict=True)
        return np.concatenate(which_states), np.concatenate(which_grips)

    def _let_go(self, held: list[int]) -> Ints:
        """For each grip after, the held voices that it may have let go, as bits."""
        bits = np.zeros(len(self.after.grips), dtype=np.int64)
        for voice in held:
            if self.after.slice.voices[voice].release_price is not None:
                bits |= (self.after.touches[voice] == NO_TOUCH).astype(np.int64) << voice
        return bits

    def _joined(self, states: Ints, grips: Ints, held: list[int]) -> tuple[Ints, Ints]:
        before = held_number(self.touch_before[held][:, states])
        after = held_number(self.after.touches[held][:, grips])
        which_state, which_grip = _equal_pairs(before, after)
        return states[which_state], grips[which_grip]


def make_transitions(before: Layer, grip: Ints, after: Layer, maker: LayerMaker) -> Transitions:
    """From the grips ``grip`` (B,) of the layer before into all grips of the layer after."""
    codes, hand_before = np.unique(hand_codes(before.grips)[grip], return_inverse=True)
    new_codes, hand_after = np.unique(hand_codes(after.grips), return_inverse=True)
    return Transitions(
        after=after,
        touch_before=before.touches[:, grip],
        to_voice=tuple(
            _finger_moves(before, grip, after, voice, maker)
            + _let_go_prices(before, grip, after, voice)
            + _steps(before, grip, after, voice)
            for voice in range(len(after.voices))
        ),
        hand=hand_moves(codes, new_codes, before.slice.seconds, maker.level, maker.prices),
        hand_before=hand_before,
        hand_after=hand_after,
    )


def _finger_moves(before: Layer, grip: Ints, after: Layer, voice: int, maker: LayerMaker) -> Ints:
    """What the touches of each state pay for each touch of one voice after."""
    touch = after.voices[voice].touch
    total = np.zeros((len(grip), len(touch)), dtype=np.int64)
    for old, old_touches, rows in zip(before.slice.voices, before.voices, before.grips.rows, strict=True):
        total += maker.in_turn(old)[old_touches.touch[:, None], touch][rows[grip]]
    return total


def _let_go_prices(before: Layer, grip: Ints, after: Layer, voice: int) -> Ints:
    """What it costs to let a held note go: from a touch to none."""
    now = after.slice.voices[voice]
    price = now.release_price if now.is_held else None
    was_sounding = before.touches[voice][grip] != NO_TOUCH
    return np.outer(was_sounding, after.voices[voice].touch == NO_TOUCH) * (price or 0)


def _steps(before: Layer, grip: Ints, after: Layer, voice: int) -> Ints:
    """What a voice pays for going from its candidate before to its candidate after."""
    steps = after.slice.voices[voice].steps
    old, new = before.candidates(voice)[grip], after.voices[voice].candidate
    return padded(steps)[old[:, None], new] if steps else np.zeros((len(old), len(new)), dtype=np.int64)


def held_number(touches: Ints) -> Ints:
    """One number for the places and fingers of some held notes: touches of shape (held, N)."""
    number = np.zeros(touches.shape[1], dtype=np.int64)
    for touch in touches:
        number = number << PLACE_BITS | PLACE[touch]
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
