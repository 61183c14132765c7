"""Transitions: every way from the grips of one layer into the grips of the next.

The price of a transition is a sum of tables: what the touches before pay for each touch
after (a finger that must jump, a note let go), what each voice pays for its step, and what
the hand as a whole pays for its shift and its barre. A held note keeps string and finger.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache, reduce
from typing import Protocol

import numpy as np
import numpy.typing as npt

from apoyando.fingering.grips import VoiceTouches
from apoyando.fingering.layers import Layer, LayerMaker, Ways, padded
from apoyando.fingering.moves import Hinges, find_hinges, hand_moves, hurry, is_too_short_to_shift
from apoyando.fingering.problem import Table
from apoyando.fingering.touches import (
    IS_BARRE,
    IS_INDEX_TIP,
    NO_TOUCH,
    PLACE,
    PLACE_BITS,
    Flags,
    Ints,
    in_other_positions,
    ring_over,
)

Indices = npt.NDArray[np.intp]
Small = npt.NDArray[np.int32]
"""Prices of single moves: half as wide, for there are many."""

PRICE_SHIFT = 24
"""Price and number of a state packed in one integer: the least of many is found in one sweep,
first state first."""

_KEPT_PAIRS = 1_500_000
"""Transitions with so many pairs in all are kept for slices to come: some 20 megabytes. Chords of
four notes have so many grips that a fixed number of transitions could fill the memory."""

_MOST_AT_ONCE = 4_000_000
"""Prices of transitions that are made at once, and kept of one pair of slices: 32 megabytes. A chord of seven
tones under a high tune has tens of thousands of grips, and all their transitions would fill the memory."""


class Transitions(Protocol):
    """All possible ways from the grips before into the grips after."""

    @property
    def count(self) -> int:
        """Of the pairs."""
        raise NotImplementedError

    def best(self, packed: Ints) -> tuple[Ints, Ints]:
        """The least ways from ``packed`` (rows, grips before), and into which grips (K,) they lead.

        ``packed`` holds price and number of each state (``PRICE_SHIFT``); so does the result, shape
        (rows, K): the price with that of the transition, the number of the state it comes from.
        """
        raise NotImplementedError


@dataclass(frozen=True, slots=True)
class _Sum:
    """What every grip before (rows) pays for every grip after (columns), not yet added up.

    Each table has a row for each grip before, and with it stands which of its columns each grip
    after takes. ``jumps`` (never negative): fingers that jump at one moment make one gap, the widest;
    ``haste`` likewise: the hand shifts once.
    """

    tables: list[tuple[Small, Indices]]
    jumps: list[tuple[Small, Indices]]
    haste: list[tuple[Small, Indices]]

    def taken(self, take: Callable[[Small, Indices], Small]) -> Small:
        """The prices that ``take`` picks from a table and its columns."""
        first, *others = self.tables
        total = take(*first)
        for table in others:
            total += take(*table)
        for alike in (self.jumps, self.haste):
            if alike:
                total += reduce(np.maximum, [take(*each) for each in alike])
        return total

    def least(self) -> Ints:
        """What no entry of a row is below."""
        return np.asarray(sum(table.min(axis=1).astype(np.int64) for table, _ in self.tables))

    def most(self) -> Ints:
        """What no entry of a row is above."""
        high = sum(table.max(axis=1).astype(np.int64) for table, _ in self.tables)
        for alike in (self.jumps, self.haste):
            high = high + reduce(np.maximum, [each.max(axis=1) for each, _ in alike], 0)
        return np.asarray(high)


class _FreeTransitions:
    """Nothing is held: every grip leads into every other.

    Most grips before are on no cheapest way; so the prices are made, and kept, for those that may be.
    """

    def __init__(self, price: _Sum, before: int, after: int) -> None:
        self.count = before * after
        self._after = np.arange(after)
        self._sum = price
        self._least, self._most = price.least() << PRICE_SHIFT, price.most() << PRICE_SHIFT
        self._made = np.zeros((0, after), dtype=np.int64)
        self._where = np.full(before, -1)

    def best(self, packed: Ints) -> tuple[Ints, Ints]:
        return np.stack([self._best(row) for row in packed]), self._after

    def _best(self, packed: Ints) -> Ints:
        """A state whose best way on costs more than another's worst is on no cheapest way."""
        worth_it = np.flatnonzero(packed + self._least <= (packed + self._most).min())
        at_once = max(1, _MOST_AT_ONCE // len(self._after))
        if len(worth_it) <= at_once:
            return np.asarray((packed[worth_it, None] + self._price(worth_it)).min(axis=0))
        parts = (worth_it[start : start + at_once] for start in range(0, len(worth_it), at_once))
        ways = ((packed[rows, None] + self._make(rows)).min(axis=0) for rows in parts)
        return np.asarray(reduce(np.minimum, ways))

    def _price(self, rows: Indices) -> Ints:
        """Shifted, and kept as far as there is room: shape (rows, grips after)."""
        new = rows[self._where[rows] < 0]
        if len(new):
            if (len(self._made) + len(new)) * len(self._after) > _MOST_AT_ONCE:
                return self._make(rows)
            self._where[new] = len(self._made) + np.arange(len(new))
            self._made = np.concatenate([self._made, self._make(new)])
        return self._made.take(self._where[rows], axis=0)

    def _make(self, rows: Indices) -> Ints:
        price = self._sum.taken(lambda table, columns: table.take(rows, axis=0).take(columns, axis=1))
        return np.asarray(price.astype(np.int64) << PRICE_SHIFT)


@dataclass(frozen=True, slots=True)
class _HeldTransitions:
    """Something is held: pairs of a grip before and a grip after, those of a grip after side by side.

    ``before`` and the shifted ``price`` have an entry for each pair; the pairs of ``after[k]``
    begin at ``starts[k]``.
    """

    before: Indices
    price: Ints
    starts: Indices
    after: Indices

    @property
    def count(self) -> int:
        return self.price.size

    def best(self, packed: Ints) -> tuple[Ints, Ints]:
        if not len(self.after):
            return packed[:, :0], self.after
        ways = packed.take(self.before, axis=1)
        ways += self.price
        return np.minimum.reduceat(ways, self.starts, axis=1), self.after


@dataclass(frozen=True, slots=True)
class _VoiceLink:
    """What a transition depends on in one voice, besides the grips.

    ``release_price`` is None where the voice is not held or must not be let go. ``is_hasty``: its
    note before was struck in the slice before, is over, and was too short to shift from.
    """

    was_singing: bool
    is_struck: bool
    is_held: bool
    release_price: int | None
    steps: Table
    is_hasty: bool


class TransitionMaker:
    """Makes transitions, and keeps them for the next time the same two ways to sound meet."""

    def __init__(self, maker: LayerMaker) -> None:
        self._maker = maker
        self._kept: dict[tuple[object, ...], Transitions] = {}
        self._pairs = 0
        self._in_turn = lru_cache(None)(self._make_in_turn)

    def between(self, before: Layer, after: Layer) -> Transitions:
        is_short = is_too_short_to_shift(before.slice.quarters, before.slice.seconds, self._maker.level)
        links = tuple(
            _VoiceLink(
                old.sings,
                now.is_struck,
                now.is_held,
                now.release_price if now.is_held else None,
                now.steps,
                is_short and old.is_struck and not now.is_held,
            )
            for old, now in zip(before.slice.voices, after.slice.voices, strict=True)
        )
        key = before.ways, after.ways, before.slice.seconds, links
        if key not in self._kept:
            self._keep(key, self._make(*key))
        return self._kept[key]

    def _keep(self, key: tuple[object, ...], made: Transitions) -> None:
        """The first that was made is the first to go."""
        self._kept[key] = made
        self._pairs += made.count
        while self._pairs > _KEPT_PAIRS and len(self._kept) > 1:
            oldest = next(iter(self._kept))
            self._pairs -= self._kept.pop(oldest).count

    def _make(self, before: Ways, after: Ways, seconds: float, links: tuple[_VoiceLink, ...]) -> Transitions:
        maker = self._maker
        hand = hand_moves(before.hand_codes, after.hand_codes, seconds, maker.level, maker.prices)
        tables = [(hand.astype(np.int32).take(before.hand, axis=0), after.hand)]
        jumps, haste = [], []
        for voice, link in enumerate(links):
            rows = after.grips.rows[voice]
            if link.is_struck:
                moves = self._finger_moves(before, after, voice, links, seconds)
                slides, jumped = np.minimum(moves, 0), np.maximum(moves, 0)
                if slides.any():
                    tables.append((slides, rows))
                if jumped.any():
                    jumps.append((jumped, rows))
                hasty = self._hasty_shifts(before, after, voice, links)
                if hasty is not None and hasty.any():
                    haste.append((hasty, rows))
            if link.is_struck and link.was_singing and maker.prices.campanella:
                tables.append((self._bells(before, after, voice), rows))
            if link.steps:
                tables.append((_steps(before, after, voice, link.steps), rows))
        price = _Sum(tables, jumps, haste)
        if any(link.is_held for link in links):
            hinges = find_hinges(after.grips, maker.level, maker.prices)
            return _held_transitions(before, after, links, price, hinges)
        return _FreeTransitions(price, len(before), len(after))

    def _finger_moves(
        self, before: Ways, after: Ways, voice: int, links: tuple[_VoiceLink, ...], seconds: float
    ) -> Small:
        """What each grip before pays for each way to strike a voice after: its finger jumps or slides."""
        struck = after.voices[voice]
        total = np.zeros((len(before), len(struck.touch)), dtype=np.int32)
        for link, old, rows in zip(links, before.voices, before.grips.rows, strict=True):
            total += self._in_turn(old, struck, hurry(seconds), sings=link.was_singing)[rows]
        return total

    def _hasty_shifts(
        self, before: Ways, after: Ways, voice: int, links: tuple[_VoiceLink, ...]
    ) -> Small | None:
        """What each grip before pays for each way to strike a voice after, if the hand must hurry there."""
        struck = after.voices[voice].touch
        hurried = [
            in_other_positions(old.touch, struck)[rows]
            for link, old, rows in zip(links, before.voices, before.grips.rows, strict=True)
            if link.is_hasty
        ]
        if not hurried:
            return None
        return np.asarray(reduce(np.logical_or, hurried) * np.int32(self._maker.prices.shift_hasty))

    def _bells(self, before: Ways, after: Ways, voice: int) -> Small:
        """What each grip before gains for each way in which the tune goes on, if it rings on under it."""
        old, struck = before.voices[voice].touch, after.voices[voice].touch
        rings = ring_over(old, struck, self._maker.sounds) * np.int32(self._maker.prices.campanella)
        return np.asarray(rings[before.grips.rows[voice]])

    def _make_in_turn(self, old: VoiceTouches, struck: VoiceTouches, share: float, *, sings: bool) -> Small:
        prices = self._maker.in_turn(sings=sings)[old.touch[:, None], struck.touch]
        return np.asarray(np.rint(prices * share).astype(np.int32))


def _steps(before: Ways, after: Ways, voice: int, steps: Table) -> Small:
    """What each grip before pays for the step of a voice to each way to sound it after."""
    prices = padded(steps).astype(np.int32)
    return prices.take(before.candidates(voice), axis=0).take(after.voices[voice].candidate, axis=1)


def _held_transitions(
    before: Ways,
    after: Ways,
    links: tuple[_VoiceLink, ...],
    added: _Sum,
    hinges: Hinges,
) -> Transitions:
    old, new = _possible_pairs(before, after, links)

    def of_pairs(table: Small, columns: Indices) -> Small:
        return np.asarray(table.ravel().take(old * table.shape[1] + columns.take(new)))

    price = added.taken(of_pairs).astype(np.int64)

    def are_pairs(was: Flags, now: Flags) -> Flags | None:
        """Which pairs are of one such grip and one such; None if none can be, as mostly."""
        return was[old] & now[new] if was.any() and now.any() else None

    for link, was, now in zip(links, before.touches, after.touches, strict=True):
        # A tip of finger 1 whose note goes on is laid flat.
        if link.is_held and (laid := are_pairs(IS_INDEX_TIP[was], IS_BARRE[now])) is not None:
            price += laid * hinges.laid[new]
        # It was flat, and its tip stays.
        if link.is_held and (lifted := are_pairs(IS_BARRE[was], IS_INDEX_TIP[now])) is not None:
            price += lifted * hinges.lifted
        if link.release_price and (let_go := are_pairs(was != NO_TOUCH, now == NO_TOUCH)) is not None:
            price += let_go * link.release_price
    starts = np.flatnonzero(np.concatenate([[True], new[1:] != new[:-1]])) if len(new) else new
    return _HeldTransitions(old, price << PRICE_SHIFT, starts, new[starts])


def _possible_pairs(before: Ways, after: Ways, links: tuple[_VoiceLink, ...]) -> tuple[Indices, Indices]:
    """Every grip before with every grip after that keeps what is held."""
    held = [voice for voice, link in enumerate(links) if link.is_held]
    let_go = np.zeros(len(after), dtype=np.int64)
    for voice in held:
        if links[voice].release_price is not None:
            let_go |= (after.touches[voice] == NO_TOUCH).astype(np.int64) << voice
    parts = [
        _joined(before, after, np.flatnonzero(let_go == silent), [v for v in held if not silent >> v & 1])
        for silent in np.unique(let_go)
    ]
    old, new = zip(*parts, strict=True)
    return np.concatenate(old), np.concatenate(new)


def _joined(before: Ways, after: Ways, grips: Indices, held: list[int]) -> tuple[Indices, Indices]:
    old, new = _equal_pairs(_held_number(before.touches[held]), _held_number(after.touches[held][:, grips]))
    return old, grips[new]


def _held_number(touches: Ints) -> Ints:
    """One number for the places and fingers of some held notes: touches of shape (held, N)."""
    number = np.zeros(touches.shape[1], dtype=np.int64)
    for touch in touches:
        number = number << PLACE_BITS | PLACE[touch]
    return number


def _equal_pairs(before: Ints, after: Ints) -> tuple[Indices, Indices]:
    """All index pairs with ``before[i] == after[j]``, sorted by j, then i."""
    order = np.argsort(before, kind="stable")
    ranked = before[order]
    first = np.searchsorted(ranked, after, side="left")
    count = np.searchsorted(ranked, after, side="right") - first
    j = np.repeat(np.arange(len(after)), count)
    start = np.repeat(first - (np.cumsum(count) - count), count)
    return order[np.arange(len(j)) + start], j
