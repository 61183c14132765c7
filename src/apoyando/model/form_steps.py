"""What was done to a song's form on the way to the piece, step by step; never silent.

Conventions: positions count the bars of the song in the order in which they are played,
from 0; ranges of them are half-open. Sentences are for the player, with printed bar numbers.
"""

from dataclasses import dataclass
from enum import StrEnum


class FormAct(StrEnum):
    """The kinds of steps, in the order in which they are told."""

    SPELLED_OUT = "repeats and jumps written out"
    LEFT_OUT = "section left out"
    PLAYED_AGAIN = "section played again"
    SHORTENED = "bar shortened for the upbeat"
    INTRODUCTION = "introduction"
    ENDING = "ending"
    NOT_DONE = "not done"


@dataclass(frozen=True, slots=True, kw_only=True)
class FormStep:
    """One step.

    ``first`` and ``end`` are the positions that it speaks of: what is left out, or what is
    played ``times`` more at the end. An introduction has ``times`` bars. In the other steps
    all three are 0. ``bar`` is the index in the piece of the bar that is shortened, or in
    which the piece ends.
    """

    act: FormAct
    sentence: str
    first: int = 0
    end: int = 0
    times: int = 0
    bar: int = 0


@dataclass(frozen=True, slots=True)
class Form:
    """How the bars of the piece come from those of the song.

    ``sources`` has for each bar of the piece the index of its bar in the song, None for a
    bar of the introduction in which the accompaniment plays alone.
    """

    sources: tuple[int | None, ...]
    steps: tuple[FormStep, ...]

    def steps_of(self, act: FormAct) -> tuple[FormStep, ...]:
        return tuple(step for step in self.steps if step.act is act)
