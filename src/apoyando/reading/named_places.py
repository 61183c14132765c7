"""Where in a song a player means: a bar by its printed number and a beat in it."""

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from typing import Protocol, TypeVar

from apoyando.model.bar_numbers import find_bar
from apoyando.model.beat import count_beat, find_beat, name_count
from apoyando.model.errors import UsageError
from apoyando.model.song import Song
from apoyando.model.time import Quarters


class Named(Protocol):
    """What names a place; its ``str`` is how a player would say it."""

    @property
    def bar(self) -> str: ...
    @property
    def beat(self) -> Fraction: ...


Change = TypeVar("Change", bound=Named)


def place_changes(song: Song, changes: Sequence[Change], what: str) -> list[tuple[Quarters, Change]]:
    """The changes with their moments, in the order of time; ``what`` each is called, as "chord".

    Raises UsageError for a bar or beat that there is not, and for two changes at one place.
    """
    placed = sorted(((_find_moment(song, each, what), each) for each in changes), key=lambda pair: pair[0])
    for (moment, one), (other_moment, other) in pairwise(placed):
        if moment == other_moment:
            raise UsageError(f"the {what}s of the plan name one place twice: {one}; {other}. Take one out.")
    return placed


def _find_moment(song: Song, change: Named, what: str) -> Quarters:
    def misplaced(fault: str) -> UsageError:
        return UsageError(f'the {what} "{change}" cannot be meant: {fault}')

    bar = find_bar(song.bars, change.bar, misplaced)
    moment = find_beat(bar, change.beat)
    if not bar.span.contains(moment):
        first, last = count_beat(bar, bar.onset), count_beat(bar, bar.offset)
        raise misplaced(
            f"bar {bar.number} goes from beat {name_count(first)} to before beat {name_count(last)}."
        )
    return moment
