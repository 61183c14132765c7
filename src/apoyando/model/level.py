"""What a player of a certain level can be asked for.

Conventions: spans in millimetres between two finger tips on a 650 mm scale. Lengths of time
are in quarters as they are played up to ``tempo_quarters_per_minute``.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from math import inf

from apoyando.model.hand import FINGERS, Finger
from apoyando.model.pitch import Key
from apoyando.model.time import Quarters

USUAL_BAR = Fraction(4)
"""Common time; the bars whose points the levels were drawn from are hardly longer (docs/difficulty.md)."""


@dataclass(frozen=True, slots=True)
class SpanLimit:
    """How far two fingers open: without effort, and at the outermost."""

    comfortable_mm: float
    outermost_mm: float


class BarreKind(StrEnum):
    """Barres of finger 1. A hinge barre is laid down or lifted while a note of its finger goes on."""

    HALF = "half"
    FULL = "full"
    HINGE = "hinge"


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """A table of limits; ``docs/levels.md`` gives the meaning of each. The defaults set no limit.

    ``barre_quarters`` is 0 where no barre is allowed. ``barre_rest`` is the shortest rest of
    the barring finger between one barre and the next.
    ``small_barres``: any finger may lie flat over neighbouring strings, and finger 1 need not
    cover all strings up to string 1.
    ``spans_from_nearest``: a span from a barre is measured from the nearest string that it
    covers; else from each of its notes, as one measures on the page. A small barre always is
    measured so.
    ``peak_fret`` is for a single highest melody note over open strings.
    ``shift_frets`` is the farthest shift between neighbouring notes, ``shift_quarters`` the
    shortest time for one where no open string and no rest lets the hand go.
    ``tempo_quarters_per_minute``: up to here the shortest values and ``shift_quarters`` are as
    they are; at a faster tempo they are longer in proportion, so that their seconds stay.
    ``melody_stepwise_shortest``: melody notes shorter than ``melody_shortest``, but not than
    this, may come two in a row where each goes on by step.
    ``melody_simplified``: unless the player wants it as written the melody is simplified until
    nothing in it is shorter than ``melody_shortest``.
    ``harmonics``: a piece may end on natural harmonics.
    ``most_points`` is the most that a bar of four quarters or less may ask, in the points of
    ``docs/difficulty.md``; a longer one may ask more in proportion.
    ``keys`` may be asked for freely (empty: every key), ``keys_over_open_basses`` only where
    at least half of the basses are open strings. ``strums``: more notes than
    ``struck_together`` may be struck with one sweep over neighbouring strings.
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
    spans_from_nearest: bool = True
    barre_kinds: tuple[BarreKind, ...] = tuple(BarreKind)
    barre_rest: Quarters = Fraction(0)
    shift_quarters: Quarters = Fraction(0)
    melody_stepwise_shortest: Quarters = Fraction(0)
    melody_simplified: bool = False
    tempo_quarters_per_minute: int = 1000
    strums: bool = True
    harmonics: bool = True
    most_points: float = inf
    keys: tuple[Key, ...] = ()
    keys_over_open_basses: tuple[Key, ...] = ()

    @property
    def allows_barre(self) -> bool:
        return self.barre_quarters > Fraction(0)

    @property
    def barre_lies_across(self) -> bool:
        """Whether a span from a barre may be measured from wherever it lies on up to string 1."""
        return self.spans_from_nearest and not self.small_barres

    @property
    def flat_fingers(self) -> tuple[Finger, ...]:
        """The fingers that may lie flat across several strings."""
        if not self.allows_barre:
            return ()
        return FINGERS if self.small_barres else (Finger.INDEX,)

    def points_for(self, quarters: Quarters) -> float:
        """The most points that a bar of so many quarters may ask."""
        return self.most_points * float(max(Fraction(1), quarters / USUAL_BAR))

    def at_tempo(self, quarters: Quarters, tempo_quarters_per_minute: Fraction) -> Quarters:
        """A length that takes as many seconds at this tempo as ``quarters`` do at the level's own.

        At a slower tempo than the level's own it is ``quarters`` itself.
        """
        return quarters * max(Fraction(1), tempo_quarters_per_minute / self.tempo_quarters_per_minute)

    def fastest_for(self, quarters: Quarters, shortest: Quarters) -> Fraction | None:
        """The fastest tempo at which a length is not below ``shortest`` (``at_tempo``); None where none is slow enough."""
        if quarters < shortest:
            return None
        return self.tempo_quarters_per_minute * quarters / shortest
