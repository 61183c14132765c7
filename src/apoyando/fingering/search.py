"""The search: the cheapest way of the hands through all slices, and the notes it takes.

Dynamic programming over the slices (Bellman 1957; for guitar fingering Sayegh 1989). A
state is a grip together with the wants met so far in the window; its price is the least
price of all ways into it. The cheapest state after the last slice is the optimum: no state
is ever dropped but for a cheaper way into the same one, so the answer is exact.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from apoyando.fingering.layers import Layer, LayerMaker, Ways
from apoyando.fingering.problem import FORBIDDEN, NoWayError, Problem
from apoyando.fingering.touches import NO_TOUCH, TOUCHES, Ints, Touch
from apoyando.fingering.transitions import PRICE_SHIFT, TransitionMaker
from apoyando.model.instrument import Tuning
from apoyando.model.level import Level
from apoyando.model.prices import Prices

_STATE_MASK = (1 << PRICE_SHIFT) - 1
_CLOSED = FORBIDDEN << PRICE_SHIFT
_SETTLED_EVERY = 64
"""After so many slices the ways are traced back to where all of them are one."""


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


@dataclass(frozen=True, slots=True, eq=False)
class _Front:
    """The states at one slice: shape (sets of wants met, grips), numbered row by row.

    ``packed`` is price and number of each state; ``came_from`` the number of the best state
    before. Prices count from the cheapest state; ``rise`` is what that added.
    """

    layer: Layer
    met: Ints
    packed: Ints
    came_from: Ints
    rise: int


def find_best_way(
    problem: Problem, *, tuning: Tuning, level: Level, prices: Prices, hand_size: float = 1.0
) -> Solution:
    """The cheapest choice of notes and touches for all slices.

    Raises NoWayError if the hand cannot sound all that must sound.
    """
    walk = _Walk(LayerMaker(tuning, level, prices, hand_size))
    past = _Past()
    for front in walk.fronts(problem):
        past.add(front)
    return past.solution()


class Searcher:
    """Answers one question after the other, and goes anew only where they differ.

    From the first slice that differs from the last question on, until the states are again
    as they were: then all that follows is known.
    """

    def __init__(self, *, tuning: Tuning, level: Level, prices: Prices, hand_size: float = 1.0) -> None:
        self._walk = _Walk(LayerMaker(tuning, level, prices, hand_size))
        self._problem = Problem()
        self._fronts: list[_Front] = []

    def find_best_way(self, problem: Problem) -> Solution:
        """The same as the function of this name. Raises NoWayError, and forgets nothing then."""
        first, last = _differing(self._problem, problem)
        fronts = self._fronts[:first]
        for front in self._walk.fronts(problem, fronts):
            known = self._fronts[len(fronts)] if len(fronts) > last else None
            fronts.append(front)
            if known and _is_alike(front, known):
                fronts += self._fronts[len(fronts) :]
                break
        self._problem, self._fronts = problem, fronts
        past = _Past()
        for front in fronts:
            past.add(front)
        return past.solution()


def _differing(old: Problem, new: Problem) -> tuple[int, int]:
    """The first and the last slice in which two questions differ; all, if their lengths do."""
    if len(old.slices) != len(new.slices):
        return 0, len(new.slices)
    differing = [i for i, (a, b) in enumerate(zip(old.slices, new.slices, strict=True)) if a != b]
    return (differing[0], differing[-1]) if differing else (len(new.slices), len(new.slices))


def _is_alike(front: _Front, known: _Front) -> bool:
    return (
        front.layer.ways is known.layer.ways
        and np.array_equal(front.met, known.met)
        and np.array_equal(front.packed, known.packed)
    )


class _Walk:
    """From front to front."""

    def __init__(self, maker: LayerMaker) -> None:
        self._maker = maker
        self._transitions = TransitionMaker(maker)

    def fronts(self, problem: Problem, known: list[_Front] | None = None) -> Iterator[_Front]:
        """The fronts of all slices after those ``known``, which are not looked at again."""
        front = known[-1] if known else None
        for number, slice_ in enumerate(problem.slices[len(known or ()) :], len(known or ()) + 1):
            layer = self._maker.make(slice_)
            front = self._step(front, layer) if front else _first(layer)
            if front.rise >= FORBIDDEN:
                raise NoWayError(f"no way on into slice {number}")
            yield front

    def _step(self, front: _Front, layer: Layer) -> _Front:
        """Every best way from the states of one slice into those of the next."""
        met, packed = _settle_wants(front) if layer.slice.opens_window else (front.met, front.packed)
        best, grips = self._transitions.between(front.layer, layer).best(packed)
        return _arrived(layer, met, best, grips)


def _first(layer: Layer) -> _Front:
    zero = np.zeros((1, len(layer.ways)), dtype=np.int64)
    return _arrived(layer, zero[:, 0], zero, np.arange(len(layer.ways)))


def _settle_wants(front: _Front) -> tuple[Ints, Ints]:
    """The states when the wants of a window are paid for, and nothing is met of the next."""
    owed = np.zeros(len(front.met), dtype=np.int64)
    for bit, price in enumerate(front.layer.slice.wanted):
        owed += np.where(front.met >> bit & 1, 0, price)
    settled = front.packed + (owed[:, None] << PRICE_SHIFT)
    return np.zeros(1, dtype=np.int64), settled.min(axis=0, keepdims=True)


def _arrived(layer: Layer, met: Ints, best: Ints, grips: Ints) -> _Front:
    """The front of a layer whose ``grips`` are reached at best so, from each set of wants met."""
    rows, sets = _met_after(met, layer.fill_kinds)
    price, kind = layer.price[grips] << PRICE_SHIFT, layer.fill_kind[grips]
    packed = np.full((len(sets), len(layer.ways)), _CLOSED)
    for row, way in zip(rows, best, strict=True):
        into = row[kind], grips
        packed[into] = np.minimum(packed[into], way + price)
    total = packed >> PRICE_SHIFT
    rise = int(total.min())
    numbers = np.arange(total.size).reshape(total.shape)
    return _Front(
        layer=layer,
        met=sets,
        packed=np.where(total < FORBIDDEN, total - rise, FORBIDDEN) << PRICE_SHIFT | numbers,
        came_from=(packed & _STATE_MASK).astype(np.int32),
        rise=rise,
    )


def _met_after(met: Ints, kinds: Ints) -> tuple[Ints, Ints]:
    """The sets of wants met after, and which of them each set before becomes with each kind."""
    after = met[:, None] | kinds
    sets = np.array(sorted(set(after.ravel().tolist())))
    return np.searchsorted(sets, after), sets


class _Past:
    """The ways so far. Where all of them are one, they are settled, and the fronts let go.

    So memory does not grow with the song, but for its answer: ways that part meet again
    within a few bars.
    """

    def __init__(self) -> None:
        self._settled: list[ChosenSlice] = []
        self._open: list[_Front] = []
        self._price = 0

    def add(self, front: _Front) -> None:
        self._open.append(front)
        self._price += front.rise
        if len(self._open) % _SETTLED_EVERY == 0:
            self._settle()

    def solution(self) -> Solution:
        if not self._open:
            return Solution((), 0, 0, is_optimal=True)
        _, final = _settle_wants(self._open[-1])
        cheapest = int(final.min())
        price = self._price + (cheapest >> PRICE_SHIFT)
        rest = _traced_back(self._open, cheapest & _STATE_MASK)
        return Solution((*self._settled, *rest), price, price, is_optimal=True)

    def _settle(self) -> None:
        """Where the ways into all states of the last front go through one state."""
        states = np.flatnonzero(self._open[-1].packed < _CLOSED)
        for index in range(len(self._open) - 1, 0, -1):
            states = np.unique(self._open[index].came_from.ravel()[states])
            if len(states) == 1:
                self._settled += _traced_back(self._open[:index], int(states[0]))
                del self._open[:index]
                return


def _traced_back(fronts: list[_Front], state: int) -> list[ChosenSlice]:
    slices: list[ChosenSlice] = []
    for front in reversed(fronts):
        slices.append(_chosen_slice(front.layer.ways, state % len(front.layer.ways)))
        state = int(front.came_from.ravel()[state])
    return slices[::-1]


def _chosen_slice(ways: Ways, grip: int) -> ChosenSlice:
    return ChosenSlice(
        voices=tuple(_chosen(ways, voice, grip) for voice in range(len(ways.voices))),
        position=int(ways.grips.position[grip]),
        barre_fret=int(ways.grips.barre_fret[grip]),
        barre_string=int(ways.grips.barre_string[grip]),
    )


def _chosen(ways: Ways, voice: int, grip: int) -> Chosen | None:
    touch = int(ways.touches[voice][grip])
    if touch == NO_TOUCH:
        return None
    row = ways.grips.rows[voice][grip]
    return Chosen(int(ways.voices[voice].candidate[row]), TOUCHES[touch])
