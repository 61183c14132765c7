"""Pages: lines stacked under a heading, few of them and with a turn where a hand is free.

The setting that seems the best on paper is laid out; where its lines turn out higher or
lower than was thought, the choice is made again with what was learned.

Conventions: the units of ``frame``.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import fmean

from apoyando.engraving.notation.score import NotatedScore
from apoyando.engraving.page.frame import Frame
from apoyando.engraving.page.heading import Heading, first_heading, later_heading
from apoyando.engraving.page.lines import Line, Manuscript, make_lines, measure_bars, prepare_lines
from apoyando.engraving.page.paging import Paging, line_gap
from apoyando.engraving.page.trials import USUAL_EXCESS, Task, Trial, list_trials
from apoyando.engraving.page.turns import price_turns
from apoyando.model.arrangement import Arrangement
from apoyando.model.sheet import Sheet

MOST_LAYOUTS = 3
WORTH_ANOTHER_LAYOUT = 1.0
"""In the price of ``trials``; a layout takes as long as all that is tried on paper."""


@dataclass(frozen=True, slots=True)
class Page:
    """Lines with the height of their top staff line, and what stands around them."""

    frame: Frame
    heading: Heading
    lines: tuple[tuple[float, Line], ...]


@dataclass(frozen=True, slots=True)
class _Layout:
    """A trial that was laid out."""

    trial: Trial
    lines: tuple[Line, ...]
    paging: Paging

    @property
    def price(self) -> float:
        return self.trial.price + self.paging.price


def make_pages(score: NotatedScore, sheet: Sheet) -> tuple[Page, ...]:
    """The pages of a score."""
    manuscript = prepare_lines(score, sheet)
    task = Task(score.arrangement, sheet, measure_bars(manuscript), price_turns(score.arrangement))
    trials = list_trials(task)
    trial, _ = trials.choose(USUAL_EXCESS, {})
    best = _lay_out(manuscript, task, trial)
    known = {trial: best.price}
    for _ in range(MOST_LAYOUTS - 1):
        trial, price = trials.choose(_excess(best, task), known)
        if trial in known or price > best.price - WORTH_ANOTHER_LAYOUT:
            break
        layout = _lay_out(manuscript, task, trial)
        known[trial] = layout.price
        best = min(best, layout, key=lambda layout: layout.price)
    return _stack_pages(best, score.arrangement)


def _lay_out(manuscript: Manuscript, task: Task, trial: Trial) -> _Layout:
    lines = make_lines(manuscript, trial.frame.line_width, trial.starts)
    return _Layout(trial, lines, task.page(trial, [line.box.height for line in lines]))


def _excess(layout: _Layout, task: Task) -> float:
    """By how much lines are higher than their notes, as seen in a layout."""
    heights = [line.box.height for line in layout.lines]
    return fmean(heights) - fmean(task.heights(layout.trial.starts, 0.0))


def _stack_pages(layout: _Layout, arrangement: Arrangement) -> tuple[Page, ...]:
    frame, lines = layout.trial.frame, layout.lines
    pages: list[Page] = []
    for number, (start, stop) in enumerate(pairwise((*layout.paging.starts, len(lines))), 1):
        is_first = number == 1
        heading = first_heading(arrangement, frame) if is_first else later_heading(arrangement, number, frame)
        pages.append(_stack(lines[start:stop], heading, layout.trial))
    return tuple(pages)


def _stack(lines: Sequence[Line], heading: Heading, trial: Trial) -> Page:
    gap = line_gap([line.box.height for line in lines], heading.room, trial.room)
    y = heading.top
    stacked: list[tuple[float, Line]] = []
    for line in lines:
        stacked.append((y - line.box.top, line))
        y += line.box.height + gap
    return Page(trial.frame, heading, tuple(stacked))
