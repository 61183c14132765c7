"""Cuttings: a few bars or one system of a piece, as on its page.

Marks are those of the page: what a reader of the whole piece is told there, no more.

Conventions: the units of ``frame``; bars by their indices.
"""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from apoyando.engraving.notation.score import NotatedScore
from apoyando.engraving.page.lines import Line, make_lines, measure_bars, prepare_lines
from apoyando.engraving.page.page import Page
from apoyando.engraving.staff.casting import USUAL, Measures, choose_lines, price_lines
from apoyando.model.errors import UsageError
from apoyando.model.sheet import Sheet


def cut_bars(score: NotatedScore, sheet: Sheet, first: int, last: int, room: float) -> tuple[Line, ...]:
    """The bars from ``first`` to ``last``, both included, on even lines no longer than ``room``.

    Their neighbours are laid out with them, on lines of their own that are thrown away, so
    that ties, accidentals and signatures are those of the page. Raises UsageError where
    there are no such bars.
    """
    if not 0 <= first <= last < len(score.bars):
        raise UsageError(f"there are no bars with indices {first} to {last} in {len(score.bars)} bars.")
    begin = max(0, first - 1)
    window = prepare_lines(replace(score, bars=score.bars[begin : last + 2]), sheet)
    measures = _without_neighbours(measure_bars(window), first - begin, last - begin)
    starts = choose_lines(price_lines(measures, room))
    breaks = sorted({begin, *(first + start for start in starts), last + 1})
    lines = make_lines(window, min(room, _even_room(measures, starts)), breaks)
    return tuple(line for line in lines if first <= line.bars.start <= last)


def _without_neighbours(measures: Measures, first: int, last: int) -> Measures:
    """The same for the bars from ``first`` to ``last`` among its own; the clef goes before the first."""
    widths = measures.widths[first : last + 1]
    clef = measures.prefix if first else 0.0
    return replace(measures, bars=measures.bars[first : last + 1], widths=(widths[0] + clef, *widths[1:]))


def _even_room(measures: Measures, starts: Sequence[int]) -> float:
    """How long lines must be for the fullest to be as dense as on a page."""
    natural = (
        sum(measures.widths[start:stop]) + (measures.prefix if start else 0.0)
        for start, stop in pairwise((*starts, len(measures.bars)))
    )
    return USUAL.stretch * max(natural)


def cut_system(pages: Sequence[Page], number: int) -> Line:
    """A system of the pages, counted from 1 through all of them. Raises UsageError where there is none."""
    lines = [line for page in pages for _, line in page.lines]
    if not 1 <= number <= len(lines):
        raise UsageError(f"there is no system {number}; the piece has systems 1 to {len(lines)}.")
    return lines[number - 1]
