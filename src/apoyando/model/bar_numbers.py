"""Bars by their printed numbers."""

from collections.abc import Callable, Sequence

from apoyando.model.errors import UsageError
from apoyando.model.song import Bar


def find_bar(bars: Sequence[Bar], number: str, misplaced: Callable[[str], UsageError] = UsageError) -> Bar:
    """The bar with a printed number. Raises what ``misplaced`` makes of the fault, told in words."""
    found = [bar for bar in bars if bar.number == number]
    if not found:
        raise misplaced(tell_no_bar(bars, number))
    if len(found) > 1:
        raise misplaced(
            f"{len(found)} bars are numbered {number}; give them numbers of their own in the song."
        )
    return found[0]


def tell_no_bar(bars: Sequence[Bar], number: str) -> str:
    return f"there is no bar {number}; the bars are numbered {bars[0].number} to {bars[-1].number}."
