"""What relief goes by: how hard a bar is, where a level is passed, and what comes of another question."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

from apoyando.fingering import Problem
from apoyando.model.arrangement import Arrangement
from apoyando.model.level import Level
from apoyando.model.time import Quarters, Span

Measure = Callable[[Arrangement, Level], Sequence[float]]
"""The difficulty of every bar, in points, for the hand of a level."""


class Excess(Protocol):
    """A limit of the level, other than its points, that is passed at ``onset``.

    In ``stretch`` something would have to be other for it not to be passed; None where that is
    the whole piece, or its texture.
    """

    @property
    def onset(self) -> Quarters: ...
    @property
    def rule(self) -> str: ...
    @property
    def stretch(self) -> Span | None: ...


Find = Callable[[Arrangement, Level], Sequence[Excess]]
"""Every limit of a level that is passed, at most once for each bar and rule."""


def _find_none(_: Arrangement, __: Level) -> Sequence[Excess]:
    return ()


@dataclass(frozen=True, slots=True)
class Ruler:
    """How difficulty is measured, and the levels that are harder than the one asked for, easiest first.

    Where there are such, ``measure`` and ``find`` are sent to another process: functions that can be imported.
    """

    measure: Measure
    harder: tuple[Level, ...] = ()
    find: Find = _find_none
    hand_size: float = 1.0


class Remake(Protocol):
    """The arrangement that a question leads to; a trial need not be proven optimal. Raises NoWayError."""

    def __call__(self, problem: Problem, *, is_final: bool) -> Arrangement: ...
