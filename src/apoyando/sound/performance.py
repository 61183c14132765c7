"""The arrangement played from start to end: the form unfolded, notes in playing time.

Conventions: playing time in quarters from the first note of the first bar; half-open.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby

from apoyando.model.arrangement import Arrangement, Note
from apoyando.model.form import play_order
from apoyando.model.song import Bar
from apoyando.model.time import Quarters, Span, Spanned

ROLL_STEP = Fraction(1, 16)
"""Between the notes of a rolled chord: 40 ms at 96 quarters a minute (an estimate, no source)."""


@dataclass(frozen=True, slots=True)
class PlayedBar:
    """One bar, and when it is played."""

    bar: Bar
    onset: Quarters


@dataclass(frozen=True, slots=True)
class PlayedNote(Spanned):
    """One note, and when it sounds."""

    note: Note
    span: Span


@dataclass(frozen=True, slots=True)
class Performance:
    bars: tuple[PlayedBar, ...]
    notes: tuple[PlayedNote, ...]
    duration: Quarters


def perform(arrangement: Arrangement, order: Sequence[int] | None = None) -> Performance:
    """Play out repeats, endings and jumps; or the bars in another order, by their indices.

    A note that is held into the next bar is held where that bar is played next; where the
    music goes elsewhere it ends with its own bar, and where the music comes from elsewhere it
    is struck at the bar's start. A rolled chord begins at its moment, its notes one after
    another from the lowest.
    """
    bars = tuple(_played_bars(arrangement.bars, play_order(arrangement.bars) if order is None else order))
    notes = [note for run in _runs(bars) for note in _notes_of_run(arrangement.notes, run)]
    end = bars[-1].onset + bars[-1].bar.span.duration
    return Performance(bars, tuple(sorted(notes, key=lambda played: played.span.onset)), end)


def _played_bars(bars: Sequence[Bar], order: Sequence[int]) -> Iterator[PlayedBar]:
    now = Fraction(0)
    for index in order:
        yield PlayedBar(bars[index], now)
        now += bars[index].span.duration


def _runs(bars: Sequence[PlayedBar]) -> Iterator[tuple[PlayedBar, ...]]:
    """Bars played in the order in which they are written."""
    run: list[PlayedBar] = []
    for played in bars:
        if run and run[-1].bar.offset != played.bar.onset:
            yield tuple(run)
            run = []
        run.append(played)
    yield tuple(run)


def _notes_of_run(notes: Sequence[Note], run: Sequence[PlayedBar]) -> Iterator[PlayedNote]:
    written = Span(run[0].bar.onset, run[-1].bar.offset)
    shift = run[0].onset - run[0].bar.onset
    delays = dict(_roll_delays(notes))
    for index, note in enumerate(notes):
        if note.span.overlaps(written):
            start = max(note.onset, written.onset) + delays.get(index, Fraction(0))
            end = min(note.offset, written.offset)
            yield PlayedNote(note, Span(start + shift, end + shift))


def _roll_delays(notes: Sequence[Note]) -> Iterator[tuple[int, Quarters]]:
    """How much later than written each note of a rolled chord is struck, by its index."""
    rolled = sorted(
        (note.onset, note.pitch.midi, index) for index, note in enumerate(notes) if note.is_rolled
    )
    for _, group in groupby(rolled, key=lambda entry: entry[0]):
        chord = [index for _, _, index in group]
        step = min(ROLL_STEP, *(notes[index].duration / len(chord) / 2 for index in chord))
        yield from ((index, place * step) for place, index in enumerate(chord))
