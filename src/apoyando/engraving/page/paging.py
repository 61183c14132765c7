"""Which lines share a page, and where the page is turned.

The first page lies on the left, as in an opened book: pages 1 and 2 face each other, then
3 and 4. So only every other page ends with a turn. Pages are chosen by dynamic programming
over a price: few of them, about equally full, and a turn where a hand is free.

Conventions: heights in hundredths of a millimetre on the usual staff (``frame``).
"""

from collections.abc import Sequence
from dataclasses import dataclass

PAGE_PRICE = 8.0
"""Another page to print, lay out and look at; more than any emptiness can cost."""
EMPTY_PRICE = 2.0
"""For the square of what stays empty of a page; the last one is as full as the others."""
SPARE_PAGES = 1
"""So many more pages than needed are tried, where the turn is better then."""


@dataclass(frozen=True, slots=True)
class PageRoom:
    """What a page holds: height on the first and on later pages, and the gaps between lines."""

    first: float
    later: float
    least_gap: float
    most_gap: float


@dataclass(frozen=True, slots=True)
class Paging:
    """The index of the line that begins each page, and the price of it all."""

    starts: tuple[int, ...]
    price: float


def choose_pages(heights: Sequence[float], turns: Sequence[float], room: PageRoom) -> Paging:
    """The cheapest pages for lines of such heights; ``turns`` prices a turn before each line."""
    count = len(heights)
    reached: dict[int, Paging] = {0: Paging((), 0.0)}
    found: list[Paging] = []
    for number in range(1, count + 1):
        reached = _add_page(number, reached, heights, turns, room)
        if count in reached:
            found.append(reached[count])
        if len(found) > SPARE_PAGES:
            break
    return min(found, key=lambda paging: paging.price)


def _add_page(
    number: int,
    reached: dict[int, Paging],
    heights: Sequence[float],
    turns: Sequence[float],
    room: PageRoom,
) -> dict[int, Paging]:
    """By how many lines are set, the cheapest way to that with one page more."""
    best: dict[int, Paging] = {}
    for start, before in reached.items():
        if start == len(heights):
            continue
        turn = turns[start] if follows_turn(number) else 0.0
        page, lines = room.later if start else room.first, 0.0
        for stop in range(start + 1, len(heights) + 1):
            lines += heights[stop - 1]
            needed = lines + room.least_gap * (stop - start - 1)
            if needed > page and stop - start > 1:  # a single line has its page, even if it is higher
                break
            price = before.price + turn + _page_price(needed / page)
            if stop not in best or price < best[stop].price:
                best[stop] = Paging((*before.starts, start), price)
    return best


def follows_turn(number: int) -> bool:
    """Whether a page, counted from 1, is seen only after a turn: all on the left but the first."""
    return number > 1 and number % 2 == 1


def _page_price(fullness: float) -> float:
    return PAGE_PRICE + EMPTY_PRICE * max(0.0, 1 - fullness) ** 2


def line_gap(heights: Sequence[float], room: float, limits: PageRoom) -> float:
    """The gap between the lines of a page that fills it, within the limits."""
    if len(heights) < 2:  # noqa: PLR2004 - a gap lies between two
        return limits.least_gap
    gap = (room - sum(heights)) / (len(heights) - 1)
    return max(limits.least_gap, min(limits.most_gap, gap))
