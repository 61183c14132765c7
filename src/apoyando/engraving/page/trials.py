"""Ways to set a piece, tried on paper before one is laid out.

Closer lines, lines that end where a page can be turned, and a smaller staff where the
player left its size open: each is priced by its lines, its pages and its turns.

Conventions: the units of ``frame``.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise, product

from apoyando.engraving.page.frame import Frame, make_frame
from apoyando.engraving.page.heading import first_heading, later_heading
from apoyando.engraving.page.paging import PageRoom, Paging, choose_pages
from apoyando.engraving.page.turns import turn_gains
from apoyando.engraving.staff.casting import (
    CLOSE,
    SNUG,
    USUAL,
    Measures,
    choose_lines,
    price_lines,
    sum_prices,
)
from apoyando.engraving.staff.layout import SPACE
from apoyando.model.arrangement import Arrangement
from apoyando.model.sheet import LEAST_STAFF_MM, USUAL_STAFF_MM, Sheet

LEAST_GAP = 1.6 * SPACE
MOST_GAP = 6.5 * SPACE
USUAL_EXCESS = 2.4 * SPACE
"""By how much a line is higher than its notes, for rows and marks, until one has been laid out."""
STAFF_PRICES: Mapping[float, float] = {USUAL_STAFF_MM: 0.0, 6.5: 2.0, LEAST_STAFF_MM: 5.5}
"""By the height of the staff in millimetres; the least one pays only where it saves a page."""


@dataclass(frozen=True, slots=True)
class Task:
    """What is to be set: ``turns`` prices a turn at the end of each bar (``turns``)."""

    arrangement: Arrangement
    sheet: Sheet
    measures: Measures
    turns: Sequence[float]

    def page(self, trial: "Trial", heights: Sequence[float]) -> Paging:
        """The lines of a trial on pages, if they are so high."""
        before = [0.0, *(self.turns[start - 1] for start in trial.starts[1:])]
        return choose_pages(heights, before, trial.room)

    def heights(self, starts: Sequence[int], excess: float) -> list[float]:
        """About how high lines that begin so will be."""
        tops, bottoms = self.measures.tops, self.measures.bottoms
        return [
            max(bottoms[start:stop]) - min(tops[start:stop]) + excess
            for start, stop in pairwise((*starts, len(self.measures.bars)))
        ]


@dataclass(frozen=True, slots=True)
class Trial:
    """One way: the frame with its staff, the bars that begin lines, and what speaks against these.

    ``price`` is without that of the pages.
    """

    frame: Frame
    room: PageRoom
    starts: tuple[int, ...]
    price: float


@dataclass(frozen=True, slots=True)
class Trials:
    """All ways that are looked at: the usual one, and the others, made when they are first asked for."""

    task: Task
    usual: Trial
    others: Callable[[], Sequence[Trial]]

    def choose(self, excess: float, known: Mapping[Trial, float]) -> tuple[Trial, float]:
        """The cheapest way and its price with its pages, if lines are by ``excess`` higher than their notes.

        ``known`` are the prices of ways that were laid out. Where the usual one needs a single page, nothing
        else is looked at.
        """
        best, least = self.usual, self._page(self.usual, excess)
        price = known.get(best, best.price + least.price)
        if len(least.starts) == 1:
            return best, price
        for trial in self.others():
            cost = known.get(trial, trial.price + self._page(trial, excess).price)
            if cost < price:
                best, price = trial, cost
        return best, price

    def _page(self, trial: Trial, excess: float) -> Paging:
        return self.task.page(trial, self.task.heights(trial.starts, excess))


def list_trials(task: Task) -> Trials:
    """The usual setting with the largest staff, closer ones, and smaller staves where the size is open."""
    ways = _make_trials(task)
    return Trials(task, next(ways), cache(lambda: tuple(ways)))


def _page_room(arrangement: Arrangement, frame: Frame) -> PageRoom:
    first, later = first_heading(arrangement, frame), later_heading(arrangement, 2, frame)
    return PageRoom(first.room, later.room, LEAST_GAP, MOST_GAP)


def _make_trials(task: Task) -> Iterator[Trial]:
    """The usual setting first; no way twice."""
    staves = {task.sheet.staff_mm: 0.0} if task.sheet.staff_mm else STAFF_PRICES
    gains = turn_gains(task.turns)
    for staff_mm, smaller in staves.items():
        frame = make_frame(task.sheet, staff_mm)
        room, width = _page_room(task.arrangement, frame), frame.line_width
        seen: set[tuple[int, ...]] = set()
        prices = {setting: price_lines(task.measures, width, setting) for setting in (USUAL, SNUG, CLOSE)}
        for setting, gained in product(prices, ((), gains)):
            starts = choose_lines(prices[setting], gained)
            if starts not in seen:
                seen.add(starts)
                yield Trial(frame, room, starts, smaller + sum_prices(prices[USUAL], starts))
