"""Transitions: every way from the grips of one layer into the grips of the next.

The price of a transition is a sum of tables: what the touches before pay for each touch
after (a finger that must jump, a note let go), what each voice pays for its step, and what
the hand as a whole pays for its shift and its barre. A held note keeps string and finger.
"""

from collections.abc import Sequence
from enum import Enum
from functools import lru_cache, reduce
from typing import Protocol

import numpy as np

from apoyando.fingering.addends import MOST_AT_ONCE, PRICE_SHIFT, Addends, Indices, VoiceLink
from apoyando.fingering.grips import VoiceTouches
from apoyando.fingering.held import Held, held_transitions
from apoyando.fingering.layers import Layer, LayerMaker, Ways, padded
from apoyando.fingering.moves import (
    hand_moves,
    held_prices,
    hurry,
    is_hurried,
    is_too_short_to_shift,
    shift_prices,
)
from apoyando.fingering.problem import Succession, Table
from apoyando.fingering.touches import Floats, Ints, Small, in_other_positions, numbered, ring_over
from apoyando.model.instrument import LAST_FRET

_POSITIONS = LAST_FRET + 2

_CHORD_VOICES = 3

_KEPT_PAIRS = 1_500_000
"""Transitions with so many pairs in all are kept for slices to come: some 20 megabytes. Chords of
four notes have so many grips that a fixed number of transitions could fill the memory."""

_KEPT_TABLES = 4096
"""So many small tables of each kind are kept, of a few kilobytes at most."""


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


