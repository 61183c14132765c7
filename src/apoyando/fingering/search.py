"""The search: the cheapest way of the hands through all slices, and the notes it takes.

Dynamic programming over the slices (Bellman 1957; for guitar fingering Sayegh 1989). A
state is a grip together with the wants met so far in the window; its price is the least
price of all ways into it. The cheapest state after the last slice is the optimum.

A state is dropped only where another is proven at least as good whatever comes after
(dominance), so that the answer is exact. Time and memory grow linearly with the slices.
"""

from dataclasses import dataclass

import numpy as np

from apoyando.fingering.layers import Layer, LayerMaker, padded
from apoyando.fingering.problem import FORBIDDEN, NoWayError, Problem, Table
from apoyando.fingering.touches import NO_TOUCH, PLACE_BITS, TOUCHES, Ints, Touch
from apoyando.fingering.transitions import Transitions, held_number, make_transitions
from apoyando.model.instrument import Tuning
from apoyando.model.level import Level
from apoyando.model.prices import Prices

_STATE_BITS = 24
_STATE_MASK = (1 << _STATE_BITS) - 1
"""Price and state packed in one integer: the least of many is found in one sweep, first state first."""


@dataclass(frozen=True, slots=True)
class Chosen:
    """What one voice does in one slice: which candidate, by which touch."""

    candidate: int
    touch: Touch


@dataclass(frozen=True, slots=True)
class ChosenSlice:
    """One slice of the answer: each voice's choice, None where it is silent.

    ``barre_fret`` is 0 without a barre.
    """

    voices: tuple[Chosen | None, ...]
    position: int
    barre_fret: int
    barre_string: int


@dataclass(frozen=True, slots=True)
class Solution:
    """The cheapest way. Law: ``lower_bound <= price``, equal if ``is_optimal``."""

    slices: tuple[ChosenSlice, ...]
    price: int
    lower_bound: int
    is_optimal: bool


@dataclass(frozen=True, slots=True)
class _Front:
    """The states at one slice: grip of the layer, wants met, price, and state before."""

    layer: Layer
    grip: Ints
    met: Ints
    price: Ints
    came_from: Ints


def find_best_way(
    problem: Problem, *, tuning: Tuning, level: Level, prices: Prices, hand_size: float = 1.0
) -> Solution:
    """The cheapest choice of notes and touches for all slices.

    Raises NoWayError if the hand cannot sound all that must sound.
    """
    maker = LayerMaker(tuning, level, prices, hand_size)
    fronts: list[_Front] = []
    for slice_ in problem.slices:
        layer = maker.make(slice_)
        fronts.append(_step(fronts[-1], layer, maker) if fronts else _first(layer))
        if not len(fronts[-1].grip):
            raise NoWayError(f"no way on into slice {len(fronts)}")
    return _trace_back(fronts) if fronts else Solution((), 0, 0, is_optimal=True)


def _first(layer: Layer) -> _Front:
    count = len(layer.grips)
    return _Front(layer, np.arange(count), layer.fills, layer.price, np.full(count, -1, dtype=np.int64))


def _step(front: _Front, layer: Layer, maker: LayerMaker) -> _Front:
    """Every best way from the states of one slice into those of the next."""
    price, met = front.price, front.met
    if layer.slice.opens_window:
        price, met = price + _owed(front), np.zeros_like(met)
    kept = _undominated(front, price, met, layer, maker)
    transitions = make_transitions(front.layer, front.grip[kept], layer, maker)
    ways = [
        _best_ways(transitions, price[kept], np.flatnonzero(met[kept] == value))
        for value in np.unique(met[kept])
    ]
    return _joined(layer, kept, met[kept], ways)


def _owed(front: _Front) -> Ints:
    """What the wants cost that are not met in the window that ends."""
    owed = np.zeros(len(front.grip), dtype=np.int64)
    for bit, price in enumerate(front.layer.slice.wanted):
        owed += np.where(front.met >> bit & 1, 0, price)
    return owed


def _best_ways(transitions: Transitions, price: Ints, states: Ints) -> tuple[Ints, Ints, Ints]:
    """For each grip that can be reached from ``states``: grip, least price, state before."""
    state, grip = transitions.pairs(states)
    if not len(grip):
        return grip, grip, grip
    total = price[state] + transitions.price(state, grip)
    packed = total << _STATE_BITS | state
    starts = np.flatnonzero(np.diff(grip, prepend=-1))
    least = np.minimum.reduceat(packed, starts)
    return grip[starts], least >> _STATE_BITS, least & _STATE_MASK


