"""A plan with another pickup: what it says of a place in the song stays where it was in the music."""

from collections.abc import Iterator
from dataclasses import replace
from typing import TypeVar

from apoyando.model.beat import count_beat, find_beat
from apoyando.model.locks import WHOLE_PIECE, Lock, NoteLock, Stretch
from apoyando.model.plan import ChordChange, NoteChange, Plan, Section
from apoyando.model.song import Bar, Song, bar_at
from apoyando.model.time import Quarters
from apoyando.reading.songs import read_planned_song

Placed = TypeVar("Placed", ChordChange, NoteChange, NoteLock)


def move_pickup(data: bytes, file_name: str, plan: Plan, pickup: Quarters | None) -> Plan:
    """Another pickup, and the player's notes, chords, locks and sections where their places then are.

    What was said of whole bars holds from beat to beat where the barlines have moved; a section,
    which has whole bars alone, takes those in which most of its own lie. What lay in silence that
    is cut off is no more. Raises as reading does.
    """
    bare = replace(plan, notes=(), chords=())
    places = _Places(
        read_planned_song(data, file_name, bare),
        read_planned_song(data, file_name, replace(bare, pickup=pickup)),
    )
    return replace(
        plan,
        pickup=pickup,
        notes=tuple(map(places.count, plan.notes)),
        chords=tuple(map(places.count, plan.chords)),
        locks=tuple(places.move_locks(plan.locks)),
        sections=tuple(map(places.move_section, plan.sections)),
    )


class _Places:
    """Places of a song counted anew with other barlines. What these leave behind is silence that was cut off."""

    def __init__(self, before: Song, after: Song) -> None:
        self._bars: dict[str, Bar] = {bar.number: bar for bar in reversed(before.bars)}
        self._after = after.bars
        self._shift = before.melody[0].onset - after.melody[0].onset

    def count(self, placed: Placed) -> Placed:
        if placed.bar not in self._bars:
            return placed
        moment = max(find_beat(self._bars[placed.bar], placed.beat) - self._shift, Quarters(0))
        bar = bar_at(self._after, moment)
        return replace(placed, bar=bar.number, beat=count_beat(bar, moment))

    def move_locks(self, locks: tuple[Lock, ...]) -> Iterator[Lock]:
        for lock in locks:
            if isinstance(lock, NoteLock):
                yield self.count(lock)
            elif stretch := self._move_stretch(lock.stretch):
                yield replace(lock, stretch=stretch)

    def _move_stretch(self, stretch: Stretch) -> Stretch | None:
        if stretch == WHOLE_PIECE or not {stretch.bar, stretch.to_bar or stretch.bar} <= self._bars.keys():
            return stretch
        first, last = self._bars[stretch.bar], self._bars[stretch.to_bar or stretch.bar]
        start = first.onset if stretch.beat is None else find_beat(first, stretch.beat)
        end = last.offset if stretch.until_beat is None else find_beat(last, stretch.until_beat)
        start, end = max(start - self._shift, Quarters(0)), min(end - self._shift, self._after[-1].offset)
        if start >= end:
            return None
        first, last = bar_at(self._after, start), self._bar_before(end)
        return Stretch(
            bar=first.number,
            to_bar="" if last is first else last.number,
            beat=None if start == first.onset else count_beat(first, start),
            until_beat=None if end == last.offset else count_beat(last, end),
        )

    def move_section(self, section: Section) -> Section:
        return replace(section, bar=self._find_most(section.bar), to_bar=self._find_most(section.to_bar))

    def _find_most(self, number: str) -> str:
        """The bar in which most of a bar lies, by their numbers."""
        if number not in self._bars:
            return number
        bar = self._bars[number]
        return bar_at(self._after, max((bar.onset + bar.offset) / 2 - self._shift, Quarters(0))).number

    def _bar_before(self, end: Quarters) -> Bar:
        return [bar for bar in self._after if bar.onset < end][-1]
