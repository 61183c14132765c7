"""Bars that hold less or more than their meter: pickups, split bars, and mistakes.

A bar always keeps the length that it really has. A pickup at the start, a last bar that
completes it, a bar split in two at a repeat or a double bar, and a repeated stretch that
ends short before its own pickup are the custom; everything else is remarked on.
"""

from collections.abc import Sequence
from dataclasses import replace

from apoyando.model.song import Bar, Barline, ReadingRemark
from apoyando.model.time import Quarters


def settle_bar_lengths(bars: tuple[Bar, ...]) -> tuple[tuple[Bar, ...], tuple[ReadingRemark, ...]]:
    """The bars with their pickup marked and all numbered, and remarks on odd lengths."""
    marked = (replace(bars[0], is_pickup=_is_pickup(bars)), *bars[1:])
    numbered = _number_bars(marked)
    remarks = tuple(
        ReadingRemark(bar.number, describe_length(bar))
        for bar in numbered
        if not bar.is_pickup and not _is_customary(numbered, bar.index)
    )
    return numbered, remarks


def _is_pickup(bars: tuple[Bar, ...]) -> bool:
    return len(bars) > 1 and _lack(bars[0]) > 0


def _lack(bar: Bar) -> Quarters:
    """What the bar lacks to its meter; negative if it holds too much."""
    return bar.meter.bar_length - bar.span.duration


def _is_customary(bars: Sequence[Bar], index: int) -> bool:
    lack = _lack(bars[index])
    if lack == 0:
        return True
    return lack > 0 and (
        _is_completed_by(bars, index, index + 1)
        or _is_completed_by(bars, index - 1, index)
        or _completes_pickup(bars, index)
        or _leads_to_short_bar(bars, index)
    )


def _is_completed_by(bars: Sequence[Bar], first: int, second: int) -> bool:
    """Two neighbours that make one full bar, with a sign of the form between them."""
    if first < 0 or second >= len(bars):
        return False
    one, other = bars[first], bars[second]
    is_full = one.span.duration + other.span.duration == one.meter.bar_length
    return is_full and _has_sign_between(one, other)


def _has_sign_between(one: Bar, other: Bar) -> bool:
    return (
        one.repeat_times > 0
        or other.starts_repeat
        or one.barline is not Barline.REGULAR
        or one.endings != other.endings
        or bool(one.jumps or other.jumps)
    )


def _completes_pickup(bars: Sequence[Bar], index: int) -> bool:
    """The last bar, and the pickup of the first."""
    is_last = index == len(bars) - 1
    return is_last and bars[0].is_pickup and bars[0].span.duration == _lack(bars[index])


def _leads_to_short_bar(bars: Sequence[Bar], index: int) -> bool:
    """A stretch that ends short, because it or what comes next begins with a pickup."""
    bar = bars[index]
    is_end = bar.repeat_times > 0 or bar.ending_stops or bar.barline is not Barline.REGULAR
    starts = (0, *(other.index for other in bars[: index + 1] if other.starts_repeat))
    return is_end and any(bars[start].span.duration == _lack(bar) for start in starts)


def _number_bars(bars: tuple[Bar, ...]) -> tuple[Bar, ...]:
    """Count the bars without a number: a pickup is 0, the second half of a split bar goes with the first."""
    numbered: list[Bar] = []
    count = 0 if bars[0].is_pickup else 1
    for bar in bars:
        if bar.number:
            numbered.append(bar)
            continue
        if (
            numbered
            and _is_completed_by(bars, bar.index - 1, bar.index)
            and not numbered[-1].number.endswith("b")
        ):
            numbered.append(replace(bar, number=f"{numbered[-1].number}b"))
            continue
        numbered.append(replace(bar, number=str(count)))
        count += 1
    return tuple(numbered)


def describe_length(bar: Bar) -> str:
    """The remark on a bar that is longer or shorter than its meter."""
    beats = bar.span.duration * bar.meter.beat_unit / 4
    word = "more" if _lack(bar) < 0 else "less"
    counted = "1 beat" if beats == 1 else f"{beats} beats"
    return f"The bar holds {counted}, {word} than its meter {bar.meter}: it is kept as long as it is."