def _joined(layer: Layer, kept: Ints, met: Ints, ways: list[tuple[Ints, Ints, Ints]]) -> _Front:
    grip, price, state = (np.concatenate(columns) for columns in zip(*ways, strict=True))
    new_met = met[state] | layer.fills[grip]
    total = price + layer.price[grip]
    order = np.lexsort((total, new_met, grip))
    same = (np.diff(grip[order], prepend=-1) == 0) & (np.diff(new_met[order], prepend=-1) == 0)
    best = order[~same & (total[order] < FORBIDDEN)]
    return _Front(layer, grip[best], new_met[best], total[best], kept[state[best]])


# Dominance: what one state can at most lose against another in all that follows.


def _undominated(front: _Front, price: Ints, met: Ints, after: Layer, maker: LayerMaker) -> Ints:
    """Indices of the states that may still be on the cheapest way."""
    touches = front.layer.touches[:, front.grip]
    groups = _comparable(touches, met, after)
    order = np.lexsort((price, groups))
    first = np.diff(groups[order], prepend=-1) != 0
    leader = order[np.flatnonzero(first)[np.cumsum(first) - 1]]
    loss = _greatest_loss(front, order, leader, after, maker)
    keep = (price[order] < price[leader] + loss) | first
    return np.sort(order[keep])


def _comparable(touches: Ints, met: Ints, after: Layer) -> Ints:
    """Equal for states that hold the same notes and have met the same wants."""
    held = [index for index, voice in enumerate(after.slice.voices) if voice.is_held]
    return np.asarray(met << PLACE_BITS * len(held) | held_number(touches[held]))


def _greatest_loss(front: _Front, states: Ints, leaders: Ints, after: Layer, maker: LayerMaker) -> Ints:
    """How much more than its state each leader can at most pay on the way into the next slice.

    After that slice the two are in the same state, and whatever follows costs both the same.
    """
    layer, rest = front.layer, _rest_code(front)
    loss = maker.worst_shift_losses(layer.slice.seconds)[rest[leaders], rest[states]]
    barre = layer.grips.barre_fret[front.grip]
    loss = loss + ((barre[states] > 0) & (barre[states] != barre[leaders])) * maker.prices.full_barre_laid
    for index, (voice, now) in enumerate(zip(layer.slice.voices, after.slice.voices, strict=True)):
        touch = layer.touches[index][front.grip]
        loss += (touch[leaders] != touch[states]) * maker.worst_in_turn(voice)[touch[leaders]]
        if now.steps:
            candidate = layer.candidates(index)[front.grip]
            loss += _worst_steps(now.steps)[candidate[leaders], candidate[states]]
    return np.asarray(loss)


def _rest_code(front: _Front) -> Ints:
    grips = front.layer.grips
    return np.asarray((grips.position * 2 + grips.is_free)[front.grip])


def _worst_steps(steps: Table) -> Ints:
    """How much more a voice can at most pay for its step from one candidate than from another."""
    table = padded(steps)
    return np.asarray((table[:, None, :] - table[None, :, :]).max(axis=2))


def _trace_back(fronts: list[_Front]) -> Solution:
    final = fronts[-1].price + _owed(fronts[-1])
    state = int(final.argmin())
    price = int(final[state])
    slices: list[ChosenSlice] = []
    for front in reversed(fronts):
        slices.append(_chosen_slice(front.layer, int(front.grip[state])))
        state = int(front.came_from[state])
    return Solution(tuple(reversed(slices)), price, price, is_optimal=True)


def _chosen_slice(layer: Layer, grip: int) -> ChosenSlice:
    return ChosenSlice(
        voices=tuple(_chosen(layer, voice, grip) for voice in range(len(layer.voices))),
        position=int(layer.grips.position[grip]),
        barre_fret=int(layer.grips.barre_fret[grip]),
        barre_string=int(layer.grips.barre_string[grip]),
    )


def _chosen(layer: Layer, voice: int, grip: int) -> Chosen | None:
    touch = int(layer.touches[voice][grip])
    if touch == NO_TOUCH:
        return None
    return Chosen(int(layer.candidates(voice)[grip]), TOUCHES[touch])
