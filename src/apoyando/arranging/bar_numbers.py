"""Bars by their printed numbers."""

from collections.abc import Callable

from apoyando.model.errors import UsageError
from apoyando.model.plan import Section
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


def find_bars(song: Song, section: Section, number: int) -> range:
    """The indices of the bars of a section; ``number`` is its own in the plan. Raises UsageError."""

    def misplaced(what: str) -> UsageError:
        return UsageError(f'Section {number} of the plan, "{section}", cannot be meant: {what}')

    first = find_bar(song, section.bar, misplaced)
    last = find_bar(song, section.to_bar, misplaced) if section.to_bar else first
    if last.index < first.index:
        raise misplaced("it ends before it begins.")
    return range(first.index, last.index + 1)
