"""Peaks: single notes of the tune above the level's frets, which it lets pass over open strings.

The rule is the level's own (``peak_fret``): no neighbour in the tune is higher, and nothing but
open strings sounds with the note.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from apoyando.fingering import Candidate
from apoyando.model.instrument import Tuning
from apoyando.model.level import Level
from apoyando.model.prices import Prices
from apoyando.model.song import MelodyNote
from apoyando.model.time import Span


def find_peaks(melody: Sequence[MelodyNote], tuning: Tuning, level: Level) -> frozenset[Span]:
    """When the tune is at a peak."""
    top = max(tuning.open_strings)
    return frozenset(
        note.span
        for index, note in enumerate(melody)
        if level.melody_highest_fret < note.pitch.midi - top <= level.peak_fret
        and all(near.pitch.midi <= note.pitch.midi for near in melody[max(0, index - 1) : index + 2])
    )


def price_under_peaks(
    candidates: tuple[Candidate, ...], span: Span, peaks: Iterable[Span], tuning: Tuning, prices: Prices
) -> tuple[Candidate, ...]:
    """Accompaniment for a span: what is no open string costs more where it sounds under a peak."""
    if not any(span.overlaps(peak) for peak in peaks):
        return candidates
    return tuple(
        candidate
        if candidate.note in tuning.open_strings
        else replace(candidate, price=candidate.price + prices.peak_over_stopped)
        for candidate in candidates
    )
