"""Fronts: the best ways so far, slice by slice.

Dynamic programming (Bellman 1957; for guitar fingering Sayegh 1989). A state is a grip
together with the wants met so far in the window; its price is the least price of all ways
into it. No state is dropped but for a cheaper way into the same one, so the answer is exact.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from hashlib import blake2b
from weakref import WeakValueDictionary

import numpy as np
import numpy.typing as npt

from apoyando.fingering.addends import PRICE_SHIFT
from apoyando.fingering.layers import Layer, LayerMaker, Ways
from apoyando.fingering.moves import beginning_prices
from apoyando.fingering.problem import FORBIDDEN, NoWayError, Slice
from apoyando.fingering.solution import Chosen, ChosenSlice
from apoyando.fingering.touches import NO_TOUCH, TOUCHES, Ints
from apoyando.fingering.transitions import TransitionMaker

_STATE_MASK = (1 << PRICE_SHIFT) - 1
_CLOSED = FORBIDDEN << PRICE_SHIFT
_MOST = FORBIDDEN // 2
"""No way that is open costs so much more than the cheapest. What is closed may come to a little less
than FORBIDDEN, for there are prices below nothing: a finger that slides leads the hand."""


@dataclass(frozen=True, slots=True, eq=False, weakref_slot=True)
class Front:
    """The states at one slice: shape (sets of wants met, grips), numbered row by row.

    ``packed`` is price and number of each state; ``came_from`` the number of the best state
    before. Prices count from the cheapest state; ``rise`` is what that added.
    """

    layer: Layer
    met: Ints
    packed: Ints
    came_from: npt.NDArray[np.int32]
    rise: int

    def open_states(self) -> Ints:
        """The numbers of the states into which there is a way."""
        return np.flatnonzero(self.packed < _CLOSED)


@dataclass(frozen=True, slots=True)
class Charge:
    """What some grips of a slice cost more (or less) than the hand and the ear ask: equal where the prices are."""

    packed: bytes

    @classmethod
    def of(cls, price: Ints) -> "Charge":
        """Of an array of shape (grips,)."""
        return cls(price.tobytes())

    @property
    def price(self) -> Ints:
        return np.frombuffer(self.packed, dtype=np.int64)


@dataclass(frozen=True, slots=True)
class Task:
    """A slice, and what is charged for its grips besides."""

    slice: Slice
    charge: Charge | None = None


class Walk:
    """From front to front. Fronts with so many states in all are ``kept`` for the next walk over the same ground.

    As long as it is kept, a front that is like another in all that may follow is that other.
    """

    def __init__(self, maker: LayerMaker, kept: int = 0) -> None:
        self._maker = maker
        self._transitions = TransitionMaker(maker)
        self._kept: dict[tuple[Front | None, Layer, Charge | None], Front] = {}
        self._room = kept
        self._left = kept
        self._alike = WeakValueDictionary[tuple[object, ...], Front]()

    def step(self, front: Front | None, task: Task) -> Front:
        """Every best way into the states of a slice from those before; from nowhere, if it is the first.

        Raises NoWayError if there is none.
        """
        layer = self._maker.make(task.slice)
        if not self._room:
            return self._go_on(front, layer, task.charge)
        key = front, layer, task.charge
        if key not in self._kept:
            made = self._go_on(front, layer, task.charge)
            self._keep(key, self._alike.setdefault(_mark(made), made))
        return self._kept[key]

    def _go_on(self, front: Front | None, layer: Layer, charge: Charge | None) -> Front:
        price = layer.price + charge.price if charge else layer.price
        after = self._step(front, layer, price) if front else _first(layer, price)
        if after.rise >= _MOST:
            raise NoWayError("no way on into a slice")
        return after

    def _step(self, front: Front, layer: Layer, price: Ints) -> Front:
        met, packed = _settle_wants(front) if layer.slice.opens_window else (front.met, front.packed)
        best, grips = self._transitions.between(front.layer, layer).best(packed)
        return _arrived(layer, met, best + (price[grips] << PRICE_SHIFT), grips)

    def _keep(self, key: tuple[Front | None, Layer, Charge | None], made: Front) -> None:
        """The first that was made is the first to go."""
        self._kept[key] = made
        self._left -= made.packed.size
        while self._left < 0 and len(self._kept) > 1:
            oldest = next(iter(self._kept))
            self._left += self._kept.pop(oldest).packed.size


def _mark(front: Front) -> tuple[object, ...]:
    """What is the same where all is the same that follows from a front, and what came before it."""
    arrays = front.met.tobytes(), front.packed.tobytes(), front.came_from.tobytes()
    return front.layer, front.rise, *(blake2b(each, digest_size=16).digest() for each in arrays)


def _first(layer: Layer, price: Ints) -> Front:
    price = price + beginning_prices(layer.ways.hands).take(layer.ways.hand)
    return _arrived(
        layer, np.zeros(1, dtype=np.int64), price[None, :] << PRICE_SHIFT, np.arange(len(layer.ways))
    )


def _settle_wants(front: Front) -> tuple[Ints, Ints]:
    """The states when the wants of a window are paid for, and nothing is met of the next."""
    owed = np.zeros(len(front.met), dtype=np.int64)
    for bit, price in enumerate(front.layer.slice.wanted):
        owed += np.where(front.met >> bit & 1, 0, price)
    settled = front.packed + (owed[:, None] << PRICE_SHIFT)
    return np.zeros(1, dtype=np.int64), settled.min(axis=0, keepdims=True)


def cheapest_end(front: Front) -> tuple[int, int]:
    """Price and number of the state in which it is cheapest to end."""
    _, settled = _settle_wants(front)
    cheapest = int(settled.min())
    return cheapest >> PRICE_SHIFT, cheapest & _STATE_MASK


def _arrived(layer: Layer, met: Ints, best: Ints, grips: Ints) -> Front:
    """The front of a layer whose ``grips`` are reached and sounded at best so, from each set of wants met."""
    sets, packed = _sorted_by_met(layer, met, best, grips)
    total = packed >> PRICE_SHIFT
    rise = int(total.min())
    numbers = np.arange(total.size).reshape(total.shape)
    return Front(
        layer=layer,
        met=sets,
        packed=np.where(total < _MOST, total - rise, FORBIDDEN) << PRICE_SHIFT | numbers,
        came_from=(packed & _STATE_MASK).astype(np.int32),
        rise=rise,
    )


def _sorted_by_met(layer: Layer, met: Ints, ways: Ints, grips: Ints) -> tuple[Ints, Ints]:
    """The sets of wants met after, and the best way into each state: shape (sets, grips of the layer)."""
    rows, sets = _met_after(met, layer.fill_kinds)
    if rows.size == 1 and len(grips) == len(layer.ways):  # all of them, in their order
        return sets, ways
    packed = np.full((len(sets), len(layer.ways)), _CLOSED)
    flat, kind = packed.ravel(), layer.fill_kind.take(grips)
    for row, way in zip(rows * len(layer.ways), ways, strict=True):
        into = row.take(kind) + grips
        flat[into] = np.minimum(flat.take(into), way)
    return sets, packed


def _met_after(met: Ints, kinds: Ints) -> tuple[Ints, Ints]:
    """The sets of wants met after, and which of them each set before becomes with each kind."""
    after = met[:, None] | kinds
    if after.size == 1:
        return np.zeros((1, 1), dtype=np.int64), after[0]
    sets = np.array(sorted(set(after.ravel().tolist())))
    return np.searchsorted(sets, after), sets


def traced_back(fronts: Sequence[Front], state: int) -> list[ChosenSlice]:
    grips = grips_traced_back(fronts, state)
    return [_chosen_slice(front.layer.ways, grip) for front, grip in zip(fronts, grips, strict=True)]


def grips_traced_back(fronts: Sequence[Front], state: int) -> list[int]:
    grips: list[int] = []
    for front in reversed(fronts):
        grips.append(state % front.packed.shape[1])
        state = front.came_from.item(state)
    return grips[::-1]


def _chosen_slice(ways: Ways, grip: int) -> ChosenSlice:
    return ChosenSlice(
        voices=tuple(_chosen(ways, voice, grip) for voice in range(len(ways.voices))),
        position=ways.grips.position.item(grip),
        barre_fret=ways.grips.barre_fret.item(grip),
        barre_string=ways.grips.barre_string.item(grip),
    )


def _chosen(ways: Ways, voice: int, grip: int) -> Chosen | None:
    touch = ways.grips.touches.item(voice, grip)
    if touch == NO_TOUCH:
        return None
    row = ways.grips.rows.item(voice, grip)
    return Chosen(ways.voices[voice].candidate.item(row), TOUCHES[touch])
