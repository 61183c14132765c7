"""From score time to seconds: an even tempo, with places where it gives way.

Conventions: playing time in quarters as in ``performance``; seconds from its start.
"""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

from apoyando.model.time import Quarters, Span


@dataclass(frozen=True, slots=True)
class Easing:
    """In this span each quarter lasts ``factor`` times as long. Of several on one place the longest counts."""

    span: Span
    factor: float


@dataclass(frozen=True, slots=True)
class Clock:
    """When each moment of a performance comes. Law: ``second`` grows with its argument."""

    quarters_per_minute: float
    moments: tuple[Quarters, ...]
    """Where the tempo changes; the first is the start."""
    seconds: tuple[float, ...]
    factors: tuple[float, ...]

    def second(self, moment: Quarters) -> float:
        place = max(bisect_right(self.moments, moment) - 1, 0)
        since = float(moment - self.moments[place]) * self.factors[place]
        return self.seconds[place] + since * 60.0 / self.quarters_per_minute


def set_clock(quarters_per_minute: float, easings: Sequence[Easing] = ()) -> Clock:
    edges = {edge for each in easings for edge in (each.span.onset, each.span.offset)}
    moments = sorted({Quarters(0), *edges})
    factors = [
        max((each.factor for each in easings if each.span.contains(moment)), default=1.0)
        for moment in moments
    ]
    stretches = [
        float(after - before) * factor * 60.0 / quarters_per_minute
        for (before, after), factor in zip(pairwise(moments), factors, strict=False)
    ]
    return Clock(quarters_per_minute, tuple(moments), (0.0, *accumulate(stretches)), tuple(factors))
