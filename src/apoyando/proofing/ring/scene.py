"""An arrangement cut into stretches, and the limits where no ring goes on whatever the hand can do.

A stretch is the time between two neighbouring edges of notes and barres; all through it the hand does one
thing.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Protocol, TypeVar

from apoyando.model.arrangement import Arrangement, Barre, Note
from apoyando.model.form import play_order
from apoyando.model.harmony import Chord, HarmonySpan
from apoyando.model.level import Level
from apoyando.model.ring import Ending
from apoyando.model.song import Bar
from apoyando.model.time import Quarters, Span

Limit = tuple[Quarters, Ending]
"""Where no ring goes on, whatever the hand can do."""
HAND_ORDER = tuple(Ending)


@dataclass(frozen=True, slots=True)
class Stretch:
    span: Span
    notes: tuple[Note, ...]
    barres: tuple[Barre, ...]


@dataclass(frozen=True, slots=True)
class Scene:
    """An arrangement cut into stretches up to its end. ``index_at`` finds the one that begins at an edge."""

    arrangement: Arrangement
    level: Level
    hand_size: float
    stretches: tuple[Stretch, ...]
    index_at: Mapping[Quarters, int]
    limits: tuple[Limit, ...]

    def during(self, onset: Quarters, offset: Quarters) -> Iterator[Stretch]:
        """The stretches from an edge on that begin before ``offset``."""
        for index in range(self.index_at[onset], len(self.stretches)):
            if self.stretches[index].span.onset >= offset:
                return
            yield self.stretches[index]


class _HasSpan(Protocol):
    @property
    def span(self) -> Span: ...


_Item = TypeVar("_Item", bound=_HasSpan)


def lay_scene(arrangement: Arrangement, level: Level, hand_size: float) -> Scene:
    limits = _find_limits(arrangement)
    spans = [*(note.span for note in arrangement.notes), *(barre.span for barre in arrangement.barres)]
    edges = sorted({limits[-1][0], *(edge for span in spans for edge in (span.onset, span.offset))})
    index_at = {edge: index for index, edge in enumerate(edges)}
    rows = zip(
        pairwise(edges),
        _spread(arrangement.notes, index_at),
        _spread(arrangement.barres, index_at),
        strict=True,
    )
    stretches = tuple(Stretch(Span(*ends), tuple(notes), tuple(barres)) for ends, notes, barres in rows)
    return Scene(arrangement, level, hand_size, stretches, index_at, limits)


def _spread(items: Iterable[_Item], index_at: Mapping[Quarters, int]) -> list[list[_Item]]:
    """For each stretch the items that last all through it."""
    rows: list[list[_Item]] = [[] for _ in range(len(index_at) - 1)]
    for item in items:
        for index in range(index_at[item.span.onset], index_at[item.span.offset]):
            rows[index].append(item)
    return rows


def _find_limits(arrangement: Arrangement) -> tuple[Limit, ...]:
    """Changes of harmony, turns of the form and the end, in order; of several at once the weightiest."""
    end = max((bar.offset for bar in arrangement.bars[-1:]), default=Fraction(0))
    last = max((note.offset for note in arrangement.notes), default=end)
    limits = [
        *((change, Ending.HARMONY_CHANGES) for change in _changes(arrangement.harmony)),
        *((turn, Ending.FORM_TURNS) for turn in _turns(arrangement.bars)),
        (max(end, last), Ending.PIECE_ENDS),
    ]
    return tuple(sorted(limits, key=lambda limit: (limit[0], HAND_ORDER.index(limit[1]))))


def _changes(harmony: Sequence[HarmonySpan]) -> list[Quarters]:
    """Where another chord begins; a chord that is written again goes on."""
    return [
        now.onset
        for before, now in pairwise([None, *harmony])
        if now and not (before and _is_same(before.chord, now.chord))
    ]


def _is_same(one: Chord | None, other: Chord | None) -> bool:
    return one is other if one is None or other is None else one.is_same_as(other)


def _turns(bars: Sequence[Bar]) -> list[Quarters]:
    """The ends of bars after which the player goes somewhere else, at one pass at least."""
    return [bars[this].offset for this, following in pairwise(play_order(bars)) if following != this + 1]


def covers(barre: Barre, note: Note) -> bool:
    is_there = note.place.fret == barre.fret and note.place.string in barre.strings
    return is_there and note.finger is barre.finger
