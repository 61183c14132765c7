"""Which tones are likely to be no tones of the chord: passing, leaning, suspended, anticipated.

The kinds are those of harmony books (Kostka & Payne, *Tonal Harmony*, from memory). What is
told here is a likelihood from the line alone; the chord that explains the moment decides.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from apoyando.model.score import ScoreNote
from apoyando.model.song import Bar, bar_at
from apoyando.model.time import Quarters
from apoyando.reading.harmony.meter import strength_of, strongest_within
from apoyando.reading.harmony.weights import Weights

_WHOLE_TONE = 2


@dataclass(frozen=True, slots=True)
class Figure:
    """A note, and the factor by which it counts from ``since`` on; before that it counts in full."""

    note: ScoreNote
    factor: float
    since: Quarters


@dataclass(frozen=True, slots=True)
class _Step:
    """How a note meets its neighbour in its voice, in semitones from it; None where there is none."""

    note: ScoreNote
    semitones: int

    @property
    def is_step(self) -> bool:
        return 1 <= abs(self.semitones) <= _WHOLE_TONE


def figure_notes(notes: Sequence[ScoreNote], bars: tuple[Bar, ...], weights: Weights) -> list[Figure]:
    """Each note with what its line says of it."""
    ending: defaultdict[tuple[int, Quarters], list[ScoreNote]] = defaultdict(list)
    beginning: defaultdict[tuple[int, Quarters], list[ScoreNote]] = defaultdict(list)
    for note in notes:
        ending[note.voice, note.offset].append(note)
        beginning[note.voice, note.onset].append(note)
    return [
        _figure(
            note,
            _nearest(note, ending[note.voice, note.onset]),
            _nearest(note, beginning[note.voice, note.offset]),
            bar_at(bars, note.onset),
            weights,
        )
        for note in notes
    ]


def _nearest(note: ScoreNote, others: Sequence[ScoreNote]) -> _Step | None:
    steps = (_Step(other, other.pitch.midi - note.pitch.midi) for other in others)
    return min(steps, key=lambda step: abs(step.semitones), default=None)


def _figure(note: ScoreNote, before: _Step | None, after: _Step | None, bar: Bar, weights: Weights) -> Figure:
    suspended = _suspended_since(note, before, after, bar)
    if suspended is not None:
        return Figure(note, weights.suspended, suspended)
    return Figure(note, _factor(note, before, after, bar, weights), note.onset)


def _suspended_since(note: ScoreNote, before: _Step | None, after: _Step | None, bar: Bar) -> Quarters | None:
    """Since when a tone is one that is held or struck over and then falls by step; None if it is not."""
    if after is None or not -_WHOLE_TONE <= after.semitones <= -1:
        return None
    strength = strength_of(bar, note.onset)
    if before and before.semitones == 0 and strength > strength_of(bar, before.note.onset):
        return note.onset if note.duration <= bar.meter.pulse * 2 else None
    held_over = strongest_within(bar, note.span)
    return held_over if held_over is not None and note.offset - held_over <= bar.meter.pulse * 2 else None


def _factor(note: ScoreNote, before: _Step | None, after: _Step | None, bar: Bar, weights: Weights) -> float:
    if note.duration > bar.meter.pulse or (
        note.duration == bar.meter.pulse and strength_of(bar, note.onset) > 1
    ):
        return 1.0
    is_weak = strength_of(bar, note.onset) == 0
    if after and after.semitones == 0 and is_weak and before and before.semitones:
        return weights.anticipated
    into, out = bool(before and before.is_step), bool(after and after.is_step)
    if note.duration == bar.meter.pulse:
        return 1.0
    if into and out:
        return weights.passing if is_weak else weights.accented_passing
    return weights.leaning if into or out else 1.0