class _FreeTransitions:
    """Nothing is held: every grip leads into every other.

    Most grips before are on no cheapest way; so the prices are made, and kept, for those that may be.
    """

    def __init__(self, price: Addends, before: int, after: int) -> None:
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
        at_once = max(1, MOST_AT_ONCE // len(self._after))
        if len(worth_it) <= at_once:
            return np.asarray((packed[worth_it, None] + self._price(worth_it)).min(axis=0))
        parts = (worth_it[start : start + at_once] for start in range(0, len(worth_it), at_once))
        ways = ((packed[rows, None] + self._make(rows)).min(axis=0) for rows in parts)
        return np.asarray(reduce(np.minimum, ways))

    def _price(self, rows: Indices) -> Ints:
        """Shifted, and kept as far as there is room: shape (rows, grips after)."""
        new = rows[self._where[rows] < 0]
        if len(new):
            if (len(self._made) + len(new)) * len(self._after) > MOST_AT_ONCE:
                return self._make(rows)
            self._where[new] = len(self._made) + np.arange(len(new))
            self._made = np.concatenate([self._made, self._make(new)])
        return self._made.take(self._where[rows], axis=0)

    def _make(self, rows: Indices) -> Ints:
        price = self._sum.taken(lambda table, columns: table.take(rows, axis=0).take(columns, axis=1))
        return np.asarray(price.astype(np.int64) << PRICE_SHIFT)


class TransitionMaker:
    """Makes transitions, and keeps them for the next time the same two ways to sound meet."""

    def __init__(self, maker: LayerMaker) -> None:
        self._maker = maker
        self._kept: dict[tuple[object, ...], Transitions] = {}
        self._pairs = 0
        self._in_turn = lru_cache(_KEPT_TABLES)(self._make_in_turn)
        self._haste = lru_cache(_KEPT_TABLES)(self._make_haste)
        self._step_prices = lru_cache(_KEPT_TABLES)(self._make_step_prices)
        self._shift_prices = lru_cache(_KEPT_TABLES)(self._make_shift_prices)
        self._positions_of_ways = lru_cache(_KEPT_TABLES)(self._find_positions_of_ways)
        self._paid_while_held = lru_cache(_KEPT_TABLES)(self._make_paid_while_held)

    def between(self, before: Layer, after: Layer) -> Transitions:
        is_short = is_too_short_to_shift(before.slice.quarters, before.slice.seconds, self._maker.level)
        links = tuple(
            VoiceLink(
                old.sings,
                now.sings,
                now.is_struck,
                now.is_held,
                now.release_price if now.is_held else None,
                now.steps,
                is_short and old.is_struck and not now.is_held,
            )
            for old, now in zip(before.slice.voices, after.slice.voices, strict=True)
        )
        key = before.ways, after.ways, before.slice.seconds, links, after.slice.successions
        made = self._kept.get(key)
        if made is None:
            made = self._make(*key)
            self._keep(key, made)
        return made

    def _keep(self, key: tuple[object, ...], made: Transitions) -> None:
        """The first that was made is the first to go."""
        self._kept[key] = made
        self._pairs += made.count
        while self._pairs > _KEPT_PAIRS and len(self._kept) > 1:
            oldest = next(iter(self._kept))
            self._pairs -= self._kept.pop(oldest).count

    def _make(
        self,
        before: Ways,
        after: Ways,
        seconds: float,
        links: tuple[VoiceLink, ...],
        successions: tuple[Succession, ...],
    ) -> Transitions:
        hand = hand_moves(before.hands, after.hands, self._shift_prices(seconds))
        tables = [(hand.take(before.hand, axis=0), after.hand)]
        jumps, haste = [], []
        is_alone = sum(link.is_struck for link in links) == 1
        lifts = _lifts_as_a_whole(links, seconds)
        for voice, link in enumerate(links):
            rows = after.grips.rows[voice]
            own = self._own_steps(before, after, voice, link)
            own += self._steps_from_others(before, after, voice, successions)
            if link.is_struck:
                moves = self._finger_moves(before, after, voice, links, seconds, lifts=lifts)
                jumped = [np.maximum(each, 0) for each in moves]
                hasty = self._hasty_shifts(before, after, voice, links)
                tables += [
                    self._led(np.minimum(each, 0), before, after, voice) for each in moves if each.min() < 0
                ]
                if is_alone:  # the widest gap is its own
                    own += [*jumped, *hasty]
                else:
                    jumps += [(each, rows) for each in jumped]
                    haste += [(each, rows) for each in hasty]
            if own:
                tables.append((reduce(np.add, own), rows))
            if link.is_held:
                tables += self._held_prices(before, after, voice, link)
        price = Addends(tables, jumps, haste)
        if any(link.is_held for link in links):
            return held_transitions(Held(before, after, links, price))
        return _FreeTransitions(price, len(before), len(after))

    def _own_steps(self, before: Ways, after: Ways, voice: int, link: VoiceLink) -> list[Small]:
        """What each grip before pays for the step of a voice to each way to sound it after."""
        rings = link.is_struck and link.was_singing
        if not (link.steps or rings):
            return []
        prices = self._step_prices(before.voices[voice], after.voices[voice], link.steps, rings=rings)
        return [table.take(before.grips.rows[voice], axis=0) for table in prices]

    def _steps_from_others(
        self, before: Ways, after: Ways, voice: int, successions: tuple[Succession, ...]
    ) -> list[Small]:
        """What each grip before pays for the step of other voices to each way to sound it after."""
        return [
            table.take(before.grips.rows[each.one], axis=0)
            for each in successions
            if each.other == voice
            for table in self._step_prices(
                before.voices[each.one], after.voices[voice], each.prices, rings=False
            )
        ]

    def _finger_moves(
        self,
        before: Ways,
        after: Ways,
        voice: int,
        links: tuple[VoiceLink, ...],
        seconds: float,
        *,
        lifts: "_Lifts",
    ) -> list[Small]:
        """What each grip before pays for each way to strike a voice after: a finger jumps, slides or is exchanged."""
        struck, share, sings = after.voices[voice], hurry(seconds), links[voice].sings
        moves = [
            table.take(rows, axis=0)
            for link, old, rows in zip(links, before.voices, before.grips.rows, strict=True)
            for table in self._in_turn(
                old,
                struck,
                share,
                sings=link.was_singing,
                lifts=lifts.between(was_singing=link.was_singing, sings=sings),
            )
        ]
        return [reduce(_joined, moves)] if moves else []

    def _hasty_shifts(
        self, before: Ways, after: Ways, voice: int, links: tuple[VoiceLink, ...]
    ) -> list[Small]:
        """What each grip before pays for each way to strike a voice after, if the hand must hurry there."""
        hurried = [
            table.take(rows, axis=0)
            for link, old, rows in zip(links, before.voices, before.grips.rows, strict=True)
            if link.is_hasty
            for table in self._haste(old, after.voices[voice])
        ]
        return [reduce(np.maximum, hurried)] if hurried else []

    def _held_prices(
        self, before: Ways, after: Ways, voice: int, link: VoiceLink
    ) -> list[tuple[Small, Indices]]:
        """What each grip before pays for a held voice that goes on by another touch, or is let go."""
        paid = self._paid_while_held(link.release_price or 0)
        table, columns = paid.take(before.kinds[voice], axis=0), after.kinds_in[voice]
        return [(table, columns)] if np.any(table, axis=0)[columns].any() else []

    def _led(self, slides: Small, before: Ways, after: Ways, voice: int) -> tuple[Small, Indices]:
        """A finger that slides leads the hand only where its position changes: columns by way and position after."""
        position, row, columns = self._positions_of_ways(after, voice)
        return slides.take(row, axis=1) * (before.grips.position[:, None] != position), columns

    # Tables of which a song has few; an empty list where all is nothing.

    def _make_shift_prices(self, seconds: float) -> Small:
        return shift_prices(seconds, self._maker.level, self._maker.prices)

    def _make_paid_while_held(self, release_price: int) -> Small:
        return held_prices(release_price, self._maker.level, self._maker.prices)

    def _make_in_turn(
        self, old: VoiceTouches, struck: VoiceTouches, share: float, *, sings: bool, lifts: bool
    ) -> list[Small]:
        prices = self._maker.in_turn(sings=sings, lifts=lifts)[old.touch[:, None], struck.touch]
        return _unless_nothing(np.rint(prices * share))

    def _make_haste(self, old: VoiceTouches, struck: VoiceTouches) -> list[Small]:
        return _unless_nothing(in_other_positions(old.touch, struck.touch) * self._maker.prices.shift_hasty)

    def _find_positions_of_ways(self, after: Ways, voice: int) -> tuple[Ints, Ints, Indices]:
        """The different pairs of a position and a way to sound a voice in it, and of each grip which it has."""
        ways = len(after.voices[voice].touch)
        pairs, columns = numbered(after.grips.position * ways + after.grips.rows[voice], _POSITIONS * ways)
        return *np.divmod(pairs, ways), columns

    def _make_step_prices(
        self, old: VoiceTouches, struck: VoiceTouches, steps: Table, *, rings: bool
    ) -> list[Small]:
        """``rings``: the tune goes on, and rings on under it where it can."""
        prices = np.zeros((len(old.touch), len(struck.touch)), dtype=np.int64)
        if steps:
            prices += padded(steps)[old.candidate[:, None], struck.candidate]
        if rings and self._maker.prices.campanella:
            prices += ring_over(old.touch, struck.touch, self._maker.sounds) * self._maker.prices.campanella
        return _unless_nothing(prices)


class _Lifts(Enum):
    """Where the hand lifts as from chord to chord when a finger leaves the note of one voice for that of another."""

    NEVER = 0
    OFF_THE_TUNE = 1
    ALWAYS = 2

    def between(self, *, was_singing: bool, sings: bool) -> bool:
        return self is _Lifts.ALWAYS or (self is _Lifts.OFF_THE_TUNE and not (was_singing or sings))


def _lifts_as_a_whole(links: Sequence[VoiceLink], seconds: float) -> _Lifts:
    """It lifts where nothing goes on, and there is time; and a chord is struck, or the tune has neither note."""
    if is_hurried(seconds) or any(link.is_held for link in links):
        return _Lifts.NEVER
    is_chord = sum(link.is_struck for link in links) >= _CHORD_VOICES
    return _Lifts.ALWAYS if is_chord else _Lifts.OFF_THE_TUNE


def _joined(one: Small, other: Small) -> Small:
    """To one note a finger may jump, and there be exchanged for another: one gap. Where it slides nothing else was."""
    return np.where((one > 0) & (other > 0), np.maximum(one, other), one + other)


def _unless_nothing(prices: Ints | Floats) -> list[Small]:
    return [prices.astype(np.int32)] if prices.any() else []
