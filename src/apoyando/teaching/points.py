"""How much each cause of difficulty counts: every number of the room, with its reason.

A bar with five points is harder than three of four that the program writes at intermediate,
a bar with ten harder than 98 of 100 (``docs/difficulty.md``). The rates weigh causes against each other; all are estimates to be
tuned by teachers (no published source was found), except where one is named.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum


class Cause(StrEnum):
    """What makes a bar hard."""

    HOLDS = "holds"
    STRETCH = "stretch"
    SHIFT = "shift"
    BARRE = "barre"
    SPEED = "speed"
    READING = "reading"


@dataclass(frozen=True, slots=True)
class Rate:
    """What one unit of a cause counts, and why so much."""

    points: float
    unit: str
    reason: str


RATES: Mapping[Cause, Rate] = {
    Cause.HOLDS: Rate(
        0.5,
        "finger that stays while another is set down",
        "a finger that stays takes freedom from its neighbours, but does nothing itself",
    ),
    Cause.STRETCH: Rate(
        2.0,
        "stretch to the outermost span of the level (half of it: half way there from comfortable)",
        "the outermost is reached once in a hundred shapes: worth more than any plain change",
    ),
    Cause.SHIFT: Rate(
        0.5,
        "decimetre per second between two positions",
        "from position I to V within an eighth at a quarter = 96 is 4 of them: about two plain changes",
    ),
    Cause.BARRE: Rate(
        1.0,
        "quarter of a full barre, laying it down counting as two (a half barre by its share of the strings)",
        "two beats in one go, the longest the intermediate level asks: four points. In quarters and not in "
        "seconds, for a faster tempo tires less but leaves less time to lay it down well",
    ),
    Cause.SPEED: Rate(
        0.5,
        "stroke at twice the relaxed rate (three times: two of them)",
        "one fast stroke is easy, a bar of them is not",
    ),
    Cause.READING: Rate(
        0.3,
        "accidental, or string by which a note is away from its easiest one (a ledger line, or a note that "
        "the key signature alters: a fifth of it)",
        "each costs a look, none costs a movement",
    ),
}

LAYING_QUARTERS = 2
"""Laying a barre down so that every string sounds is worth as much as keeping it so long (estimate)."""
SMALL_LOOK = 0.2
"""Ledger lines and signatures are learned once; still they make a page harder to read at sight (estimate)."""
RELAXED_STROKES_PER_SECOND = 2.7
"""Relaxed scales at the middle of eight grades of one examining board (references.md, second-hand)."""

HARD_POINTS = 5.0
"""Below this no bar is called hard: three of four bars that the program writes at intermediate."""
FEWEST_HARD_BARS = 2
MOST_HARD_BARS = 3
THIRD_BAR_SHARE = 0.8
"""A third bar is shown if it is nearly as hard as the second: with more, none of them stands out."""
SECOND_REASON_SHARE = 0.67
"""A second reason is told if its part is nearly as large as the first."""
