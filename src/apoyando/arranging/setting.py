"""What an arrangement is made under."""

from dataclasses import dataclass

from apoyando.model.instrument import LAST_FRET, Tuning
from apoyando.model.level import Level
from apoyando.model.prices import Prices


@dataclass(frozen=True, slots=True)
class Setting:
    """What the arrangement is made under."""

    tuning: Tuning
    level: Level
    prices: Prices
    seconds_per_quarter: float
    capo: int = 0

    @property
    def last_fret(self) -> int:
        """The highest fret that there is, counted from the capo."""
        return LAST_FRET - self.capo
