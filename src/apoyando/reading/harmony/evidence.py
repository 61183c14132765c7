"""What sounds, cell by cell: the weight of each pitch class, and of each in the bass.

Conventions: pitch classes count from C; weights are in quarters of one ordinary tone (see
``weights``). The bass is the lowest note that sounds under the tune; the tune's own where
it is alone.
"""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from apoyando.model.score import ScoreNote
from apoyando.model.song import Bar
from apoyando.model.time import Quarters, Span
from apoyando.reading.harmony.figuration import Figure, figure_notes
from apoyando.reading.harmony.meter import BEAT, DOWNBEAT, HALF_BAR, cut_cells, strength_of
from apoyando.reading.harmony.weights import Weights

Array = NDArray[np.float64]

LONGEST_COUNTED_QUARTERS = 16
"""A tone held for longer is a pedal point, and tells no more of the harmony."""


@dataclass(frozen=True, slots=True)
class Cells:
    """``spans`` and their ``strengths`` in order; ``first`` is the place of each bar's first cell, and the end.

    ``sounding`` are the notes in each. ``tones`` and ``basses`` have a row for each cell and a column for each pitch class.
    """

    spans: tuple[Span, ...]
    strengths: tuple[int, ...]
    first: tuple[int, ...]
    tones: Array
    basses: Array
    sounding: tuple[tuple[ScoreNote, ...], ...]


def weigh_cells(
    notes: Sequence[ScoreNote], bars: tuple[Bar, ...], tune: Collection[ScoreNote], weights: Weights
) -> Cells:
    """The cells of the bars with what the notes say in each."""
    by_bar = [tuple(cut_cells(bar)) for bar in bars]
    spans = tuple(span for cells in by_bar for span in cells)
    strengths = tuple(
        strength_of(bar, span.onset) for bar, cells in zip(bars, by_bar, strict=True) for span in cells
    )
    first = tuple(int(place) for place in np.cumsum([0, *map(len, by_bar)]))
    sounding = _lay_out(figure_notes(notes, bars, weights), spans)
    sung = frozenset(tune)
    tones = np.array(
        [
            _weigh(inside, span, strength, sung, weights)
            for inside, span, strength in zip(sounding, spans, strengths, strict=True)
        ]
    )
    basses = np.array([_weigh_bass(inside, span, sung) for inside, span in zip(sounding, spans, strict=True)])
    notes_of = tuple(tuple(figure.note for figure in inside) for inside in sounding)
    return Cells(spans, strengths, first, _in_ordinary_tones(tones, spans), basses, notes_of)


def _lay_out(figures: Sequence[Figure], spans: Sequence[Span]) -> list[list[Figure]]:
    """For each cell the notes that sound in it."""
    sounding: list[list[Figure]] = [[] for _ in spans]
    place = 0
    for figure in sorted(figures, key=lambda each: each.note.onset):
        while spans[place].offset <= figure.note.onset:
            place += 1
        here = place
        until = min(figure.note.offset, figure.note.onset + LONGEST_COUNTED_QUARTERS)
        while here < len(spans) and spans[here].onset < until:
            sounding[here].append(figure)
            here += 1
    return sounding


def _weigh(
    inside: Sequence[Figure], span: Span, strength: int, sung: frozenset[ScoreNote], weights: Weights
) -> Array:
    accent = {DOWNBEAT: weights.downbeat, HALF_BAR: weights.half_bar, BEAT: weights.beat}.get(
        strength, weights.off_beat
    )
    row = np.zeros(12)
    is_alone = all(figure.note in sung for figure in inside)
    for figure in inside:
        note = figure.note
        quarters = float(min(note.offset, span.offset) - max(note.onset, span.onset))
        quarters += weights.struck * span.contains(note.onset)
        factor = figure.factor if span.onset >= figure.since or span.contains(figure.since) else 1.0
        share = weights.tune if note in sung and not is_alone else 1.0
        row[note.pitch.midi % 12] += quarters * factor * accent * share
    return row


def _in_ordinary_tones(tones: Array, spans: Sequence[Span]) -> Array:
    """Scaled so that a quarter sounds 1 on the average, however many voices there are."""
    sounds = tones.sum(axis=1) > 0
    quarters = sum(float(span.duration) for span, there in zip(spans, sounds, strict=True) if there)
    total = float(tones.sum())
    return tones * (quarters / total) if total else tones


def _weigh_bass(inside: Sequence[Figure], span: Span, sung: frozenset[ScoreNote]) -> Array:
    row = np.zeros(12)
    under = [figure.note for figure in inside if figure.note not in sung] or [
        figure.note for figure in inside
    ]
    for since, until, note in _lowest(under, span):
        row[note.pitch.midi % 12] += float(until - since)
    return row


def _lowest(notes: Sequence[ScoreNote], span: Span) -> Iterator[tuple[Quarters, Quarters, ScoreNote]]:
    """The lowest sounding note from moment to moment."""
    moments = sorted(
        {
            span.onset,
            span.offset,
            *(m for note in notes for m in (note.onset, note.offset) if span.contains(m)),
        }
    )
    for since, until in pairwise(moments):
        there = [note for note in notes if note.onset <= since < note.offset]
        if there:
            yield since, until, min(there, key=lambda note: note.pitch.midi)
