"""Transitions under which something is held: a grip leads into those that keep it, or let it go.

Where the pairs are few they are listed once. Where they are very many (a held bass under a rich chord that is
struck again and again) they are gone through block by block, a block being all grips that hold the same.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from apoyando.fingering.addends import MOST_AT_ONCE, PRICE_SHIFT, Addends, Indices, VoiceLink
from apoyando.fingering.layers import Ways
from apoyando.fingering.problem import FORBIDDEN
from apoyando.fingering.touches import NO_TOUCH, PLACE, PLACE_BITS, Flags, Ints, Small

MOST_LISTED = 1_000_000
"""So many pairs are listed, with 16 bytes each; blocks take a quarter of the time where there are more."""
_MOST_COMPARED = 16_000_000
"""So many grips before are compared with grips after, with a byte each."""
_SILENCE = PLACE[NO_TOUCH]

Places = npt.NDArray[np.int16]
"""Finger and place of touches (``PLACE``)."""


@dataclass(frozen=True, slots=True)
class Held:
    """The grips before and after, and all that a transition costs between them."""

    before: Ways
    after: Ways
    links: tuple[VoiceLink, ...]
    added: Addends


def held_transitions(held: Held) -> "_ListedTransitions | _BlockTransitions":
    if len(held.before) * len(held.after) > _MOST_COMPARED:
        return _BlockTransitions(held, list(_find_blocks(held)))
    pairs = _Pairs.where(_goes_on(held))
    if len(pairs.new) > MOST_LISTED:
        return _BlockTransitions(held, list(_find_blocks(held)))
    starts = _first_of_each(pairs.new)
    return _ListedTransitions(pairs.old, _price(held, pairs), starts, pairs.new.take(starts))


def _first_of_each(numbers: Indices) -> Indices:
    """Where each of some numbers that stand in order comes first."""
    is_first = np.ones(len(numbers), dtype=np.bool_)
    np.not_equal(numbers[1:], numbers[:-1], out=is_first[1:])
    return is_first.nonzero()[0]


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


def _goes_on(held: Held) -> Flags:
    """Which grips after (rows) keep what is held of which grips before, or let it go where they may."""
    goes_on, *others = (
        _keeps(was, now, may_let_go=link.release_price is not None)
        for link, was, now in zip(held.links, held.before.places, held.after.places, strict=True)
        if link.is_held
    )
    for keeps in others:
        goes_on &= keeps
    return goes_on


def _keeps(was: Places, now: Places, *, may_let_go: bool) -> Flags:
    keeps = now[:, None] == was
    return np.asarray(keeps | (now == _SILENCE)[:, None] if may_let_go else keeps)


def _find_blocks(held: Held) -> Iterator["_Block"]:
    """The same for very many grips: those after that let the same voices go, by what they hold of the others."""
    voices = [voice for voice, link in enumerate(held.links) if link.is_held]
    let_go = np.zeros(len(held.after), dtype=np.int64)
    for voice in voices:
        if held.links[voice].release_price is not None:
            let_go |= (held.after.places[voice] == _SILENCE).astype(np.int64) << voice
    for silent in np.unique(let_go):
        kept = [voice for voice in voices if not silent >> voice & 1]
        grips = np.flatnonzero(let_go == silent)
        was, now = _held_number(held.before.places[kept]), _held_number(held.after.places[kept][:, grips])
        for number in np.intersect1d(was, now):
            yield _Block(np.flatnonzero(was == number), grips[now == number])


def _held_number(places: Places) -> Ints:
    """One number for the places and fingers of some held notes: of shape (held, N)."""
    number = np.zeros(places.shape[1], dtype=np.int64)
    for place in places:
        number = number << PLACE_BITS | place
    return number


# What they cost together.


@dataclass(frozen=True, slots=True)
class _Pairs:
    """``old[k]`` goes on to ``new[k]``: values of pairs have the shape (pairs,)."""

    old: Indices
    new: Indices

    @classmethod
    def where(cls, goes_on: Flags) -> "_Pairs":
        """All pairs for which a flag stands, by grip after (rows), then by grip before."""
        which = goes_on.ravel().nonzero()[0]
        new = which // goes_on.shape[1]
        return cls(which - new * goes_on.shape[1], new)

    def of_table(self, table: Small, columns: Indices) -> Small:
        return np.asarray(table.ravel().take(self.old * table.shape[1] + columns.take(self.new)))


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


def _price(held: Held, pairs: _Pairs | _Block) -> Ints:
    """Shifted, of all pairs."""
    return held.added.taken(pairs.of_table).astype(np.int64) << PRICE_SHIFT
