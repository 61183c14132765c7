"""What the causes of difficulty look at, and what they find."""

from collections.abc import Callable
from dataclasses import dataclass

from apoyando.model.arrangement import Arrangement
from apoyando.model.level import Level
from apoyando.model.time import Quarters
from apoyando.teaching.stroke import Stroke
from apoyando.teaching.wording import name_beat


@dataclass(frozen=True, slots=True)
class Trouble:
    """One hard thing: when, how much of it, and what happens (to follow "Bar 3: ").

    It is put into words only where it is told: a piece is measured many times while it is made.
    """

    onset: Quarters
    amount: float
    tell: Callable[[], str]


@dataclass(frozen=True, slots=True)
class Passage:
    """An arrangement under the eyes of a level. ``strokes`` are those of the arrangement."""

    arrangement: Arrangement
    level: Level
    hand_size: float
    strokes: tuple[Stroke, ...]

    def seconds(self, quarters: Quarters) -> float:
        return float(quarters * 60 / self.arrangement.tempo_quarters_per_minute)

    def beat(self, moment: Quarters) -> str:
        return name_beat(self.arrangement.bars, moment)
