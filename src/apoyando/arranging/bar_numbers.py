"""Bars by their printed numbers."""

from collections.abc import Callable

from apoyando.model.errors import UsageError
from apoyando.model.song import Bar, Song


def find_bar(song: Song, number: str, misplaced: Callable[[str], UsageError]) -> Bar:
    """The bar with a printed number. Raises what ``misplaced`` makes of the fault, told in words."""
    bars = [bar for bar in song.bars if bar.number == number]
    if not bars:
        first, last = song.bars[0].number, song.bars[-1].number
        raise misplaced(f"there is no bar {number}; the bars are numbered {first} to {last}.")
    if len(bars) > 1:
        raise misplaced(
            f"{len(bars)} bars are numbered {number}; give them numbers of their own in the song."
        )
    return bars[0]
