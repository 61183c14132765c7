"""Which bars share a line.

Chosen by dynamic programming over a price: lines should be about equally dense and begin
where phrases begin.

Conventions: widths in hundredths of a millimetre on the usual staff (``frame``).
"""

from collections.abc import Callable, Sequence
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


def choose_lines(
    measures: Measures, room: float, setting: Setting = USUAL, gains: Sequence[float] = ()
) -> tuple[int, ...]:
    """The index of the bar that begins each line, for lines of the length ``room``; the first is 0.

    ``gains`` says what it is worth to begin a line with each bar, besides its phrase.
    """
    return _cheapest_cuts(len(measures.bars), MOST_BARS, _line_price(measures, room, setting, gains))


def price_lines(measures: Measures, room: float, starts: Sequence[int]) -> float:
    """What is wrong with lines that begin so, by the usual setting."""
    price = _line_price(measures, room, USUAL)
    return sum(price(start, stop) for start, stop in pairwise((*starts, len(measures.bars))))


def _line_price(
    measures: Measures, room: float, setting: Setting, gains: Sequence[float] = ()
) -> Callable[[int, int], float]:
    count, sums = len(measures.bars), [0.0, *accumulate(measures.widths)]
    begins = [setting.phrasing * price for price in measures.start_prices]
    gained = gains or [0.0] * count

    def price(start: int, stop: int) -> float:
        stretch = room / (sums[stop] - sums[start] + (measures.prefix if start else 0.0))
        if stretch < IMPOSSIBLE and stop - start > 1:
            return inf
        density = _density_price(stretch / setting.stretch, stop - start, is_last=stop == count)
        return density + _crowding_price(stretch, stop - start) + begins[start] - gained[start]

    return price


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
    """Where each piece starts when 0..count is cut into pieces of at most ``most`` at the least price.

    A piece that is impossible for its length (its price is infinite) is so at every greater length.
    """
    best = [0.0] + [inf] * count
    origin = [0] * (count + 1)
    for stop in range(1, count + 1):
        for start in range(stop - 1, max(0, stop - most) - 1, -1):
            piece = price(start, stop)
            if piece == inf:
                break
            if best[start] + piece <= best[stop]:
                best[stop], origin[stop] = best[start] + piece, start
    cuts: list[int] = []
    while count:
        count = origin[count]
        cuts.append(count)
    return tuple(reversed(cuts))
