"""Transitions under which something is held: a grip leads into those that keep it, or let it go.

Where the pairs are few they are listed once. Where they are very many (a held bass under a rich chord that is
struck again and again) they are gone through block by block, a block being all grips that hold the same.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from apoyando.fingering.addends import MOST_AT_ONCE, PRICE_SHIFT, Addends, Indices, Small, VoiceLink
from apoyando.fingering.layers import Ways
from apoyando.fingering.moves import Hinges
from apoyando.fingering.problem import FORBIDDEN
from apoyando.fingering.touches import IS_BARRE, IS_INDEX_TIP, NO_TOUCH, PLACE, PLACE_BITS, Flags, Ints

MOST_LISTED = 1_000_000
"""So many pairs are listed, with 16 bytes each; blocks take a quarter of the time where there are more."""


@dataclass(frozen=True, slots=True)
class Held:
    """The grips before and after, and all that a transition costs between them."""

    before: Ways
    after: Ways
    links: tuple[VoiceLink, ...]
    added: Addends
    hinges: Hinges


def held_transitions(held: Held) -> "_ListedTransitions | _BlockTransitions":
    joints = list(_find_joints(held))
    if sum(joint.count() for joint in joints) > MOST_LISTED:
        return _BlockTransitions(held, [block for joint in joints for block in joint.blocks()])
    old, new = zip(*(joint.pairs() for joint in joints), strict=True)
    pairs = _Pairs(np.concatenate(old), np.concatenate(new))
    starts = (
        np.flatnonzero(np.concatenate([[True], pairs.new[1:] != pairs.new[:-1]]))
        if len(pairs.new)
        else pairs.new
    )
    return _ListedTransitions(pairs.old, _price(held, pairs), starts, pairs.new[starts])


@dataclass(frozen=True, slots=True)
class _ListedTransitions:
    """Pairs of a grip before and a grip after, those of a grip after side by side.

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


class _BlockTransitions:
    """Blocks of grips before and after, each with all of each; no grip after is in two. Nothing is kept."""

    count = 0

    def __init__(self, held: Held, blocks: Iterable["_Block"]) -> None:
        self._held = held
        self._blocks = tuple(blocks)

    def best(self, packed: Ints) -> tuple[Ints, Ints]:
        is_open = np.asarray((packed < FORBIDDEN << PRICE_SHIFT).any(axis=0))
        parts = [part for block in self._blocks for part in block.parts(is_open)]
        found = [self._best(packed, part) for part in parts]
        none = packed[:, :0], np.zeros(0, dtype=np.intp)
        return (
            np.concatenate([none[0], *found], axis=1),
            np.concatenate([none[1], *(part.new for part in parts)]),
        )

    def _best(self, packed: Ints, part: "_Block") -> Ints:
        price = _price(self._held, part)
        return np.stack([(row[part.old, None] + price).min(axis=0) for row in packed])


# Which grips go together.


@dataclass(frozen=True, slots=True)
class _Joint:
    """The grips after that let the same voices go, and by number what each grip holds of the others."""

    was: Ints
    grips: Indices
    now: Ints

    def count(self) -> int:
        """Of the pairs that hold the same."""
        ranked = np.sort(self.was)
        return int(
            (np.searchsorted(ranked, self.now, side="right") - np.searchsorted(ranked, self.now)).sum()
        )

    def pairs(self) -> tuple[Indices, Indices]:
        old, new = _equal_pairs(self.was, self.now)
        return old, self.grips[new]

    def blocks(self) -> Iterator["_Block"]:
        for number in np.intersect1d(self.was, self.now):
            yield _Block(np.flatnonzero(self.was == number), self.grips[self.now == number])


def _find_joints(held: Held) -> Iterator[_Joint]:
    voices = [voice for voice, link in enumerate(held.links) if link.is_held]
    let_go = np.zeros(len(held.after), dtype=np.int64)
    for voice in voices:
        if held.links[voice].release_price is not None:
            let_go |= (held.after.touches[voice] == NO_TOUCH).astype(np.int64) << voice
    for silent in np.unique(let_go):
        kept = [voice for voice in voices if not silent >> voice & 1]
        grips = np.flatnonzero(let_go == silent)
        was, now = held.before.touches[kept], held.after.touches[kept][:, grips]
        yield _Joint(_held_number(was), grips, _held_number(now))


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


# What they cost together.


@dataclass(frozen=True, slots=True)
class _Pairs:
    """``old[k]`` goes on to ``new[k]``: values of pairs have the shape (pairs,)."""

    old: Indices
    new: Indices

    def of_table(self, table: Small, columns: Indices) -> Small:
        return np.asarray(table.ravel().take(self.old * table.shape[1] + columns.take(self.new)))

    def of_both(self, was: Flags, now: Flags) -> Flags:
        return was[self.old] & now[self.new]


@dataclass(frozen=True, slots=True)
class _Block:
    """Every ``old`` goes on to every ``new``: values of pairs have the shape (old, new)."""

    old: Indices
    new: Indices

    def parts(self, is_open: Flags) -> Iterator["_Block"]:
        """The block without the grips before that nothing leads into, in parts that are small enough."""
        old = self.old[is_open[self.old]]
        at_once = max(1, MOST_AT_ONCE // max(1, len(old)))
        for start in range(0, len(self.new) if len(old) else 0, at_once):
            yield _Block(old, self.new[start : start + at_once])

    def of_table(self, table: Small, columns: Indices) -> Small:
        return table.take(self.old, axis=0).take(columns.take(self.new), axis=1)

    def of_both(self, was: Flags, now: Flags) -> Flags:
        return was[self.old, None] & now[self.new]


def _price(held: Held, pairs: _Pairs | _Block) -> Ints:
    """Shifted, of all pairs."""
    price = held.added.taken(pairs.of_table).astype(np.int64)
    for link, was, now in zip(held.links, held.before.touches, held.after.touches, strict=True):
        for is_one, is_other, each in _list_charges(link, held.hinges):
            # Mostly there is no such grip at all.
            if is_one[was].any() and is_other[now].any():
                charge = each if isinstance(each, int) else each[pairs.new]
                price += pairs.of_both(is_one[was], is_other[now]) * charge
    return price << PRICE_SHIFT


_SOUNDS: Flags = np.arange(NO_TOUCH + 1) != NO_TOUCH


def _list_charges(link: VoiceLink, hinges: Hinges) -> Iterator[tuple[Flags, Flags, Ints | int]]:
    """What a voice that is held pays, besides, from such a touch to such a touch."""
    if link.is_held:
        # A tip of finger 1 whose note goes on is laid flat.
        yield IS_INDEX_TIP, IS_BARRE, hinges.laid
        # It was flat, and its tip stays.
        yield IS_BARRE, IS_INDEX_TIP, hinges.lifted
    if link.release_price:
        yield _SOUNDS, ~_SOUNDS, link.release_price
