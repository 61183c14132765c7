"""Cells: the melody cut where a note begins on a beat or opens a phrase.

Conventions: the beat is the felt pulse, but no longer than a quarter in simple meters, so
that cut time is counted in quarters too. Cells tile each phrase from its start to its end.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from apoyando.model.phrase import split_phrases
from apoyando.model.song import MelodyNote, Meter, Song
from apoyando.model.time import Quarters, Span

_QUARTER = Fraction(1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """The notes of a stretch of time; the rests between them are shorter than an eighth.

    ``first`` is the index of the first one in the melody. ``slots`` are the points of the grid
    at which a note may begin, in order: the cell's own start, wherever it is, and those inside.
    ``beats`` are the beats inside, without the start. ``is_closed``: it ends on the grid.
    """

    first: int
    notes: tuple[MelodyNote, ...]
    span: Span
    slots: tuple[Quarters, ...]
    beats: tuple[Quarters, ...]
    is_closed: bool

    def is_syncopated(self, onset: Quarters, offset: Quarters) -> bool:
        """Whether a note would begin off the beat and last over one. The first note cannot be moved."""
        if onset == self.slots[0] or onset in self.beats:
            return False
        return any(onset < beat < offset for beat in self.beats)


def cut_cells(song: Song, shortest: Quarters) -> list[Cell]:
    """The cells of a song's melody, on a grid of ``shortest``."""
    cells: list[Cell] = []
    first = 0
    for phrase in split_phrases(song.melody):
        groups = _cut_phrase(song, phrase)
        ends = [*(notes[0].onset for notes in groups[1:]), phrase[-1].offset]
        for notes, end in zip(groups, ends, strict=True):
            cells.append(_make_cell(song, first, notes, Span(notes[0].onset, end), shortest))
            first += len(notes)
    return cells


def is_on_pulse(song: Song, moment: Quarters) -> bool:
    return _is_on(song, moment, lambda meter: meter.pulse)


def _cut_phrase(song: Song, phrase: list[MelodyNote]) -> list[list[MelodyNote]]:
    groups: list[list[MelodyNote]] = []
    for note in phrase:
        if not groups or _is_on(song, note.onset, _beat):
            groups.append([])
        groups[-1].append(note)
    return groups


def _make_cell(song: Song, first: int, notes: list[MelodyNote], span: Span, shortest: Quarters) -> Cell:
    def step(meter: Meter) -> Quarters:
        return _grid_step(meter, shortest)

    return Cell(
        first=first,
        notes=tuple(notes),
        span=span,
        slots=(span.onset, *_points_inside(song, span, step)),
        beats=tuple(_points_inside(song, span, _beat)),
        is_closed=_is_on(song, span.offset, step),
    )


def _beat(meter: Meter) -> Quarters:
    return meter.pulse if meter.is_compound else min(meter.pulse, _QUARTER)


def _grid_step(meter: Meter, shortest: Quarters) -> Quarters:
    """``shortest`` where it divides the beat, else the beat, or as many beats as make it."""
    beat = _beat(meter)
    return shortest if beat % shortest == 0 else beat * max(ceil(shortest / beat), 1)


def _is_on(song: Song, moment: Quarters, step: Callable[[Meter], Quarters]) -> bool:
    """Whether a moment is a whole number of steps into its bar; the end of the song always is."""
    bar = song.bar_at(moment)
    return moment == bar.offset or (moment - bar.onset + bar.meter_phase) % step(bar.meter) == 0


def _points_inside(song: Song, span: Span, step: Callable[[Meter], Quarters]) -> Iterator[Quarters]:
    for bar in song.bars[song.bar_at(span.onset).index :]:
        if bar.onset >= span.offset:
            return
        length, origin = step(bar.meter), bar.onset - bar.meter_phase
        point = origin + length * ceil((max(bar.onset, span.onset) - origin) / length)
        while point < min(bar.offset, span.offset):
            if point > span.onset:
                yield point
            point += length
