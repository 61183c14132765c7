"""Note values and lines of notes in words, for messages."""

from collections.abc import Iterable
from fractions import Fraction
from itertools import groupby

from apoyando.model.beat import name_count
from apoyando.model.pitch import Pitch
from apoyando.model.time import Quarters

VALUE_NAMES = {
    Fraction(1, 16): "sixty-fourth",
    Fraction(1, 8): "thirty-second",
    Fraction(1, 6): "triplet sixteenth",
    Fraction(1, 4): "sixteenth",
    Fraction(1, 3): "triplet eighth",
    Fraction(3, 8): "dotted sixteenth",
    Fraction(1, 2): "eighth",
    Fraction(2, 3): "triplet quarter",
    Fraction(3, 4): "dotted eighth",
    Fraction(1): "quarter",
    Fraction(3, 2): "dotted quarter",
    Fraction(2): "half note",
    Fraction(3): "dotted half note",
    Fraction(4): "whole note",
}
"""The note values that have a name of their own, by their lengths in quarters."""


def name_value(quarters: Quarters, count: int = 1) -> str:
    """So many notes of one length: "eighth", "eighths", "notes of 5 quarters"."""
    plural = "s" if count > 1 else ""
    if quarters in VALUE_NAMES:
        return VALUE_NAMES[quarters] + plural
    length = f"{quarters} of a quarter" if quarters < 1 else f"{name_count(quarters)} quarters"
    return f"note{plural} of {length}"


def name_line(notes: Iterable[tuple[Quarters, Pitch]]) -> str:
    """Lengths and pitches in order: "dotted eighth C5, sixteenth D5, quarters E5 F5"."""
    groups = [
        (length, [str(pitch) for _, pitch in group]) for length, group in groupby(notes, lambda n: n[0])
    ]
    return ", ".join(f"{name_value(length, len(names))} {' '.join(names)}" for length, names in groups)
