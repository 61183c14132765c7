"""Played time to written time: each quarter gets the simplest grid that its onsets fit.

Conventions: positions in quarters from the start, exact fractions. A grid of n cuts the
quarter in n equal parts; 3 and 6 are triplets, 12 triplets of sixteenths.
"""

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Sequence
from fractions import Fraction
from math import floor

from apoyando.model.time import Quarters, Span

GRIDS = (1, 2, 3, 4, 6, 8, 12, 16)
PRICE_OF_A_PART = Fraction(3, 1000)
"""What each part of a grid costs, against the mean distance of its onsets in quarters.

With it sixteenths that were played 20 ms off at 120 quarters a minute stay sixteenths, and
triplets that were played so stay triplets (tried on both; common practice, no source).
"""
NEAR = Fraction(1, 8)
"""A note that ends so near before or after another begins was meant to lead into it."""
SHORTEST = Fraction(1, 4)
_GRIDS_OF_ENDS = (1, 2, 3, 4, 6)
"""Ends are played less exactly than beginnings, and nobody counts them finer than this."""


def quantize(spans: Iterable[Span]) -> list[Span]:
    """The spans on the grids that their onsets ask for, in the order given.

    Law: a span never vanishes. An offset goes to an onset that is near, else to the simplest
    grid that it fits.
    """
    played = list(spans)
    grids = _choose_grids(span.onset for span in played)
    onsets = {span.onset: _to_grid(span.onset, grids[floor(span.onset)]) for span in played}
    struck = sorted(set(onsets.values()))
    return [_written(onsets[span.onset], span.offset, struck) for span in played]


def _choose_grids(onsets: Iterable[Quarters]) -> dict[int, int]:
    """For each quarter that has onsets its grid."""
    inside: defaultdict[int, set[Fraction]] = defaultdict(set)
    for onset in onsets:
        inside[floor(onset)].add(onset - floor(onset))
    return {quarter: _choose_grid(points, GRIDS) for quarter, points in inside.items()}


def _choose_grid(points: set[Fraction], grids: Sequence[int]) -> int:
    return min(grids, key=lambda grid: _misfit(points, grid))


def _misfit(points: set[Fraction], grid: int) -> Fraction:
    distances = (abs(point - Fraction(round(point * grid), grid)) for point in points)
    return sum(distances, Fraction(0)) / len(points) + grid * PRICE_OF_A_PART


def _to_grid(position: Quarters, grid: int) -> Quarters:
    return Fraction(round(position * grid), grid)


def _written(onset: Quarters, played_until: Quarters, struck: Sequence[Quarters]) -> Span:
    place = bisect_right(struck, onset)
    following = struck[place] if place < len(struck) else None
    near = [moment for moment in _neighbours(played_until, struck) if abs(moment - played_until) <= NEAR]
    if near:
        offset = min(near, key=lambda moment: abs(moment - played_until))
    else:
        within = played_until - floor(played_until)
        offset = _to_grid(played_until, _choose_grid({within}, _GRIDS_OF_ENDS))
    if offset <= onset:
        offset = min(onset + SHORTEST, following or onset + SHORTEST)
    return Span(onset, offset)


def _neighbours(moment: Quarters, struck: Sequence[Quarters]) -> Sequence[Quarters]:
    place = bisect_left(struck, moment)
    return struck[max(place - 1, 0) : place + 1]
