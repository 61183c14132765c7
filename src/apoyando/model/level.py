"""What a player of a certain level can be asked for.

Conventions: spans in millimetres between two finger tips on a 650 mm scale.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from apoyando.model.hand import FINGERS, Finger
from apoyando.model.time import Quarters


@dataclass(frozen=True, slots=True)
class SpanLimit:
    """How far two fingers open: without effort, and at the outermost."""

    comfortable_mm: float
    outermost_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """A table of limits. ``barre_quarters`` is 0 where no barre is allowed.

    ``small_barres``: any finger may lie flat over neighbouring strings, and finger 1 need not
    cover all strings up to string 1.
    ``peak_fret`` is for a single highest melody note over open strings.
    ``shift_frets`` is the farthest shift between neighbouring notes.
    """

    name: str
    accompaniment_highest_fret: int
    melody_highest_fret: int
    peak_fret: int
    spans: Mapping[tuple[Finger, Finger], SpanLimit]
    barre_quarters: Quarters
    shift_frets: int
    accompaniment_shortest: Quarters
    melody_shortest: Quarters
    struck_together: int
    small_barres: bool = False

    @property
    def allows_barre(self) -> bool:
        return self.barre_quarters > Fraction(0)

    @property
    def flat_fingers(self) -> tuple[Finger, ...]:
        """The fingers that may lie flat across several strings."""
        if not self.allows_barre:
            return ()
        return FINGERS if self.small_barres else (Finger.INDEX,)
