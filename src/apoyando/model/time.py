"""Score time.

Conventions: time is counted in quarter notes from the start of the piece as an exact
``Fraction``; spans are half-open, ``onset <= t < offset``. The word "beat" depends on
the meter and is only used in messages to the player.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import lcm
from typing import TypeVar

Quarters = Fraction
"""A point in score time, or a length of it, in quarter notes."""


@dataclass(frozen=True, slots=True)
class Span:
    """A half-open stretch of score time. Law: ``onset < offset``."""

    onset: Quarters
    offset: Quarters

    def __post_init__(self) -> None:
        if not self.onset < self.offset:
            message = f"a span must end after it starts, not {self.onset}..{self.offset}"
            raise ValueError(message)

    @property
    def duration(self) -> Quarters:
        return self.offset - self.onset

    def contains(self, moment: Quarters) -> bool:
        return self.onset <= moment < self.offset

    def overlaps(self, other: "Span") -> bool:
        return self.onset < other.offset and other.onset < self.offset


_Thing = TypeVar("_Thing")


def in_whole_units(moments: Sequence[Quarters]) -> list[int]:
    """Moments as whole numbers of the longest unit that measures them all: these are compared ten times as fast."""
    units = lcm(*[moment.denominator for moment in moments])
    return [moment.numerator * (units // moment.denominator) for moment in moments]


def sort_by_moment(things: Iterable[_Thing], moment: Callable[[_Thing], Quarters]) -> list[_Thing]:
    """Things in order of time, those of one moment as they were given."""
    listed = list(things)
    places = in_whole_units([moment(thing) for thing in listed])
    return [listed[index] for index in sorted(range(len(listed)), key=places.__getitem__)]


def in_order(moments: Sequence[Quarters]) -> list[Quarters]:
    """The different moments among some."""
    by_place = dict(zip(in_whole_units(moments), moments, strict=True))
    return [by_place[place] for place in sorted(by_place)]


def group_by_moment(
    things: Iterable[_Thing], moment: Callable[[_Thing], Quarters]
) -> list[tuple[Quarters, list[_Thing]]]:
    """Things in order of time, those of one moment together as they were given."""
    listed = list(things)
    moments = [moment(thing) for thing in listed]
    groups: dict[int, tuple[Quarters, list[_Thing]]] = {}
    for place, at, thing in zip(in_whole_units(moments), moments, listed, strict=True):
        groups.setdefault(place, (at, []))[1].append(thing)
    return [groups[place] for place in sorted(groups)]


class Moments:
    """Moments in order, to be asked how many lie before another.

    They are kept as whole numbers, which are compared ten times as fast.
    """

    __slots__ = ("_places", "_units")

    def __init__(self, moments: Sequence[Quarters]) -> None:
        self._units = lcm(*[moment.denominator for moment in moments])
        self._places = [moment.numerator * (self._units // moment.denominator) for moment in moments]

    def __len__(self) -> int:
        return len(self._places)

    def count_before(self, moment: Quarters) -> int:
        return bisect_left(self._places, -(-moment.numerator * self._units // moment.denominator))

    def count_until(self, moment: Quarters) -> int:
        """Those at the moment itself too."""
        return bisect_right(self._places, moment.numerator * self._units // moment.denominator)


class Spanned:
    """What has a ``span``: its onset, its offset and its duration are the span's."""

    __slots__ = ()
    span: Span

    @property
    def onset(self) -> Quarters:
        return self.span.onset

    @property
    def offset(self) -> Quarters:
        return self.span.offset

    @property
    def duration(self) -> Quarters:
        return self.span.duration
