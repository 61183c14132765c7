"""Layers: the slices of a problem with every grip in which each can be sounded."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from apoyando.fingering.grips import GripSet, VoiceTouches, enumerate_grips, restricted, voice_touches
from apoyando.fingering.moves import worst_shift_losses
from apoyando.fingering.problem import UNRESTRICTED, NoWayError, Slice, Table, VoiceSlice
from apoyando.fingering.touches import FRET, NO_TOUCH, STRING, HandTables, Ints, hand_tables
from apoyando.model.instrument import Tuning
from apoyando.model.level import Level
from apoyando.model.prices import Prices


@dataclass(frozen=True, slots=True)
class Layer:
    """One slice, ready to be walked through.

    The columns have one entry for each grip: ``price`` of sounding the slice so, ``fills``
    the wants that it meets; ``touches`` and ``candidates`` have a row for each voice.
    """

    slice: Slice
    voices: tuple[VoiceTouches, ...]
    grips: GripSet
    price: Ints
    fills: Ints
    touches: Ints

    def candidates(self, voice: int) -> Ints:
        return np.asarray(self.voices[voice].candidate[self.grips.rows[voice]])


class LayerMaker:
    """Makes layers, and keeps what slices that look alike have in common."""

    def __init__(self, tuning: Tuning, level: Level, prices: Prices, hand_size: float) -> None:
        self.tables: HandTables = hand_tables(level, prices, hand_size)
        self.level = level
        self.prices = prices
        self._worst_in_turn = self.tables.in_turn.max(axis=1)
        self._worst_melody_in_turn = self.tables.melody_in_turn.max(axis=1)
        self._tuning = tuning
        self._shift_losses: dict[float, Ints] = {}
        self._touches: dict[tuple[object, ...], VoiceTouches] = {}
        self._grips: dict[tuple[object, ...], GripSet] = {}

    def make(self, slice_: Slice) -> Layer:
        """Raises NoWayError if a voice that must sound has no place on the fingerboard."""
        voices = tuple(self._voice_touches(voice) for voice in slice_.voices)
        grips = self._grip_set(slice_, voices)
        if not len(grips):
            raise NoWayError(f"no place on the fingerboard for {slice_.voices}")
        barre = round(self.prices.barre_kept_per_quarter * slice_.quarters)
        price = grips.price + (grips.barre_fret > 0) * barre
        fills = np.zeros(len(grips), dtype=np.int64)
        for voice, ways, rows in zip(slice_.voices, voices, grips.rows, strict=True):
            price = price + _candidate_prices(voice, ways)[rows]
            fills |= _fills(voice, ways)[rows]
        return Layer(slice_, voices, grips, np.asarray(price), fills, stacked_touches(voices, grips))

    def in_turn(self, voice: VoiceSlice) -> Ints:
        """What a voice's touch pays if its finger is needed elsewhere at once."""
        return np.asarray(self.tables.melody_in_turn if voice.sings else self.tables.in_turn)

    def worst_in_turn(self, voice: VoiceSlice) -> Ints:
        """The most that each touch of a voice can pay so."""
        return np.asarray(self._worst_melody_in_turn if voice.sings else self._worst_in_turn)

    def worst_shift_losses(self, seconds: float) -> Ints:
        """See ``moves.worst_shift_losses``; kept for each length of slice."""
        if seconds not in self._shift_losses:
            self._shift_losses[seconds] = worst_shift_losses(seconds, self.level, self.prices)
        return self._shift_losses[seconds]

    def _voice_touches(self, voice: VoiceSlice) -> VoiceTouches:
        ways = tuple((c.note, c.highest_fret, c.strings, c.fingers) for c in voice.candidates)
        key = (ways, voice.may_be_silent)
        if key not in self._touches:
            self._touches[key] = voice_touches(
                voice.candidates,
                self._tuning,
                self.level.flat_fingers,
                may_be_silent=voice.may_be_silent,
            )
        return self._touches[key]

    def _grip_set(self, slice_: Slice, voices: tuple[VoiceTouches, ...]) -> GripSet:
        key = (*(id(voice) for voice in voices), slice_.interplay, slice_.restriction)
        if key not in self._grips:
            interplay = {(i.one, i.other): padded(i.prices) for i in slice_.interplay}
            grips = enumerate_grips(voices, interplay, self.tables)
            if slice_.restriction != UNRESTRICTED:
                grips = restricted(grips, stacked_touches(voices, grips), slice_.restriction)
            self._grips[key] = grips
        return self._grips[key]


def stacked_touches(voices: Sequence[VoiceTouches], grips: GripSet) -> Ints:
    """The touch of each voice in each grip: shape (voices, grips)."""
    return np.stack([voice.touch[row] for voice, row in zip(voices, grips.rows, strict=True)])


def padded(table: Table) -> Ints:
    """With a last row and column of zeros, which index NONE_CHOSEN finds."""
    return np.pad(np.array(table, dtype=np.int64), ((0, 1), (0, 1)))


def _candidate_prices(voice: VoiceSlice, touches: VoiceTouches) -> Ints:
    """Paid when the voice is struck; a held note has been paid for."""
    if not voice.is_struck:
        return np.zeros(len(touches.candidate), dtype=np.int64)
    by_candidate = np.array([*(c.price for c in voice.candidates), voice.none_price or 0], dtype=np.int64)
    price = by_candidate[touches.candidate]
    sounds = touches.touch != NO_TOUCH
    if voice.string_prices:
        price = price + sounds * np.array(voice.string_prices)[STRING[touches.touch] - 1]
    if voice.fret_prices:
        price = price + sounds * np.array(voice.fret_prices)[FRET[touches.touch]]
    return np.asarray(price)


def _fills(voice: VoiceSlice, touches: VoiceTouches) -> Ints:
    by_candidate = np.array([*(c.fills for c in voice.candidates), 0], dtype=np.int64)
    return np.asarray(by_candidate[touches.candidate])
