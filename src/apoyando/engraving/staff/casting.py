"""Which bars share a line.

Chosen by dynamic programming over a price: lines should be about equally dense and begin
where phrases begin.

Conventions: widths in hundredths of a millimetre on the usual staff (``frame``).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate, pairwise
from math import inf, log

from apoyando.model.song import Bar, Barline, Jump

TIGHTEST = 0.95
"""Below this there is no room for digits between the notes."""
IMPOSSIBLE = 0.7
"""Below this the notes themselves run into each other."""
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


@dataclass(frozen=True, slots=True)
class Setting:
    """How a piece is set: ``stretch`` of the natural spacing wished for, and the weight of ``phrasing``."""

    stretch: float
    phrasing: float


USUAL = Setting(stretch=1.12, phrasing=1.0)
SNUG = Setting(stretch=1.06, phrasing=0.5)
CLOSE = Setting(stretch=1.0, phrasing=0.15)
"""Still easily read; worth it where it saves a page or a turn."""


@dataclass(frozen=True)
class Measures:
    """Bars with what they take: natural widths, and how far they reach above and below.

    The width of the first bar has clef and signatures in it; ``prefix`` is what clef and key
    signature take on every later line. y is 0 at the top line of the staff.
    """

    bars: tuple[Bar, ...]
    widths: tuple[float, ...]
    prefix: float
    tops: tuple[float, ...] = ()
    bottoms: tuple[float, ...] = ()

    @cached_property
    def start_prices(self) -> tuple[float, ...]:
        """What it costs to begin a line with each bar: kept, for many ways to set the bars are tried."""
        phrases = phrase_positions(self.bars)
        return tuple(_start_price(phrases, start, self.bars) for start in range(len(self.bars)))


LinePrices = Sequence[Sequence[float]]
"""For each bar what the lines cost that begin with it: of one bar, of two, and on as long as they are possible."""


def price_lines(measures: Measures, room: float, setting: Setting = USUAL) -> LinePrices:
    """What is wrong with each line of the length ``room``."""
    count, sums = len(measures.bars), [0.0, *accumulate(measures.widths)]
    prices: list[list[float]] = []
    for start in range(count):
        begins = setting.phrasing * measures.start_prices[start]
        prefix = measures.prefix if start else 0.0
        of_start: list[float] = []
        for stop in range(start + 1, min(start + MOST_BARS, count) + 1):
            stretch = room / (sums[stop] - sums[start] + prefix)
            if stretch < IMPOSSIBLE and stop - start > 1:
                break
            density = _density_price(stretch / setting.stretch, stop - start, is_last=stop == count)
            of_start.append(density + _crowding_price(stretch, stop - start) + begins)
        prices.append(of_start)
    return prices


def choose_lines(prices: LinePrices, gains: Sequence[float] = ()) -> tuple[int, ...]:
    """The index of the bar that begins each line, the first is 0: the cheapest way through dynamic programming.

    ``gains`` says what it is worth to begin a line with each bar, besides its phrase.
    """
    count = len(prices)
    best, origin = [0.0] + [inf] * count, [0] * (count + 1)
    for start, of_start in enumerate(prices):
        gain = gains[start] if gains else 0.0
        for stop, price in enumerate(of_start, start + 1):
            whole = best[start] + (price - gain)
            if whole < best[stop]:
                best[stop], origin[stop] = whole, start
    starts: list[int] = []
    while count:
        count = origin[count]
        starts.append(count)
    return tuple(reversed(starts))


def sum_prices(prices: LinePrices, starts: Sequence[int]) -> float:
    """What is wrong with lines that begin so."""
    return sum(prices[start][stop - start - 1] for start, stop in pairwise((*starts, len(prices))))


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
