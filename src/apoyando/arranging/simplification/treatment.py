"""The treatments: what in a melody is made simpler, and the list of what was changed."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from apoyando.arranging.simplification.carriers import find_fixed, price_drops
from apoyando.arranging.simplification.cells import Cell, cut_cells
from apoyando.arranging.simplification.setting import CellSetting, Kept
from apoyando.arranging.simplification.syllables import join_lyrics
from apoyando.model.arrangement import MelodyChange
from apoyando.model.level import Level
from apoyando.model.note_values import name_line
from apoyando.model.phrase import is_ornament
from apoyando.model.pitch import Interval
from apoyando.model.plan import Melody, Plan, Treatment
from apoyando.model.prices import Prices
from apoyando.model.song import MelodyNote, Song
from apoyando.model.time import Quarters, Span

_EIGHTH = Fraction(1, 2)
"""What is simpler on request holds nothing shorter, whatever the level (common practice, no source)."""

_DROPPING = (Treatment.ORNAMENTS, Treatment.TRIPLETS, Treatment.RUNS)
"""The treatments that leave notes out; the others keep all and only move them."""

_REASONS = {
    Treatment.ORNAMENTS: "the ornament is left out",
    Treatment.TRIPLETS: "the triplet is evened out",
    Treatment.RUNS: "the run is thinned to the notes that carry the line",
    Treatment.DOTTED: "the uneven rhythm is evened out",
    Treatment.SYNCOPATIONS: "the syncopation is straightened",
}


@dataclass(frozen=True, slots=True)
class Simplification:
    """One change: the notes that were in a stretch of time, and those that now fill it."""

    span: Span
    old: tuple[MelodyNote, ...]
    new: tuple[MelodyNote, ...]
    treatment: Treatment


@dataclass(frozen=True, slots=True)
class SimplifiedMelody:
    """The song with its simpler melody. ``sources`` are the indices of its notes in the old melody."""

    song: Song
    sources: tuple[int, ...]
    changes: tuple[Simplification, ...] = ()


@dataclass(frozen=True, slots=True)
class _Aim:
    """What is to be made simpler: nothing shorter than ``shortest`` is to be left."""

    treatments: tuple[Treatment, ...]
    shortest: Quarters

    @property
    def is_straight(self) -> bool:
        return Treatment.SYNCOPATIONS in self.treatments


def simplify_melody(song: Song, plan: Plan, level: Level, prices: Prices) -> SimplifiedMelody:
    """The song with its melody as the plan or the level wants it.

    A cell that cannot be set within the rules stays as it is. Law: doing it again changes nothing.
    """
    aim = _find_aim(plan, level)
    if not aim.treatments:
        return SimplifiedMelody(song, tuple(range(len(song.melody))))
    fixed = find_fixed(song.melody)
    set_cells = [_set_cell(song, cell, fixed, aim, prices) for cell in cut_cells(song, aim.shortest)]
    return SimplifiedMelody(
        replace(song, melody=tuple(note for cell in set_cells for note in cell.notes)),
        tuple(source for cell in set_cells for source in cell.sources),
        tuple(cell.change for cell in set_cells if cell.change),
    )


def list_changes(simplified: SimplifiedMelody, interval: Interval) -> tuple[MelodyChange, ...]:
    """The changes in words, their pitches moved by ``interval`` to those of the page."""
    return tuple(_describe(simplified.song, change, interval) for change in simplified.changes)


def _find_aim(plan: Plan, level: Level) -> _Aim:
    """By level syncopations stay: they are no matter of short values."""
    if plan.melody is Melody.SIMPLER:
        return _Aim(plan.simplify, max(level.melody_shortest, _EIGHTH))
    is_asked = plan.melody is Melody.BY_LEVEL and level.melody_simplified
    by_level = tuple(each for each in plan.simplify if each is not Treatment.SYNCOPATIONS)
    return _Aim(by_level if is_asked else (), level.melody_shortest)


@dataclass(frozen=True, slots=True)
class _SetCell:
    """The notes of a cell as they are now, and their indices in the old melody."""

    notes: tuple[MelodyNote, ...]
    sources: tuple[int, ...]
    change: Simplification | None = None


def _set_cell(song: Song, cell: Cell, fixed: frozenset[int], aim: _Aim, prices: Prices) -> _SetCell:
    treatment = _find_treatment(cell, aim)
    if treatment is not None and treatment in aim.treatments:
        may_drop = treatment in _DROPPING
        drops = price_drops(song, cell, fixed, prices) if may_drop else [None] * len(cell.notes)
        kept = CellSetting(cell, drops, aim.shortest, aim.is_straight, prices).cheapest()
        if kept is not None:
            notes = tuple(_set_notes(cell, kept))
            sources = tuple(cell.first + index for index, _ in kept)
            return _SetCell(notes, sources, Simplification(cell.span, cell.notes, notes, treatment))
    return _SetCell(cell.notes, tuple(range(cell.first, cell.first + len(cell.notes))))


def _find_treatment(cell: Cell, aim: _Aim) -> Treatment | None:
    """What is to be made simpler in a cell, None for nothing."""
    if not cell.is_closed:
        return None
    if all(note.duration >= aim.shortest and note.onset in cell.slots for note in cell.notes):
        is_syncopated = any(cell.is_syncopated(note.onset, note.offset) for note in cell.notes)
        return Treatment.SYNCOPATIONS if is_syncopated else None
    if any(is_ornament(note) for note in cell.notes):
        return Treatment.ORNAMENTS
    if any(_is_of_tuplet(note) for note in cell.notes):
        return Treatment.TRIPLETS
    return Treatment.RUNS if len(cell.notes) > len(cell.slots) else Treatment.DOTTED


def _is_of_tuplet(note: MelodyNote) -> bool:
    """Lengths that no halving of a quarter gives."""
    denominator = note.duration.denominator
    return denominator & (denominator - 1) != 0


def _set_notes(cell: Cell, kept: tuple[Kept, ...]) -> Iterator[MelodyNote]:
    """The notes kept, with the syllables of those that were left out before the next one."""
    starts = [0, *(index for index, _ in kept[1:])]
    ends = [*starts[1:], len(cell.notes)]
    for (index, span), start, end in zip(kept, starts, ends, strict=True):
        lyrics = join_lyrics(lyric for note in cell.notes[start:end] for lyric in note.lyrics)
        yield replace(cell.notes[index], span=span, lyrics=lyrics)


def _describe(song: Song, change: Simplification, interval: Interval) -> MelodyChange:
    return MelodyChange(
        bar=song.bar_at(change.span.onset).number,
        onset=change.span.onset,
        old=_name_notes(change.old, change.span, interval),
        new=_name_notes(change.new, change.span, interval),
        reason=_REASONS[change.treatment],
        until=change.span.offset,
    )


def _name_notes(notes: tuple[MelodyNote, ...], span: Span, interval: Interval) -> str:
    return name_line([(note.span, note.pitch.transposed(interval)) for note in notes], span.offset)
