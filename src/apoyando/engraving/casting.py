"""Which bars share a line, and which lines share a page.

Both are chosen by dynamic programming over a price: lines should be about equally dense
and begin where phrases begin; pages should be about equally full.

Conventions: widths and heights in hundredths of a millimetre.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import accumulate
from math import inf, log

from apoyando.model.song import Bar, Barline, Jump

TIGHTEST = 0.95
"""Below this there is no room for digits between the notes."""
DENSE_PRICE = 10.0
LOOSE_PRICE = 6.0
"""For the square of the logarithm of how far a line is from the density wished for."""
CROWDING_PRICE = 400.0
LONELY_BAR_PRICE = 3.0
RAGGED_PRICE = 1.8
OFF_PHRASE_PRICES = (0.0, 1.0, 0.4, 1.0)
"""By how many bars past a group of four a line begins."""
SECTION_GAIN = 1.5
MOST_BARS = 16
PAGE_PRICE = 10.0
"""Against turning pages; more than any emptiness can cost."""
EMPTY_PRICE = 2.0
LAST_PAGE_EMPTY_PRICE = 0.5


@dataclass(frozen=True, slots=True)
class Setting:
    """How a piece is set: ``stretch`` of the natural spacing wished for, and the weight of ``phrasing``."""

    stretch: float
    phrasing: float


USUAL = Setting(stretch=1.12, phrasing=1.0)
CLOSE = Setting(stretch=1.0, phrasing=0.15)
"""Still easily read; worth it where it saves a page."""


def choose_lines(
    bars: Sequence[Bar],
    widths: Sequence[float],
    prefix: float,
    room: float,
    setting: Setting = USUAL,
) -> tuple[int, ...]:
    """The index of the bar that begins each line; the first is 0.

    ``widths`` are the natural widths of the bars, that of the first with clef and
    signatures; ``prefix`` is what clef and key signature take on every later line.
    """
    sums = [0.0, *accumulate(widths)]
    phrases = phrase_positions(bars)

    def price(start: int, stop: int) -> float:
        width = sums[stop] - sums[start] + (prefix if start else 0.0)
        density = _density_price(room / width / setting.stretch, stop - start, is_last=stop == len(bars))
        crowding = _crowding_price(room / width, stop - start)
        return density + crowding + setting.phrasing * _start_price(phrases, start, bars)

    return _cheapest_cuts(len(bars), MOST_BARS, price)


def phrase_positions(bars: Sequence[Bar]) -> tuple[int, ...]:
    """For each bar how many full bars it is from where its section began."""
    positions: list[int] = []
    count = 0
    for index, bar in enumerate(bars):
        count = 0 if _begins_section(bars, index) else count
        positions.append(count)
        count += 0 if bar.is_pickup else 1
    return tuple(positions)


def _begins_section(bars: Sequence[Bar], index: int) -> bool:
    if index == 0:
        return True
    bar, before = bars[index], bars[index - 1]
    return bool(
        bar.section
        or bar.starts_repeat
        or before.repeat_times
        or before.barline is not Barline.REGULAR
        or Jump.SEGNO in bar.jumps
        or Jump.CODA in bar.jumps
        or bar.meter != before.meter
    )


def _start_price(phrases: Sequence[int], start: int, bars: Sequence[Bar]) -> float:
    if _begins_section(bars, start):
        return -SECTION_GAIN
    return OFF_PHRASE_PRICES[phrases[start] % 4]


def _density_price(looseness: float, bar_count: int, *, is_last: bool) -> float:
    """``looseness`` 1 is the density wished for. A loose last line is left ragged."""
    price = (LOOSE_PRICE if looseness > 1 else DENSE_PRICE) * log(looseness) ** 2
    if is_last:
        price = min(price, RAGGED_PRICE) if looseness > 1 else price
        price += LONELY_BAR_PRICE if bar_count == 1 else 0.0
    return price


def _crowding_price(stretch: float, bar_count: int) -> float:
    if stretch >= TIGHTEST or bar_count == 1:
        return 0.0
    return 1.0 + CROWDING_PRICE * (TIGHTEST / stretch - 1)


def _cheapest_cuts(count: int, most: int, price: Callable[[int, int], float]) -> tuple[int, ...]:
    """Where each piece starts when 0..count is cut into pieces of at most ``most`` at the least price."""
    best = [0.0] + [inf] * count
    origin = [0] * (count + 1)
    for stop in range(1, count + 1):
        for start in range(max(0, stop - most), stop):
            total = best[start] + price(start, stop)
            if total < best[stop]:
                best[stop], origin[stop] = total, start
    cuts: list[int] = []
    while count:
        count = origin[count]
        cuts.append(count)
    return tuple(reversed(cuts))


@dataclass(frozen=True, slots=True)
class PageRoom:
    """What a page holds: height on the first and on later pages, and the gaps between lines."""

    first: float
    later: float
    least_gap: float
    most_gap: float


def choose_pages(heights: Sequence[float], room: PageRoom) -> tuple[int, ...]:
    """The index of the line that begins each page: as few pages as hold all, the last one least full."""
    return _cheapest_cuts(len(heights), len(heights), lambda a, b: _page_price(heights, a, b, room))


def _page_price(heights: Sequence[float], start: int, stop: int, room: PageRoom) -> float:
    height = room.later if start else room.first
    needed = sum(heights[start:stop]) + room.least_gap * (stop - start - 1)
    if needed > height and stop - start > 1:
        return inf
    is_last = stop == len(heights)
    emptiness = max(0.0, 1 - needed / height)
    return PAGE_PRICE + (LAST_PAGE_EMPTY_PRICE if is_last else EMPTY_PRICE) * emptiness**2


def line_gap(heights: Sequence[float], room: float, limits: PageRoom) -> float:
    """The gap between the lines of a page that fills it, within the limits."""
    if len(heights) < 2:  # noqa: PLR2004 - a gap lies between two
        return limits.least_gap
    gap = (room - sum(heights)) / (len(heights) - 1)
    return max(limits.least_gap, min(limits.most_gap, gap))
