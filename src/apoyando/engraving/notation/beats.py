"""What the tempo is counted in, alike on the page and in the file: the felt pulse of the meter."""

from fractions import Fraction

from apoyando.engraving.notation.values import NoteValue
from apoyando.model.song import Meter

COUNTED = tuple(Fraction(base) for base in ("4", "2", "1", "1/2", "1/4"))
"""The note values that a metronome mark may have, plain or dotted."""


def metronome_value(meter: Meter) -> NoteValue:
    """Dotted quarters in 6/8, halves in cut time, quarters in 3/4; quarters where no one note is the pulse."""
    values = (NoteValue(base, dots) for base in COUNTED for dots in (0, 1))
    return next((value for value in values if value.quarters == meter.pulse), NoteValue(Fraction(1)))
