"""Layers: the slices of a problem with every grip in which each can be sounded.

What slices that look alike have in common is made once and shared: songs come back to the
same chords under the same notes again and again.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from apoyando.fingering.grips import (
    GripSet,
    VoiceTouches,
    candidate_touches,
    enumerate_grips,
    restricted,
    voice_touches,
)
from apoyando.fingering.hand_tables import HandTables, hand_tables
from apoyando.fingering.moves import Hands, barres_kept, find_hands, touch_kinds, touch_kinds_in
from apoyando.fingering.problem import (
    UNRESTRICTED,
    Candidate,
    Interplay,
    NoWayError,
    Restriction,
    Slice,
    Table,
    VoiceSlice,
)
from apoyando.fingering.touches import FRET, NO_TOUCH, PLACE, STRING, Ints, numbered
from apoyando.model.instrument import Tuning
from apoyando.model.level import Level
from apoyando.model.prices import Prices

_KEPT = 1024
"""So many of each kind are kept for slices to come: more than a song has that look different."""


@dataclass(frozen=True, slots=True, eq=False)
class Ways:
    """Every way to sound a slice; the same object for all slices that look alike.

    ``places`` has shape (voices, grips): finger and place of each touch.
    ``kinds`` likewise, and ``kinds_in``: the rows and columns of the touches in ``held_prices``.
    ``hand`` tells for each grip which of the ``hands`` is its own.
    """

    voices: tuple[VoiceTouches, ...]
    grips: GripSet
    places: npt.NDArray[np.int16]
    kinds: Ints
    kinds_in: Ints
    hands: Hands
    hand: Ints

    def __len__(self) -> int:
        return len(self.grips)

    def candidates(self, voice: int) -> Ints:
        return np.asarray(self.voices[voice].candidate.take(self.grips.rows[voice]))


@dataclass(frozen=True, slots=True, eq=False)
class Layer:
    """One slice, ready to be walked through.

    ``price`` has an entry for each grip: that of sounding the slice so. So has ``fill_kind``: which
    of the sets of wants in ``fill_kinds`` it meets.
    """

    slice: Slice
    ways: Ways
    price: Ints
    fill_kinds: Ints
    fill_kind: Ints


class LayerMaker:
    """Makes layers, and keeps what slices that look alike have in common."""

    def __init__(self, tuning: Tuning, level: Level, prices: Prices, hand_size: float) -> None:
        self.tables: HandTables = hand_tables(level, prices, hand_size)
        self.level = level
        self.prices = prices
        self._tuning = tuning
        self.sounds: Ints = np.array([0, *tuning.open_strings])[STRING] + FRET
        """The MIDI note of every touch; of NO_TOUCH nothing."""
        self.make = lru_cache(_KEPT)(self._make)
        self._voice_touches = lru_cache(_KEPT)(self._find_voice_touches)
        self._candidate_touches = lru_cache(_KEPT)(self._find_candidate_touches)
        self._touches_of_all = lru_cache(_KEPT)(voice_touches)
        self._ways = lru_cache(_KEPT)(self._make_ways)
        self._candidate_prices = lru_cache(_KEPT)(_candidate_prices)
        self._fills = lru_cache(_KEPT)(_fills)

    def _make(self, slice_: Slice) -> Layer:
        """Raises NoWayError if a voice that must sound has no place on the fingerboard."""
        voices = tuple(
            self._voice_touches(voice.candidates, may_be_silent=voice.may_be_silent)
            for voice in slice_.voices
        )
        ways = self._ways(voices, slice_.interplay, slice_.restriction)
        if not len(ways):
            raise NoWayError(f"no place on the fingerboard for {slice_.voices}")
        price = ways.grips.price + barres_kept(ways.grips, slice_.quarters, self.prices)
        for voice, touches, rows in zip(slice_.voices, voices, ways.grips.rows, strict=True):
            if voice.is_struck:
                price += self._candidate_prices(voice, touches).take(rows)
        kinds, kind = self._fills(tuple(voice.candidates for voice in slice_.voices), ways)
        return Layer(slice_, ways, price, kinds, kind)

    def in_turn(self, *, sings: bool, lifts: bool) -> Ints:
        """What a touch pays if its finger is needed elsewhere the moment its note ends.

        ``sings``: the note is the tune's. ``lifts``: the hand lifts as a whole as from chord to chord.
        """
        if lifts:
            return self.tables.melody_lifted_in_turn if sings else self.tables.lifted_in_turn
        return self.tables.melody_in_turn if sings else self.tables.in_turn

    def _find_voice_touches(self, candidates: tuple[Candidate, ...], *, may_be_silent: bool) -> VoiceTouches:
        """What candidates cost has no say in how they are touched."""
        touches = tuple(self._candidate_touches(candidate) for candidate in candidates)
        return self._touches_of_all(touches, may_be_silent=may_be_silent)

    def _find_candidate_touches(self, candidate: Candidate) -> tuple[int, ...]:
        return candidate_touches(candidate, self._tuning, self.tables.flat_fingers)

    def _make_ways(
        self,
        voices: tuple[VoiceTouches, ...],
        interplay: tuple[Interplay, ...],
        restriction: Restriction,
    ) -> Ways:
        prices = {(i.one, i.other): padded(i.prices) for i in interplay}
        grips = enumerate_grips(voices, prices, self.tables)
        if restriction != UNRESTRICTED:
            grips = restricted(grips, restriction)
        hands, hand = find_hands(grips, self.prices)
        kinds = touch_kinds(grips.touches)
        return Ways(
            voices, grips, PLACE.take(grips.touches), kinds, touch_kinds_in(kinds, grips), hands, hand
        )


def padded(table: Table) -> Ints:
    """With a last row and column of zeros, which index NONE_CHOSEN finds."""
    within = np.array(table, dtype=np.int64)
    whole = np.zeros((within.shape[0] + 1, within.shape[1] + 1), dtype=np.int64)
    whole[:-1, :-1] = within
    return whole


def _candidate_prices(voice: VoiceSlice, touches: VoiceTouches) -> Ints:
    """Paid when the voice is struck; a held note has been paid for."""
    by_candidate = np.array([*(c.price for c in voice.candidates), voice.none_price or 0], dtype=np.int64)
    price = by_candidate[touches.candidate]
    sounds = touches.touch != NO_TOUCH
    if voice.string_prices:
        price = price + sounds * np.array(voice.string_prices)[STRING[touches.touch] - 1]
    if voice.fret_prices:
        price = price + sounds * np.array(voice.fret_prices)[FRET[touches.touch]]
    return np.asarray(price)


def _fills(candidates: tuple[tuple[Candidate, ...], ...], ways: Ways) -> tuple[Ints, Ints]:
    """The sets of wants that the grips meet, and for each grip which."""
    fills = np.zeros(len(ways), dtype=np.int64)
    for voice, of_voice in enumerate(candidates):
        if any(candidate.fills for candidate in of_voice):
            by_candidate = np.array([*(c.fills for c in of_voice), 0], dtype=np.int64)
            fills |= by_candidate[ways.candidates(voice)]
    return numbered(fills, int(fills.max()) + 1)
