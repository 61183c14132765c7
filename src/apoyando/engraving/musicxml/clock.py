"""Exact time as MusicXML counts it: whole ``divisions`` of a quarter."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import lcm

from apoyando.engraving.notation.score import NotatedScore
from apoyando.model.time import Quarters

MOST_DIVISIONS = 50_400
"""Beyond this (only absurd lengths get there) positions are rounded to a grid that divides by 1 to 10."""


@dataclass(frozen=True, slots=True)
class Clock:
    divisions: int

    def ticks(self, onset: Quarters, offset: Quarters) -> int:
        """From one position to another. Rounds positions, not lengths, so that sums stay right."""
        return round(offset * self.divisions) - round(onset * self.divisions)


def choose_clock(score: NotatedScore) -> Clock:
    """The smallest number of divisions in which every position is whole."""
    divisions = lcm(*(position.denominator for position in _positions(score)))
    return Clock(min(divisions, MOST_DIVISIONS))


def _positions(score: NotatedScore) -> Iterator[Fraction]:
    arrangement = score.arrangement
    spans = [placed.span for placed in arrangement.harmony] + [barre.span for barre in arrangement.barres]
    for span in (*spans, *(bar.bar.span for bar in score.bars)):
        yield from (span.onset, span.offset)
    yield from (dynamic.onset for dynamic in arrangement.dynamics)
    yield from (kept.until for kept in score.kept)
    for bar in score.bars:
        yield from (event.onset for line in bar.voices.values() for event in line)
