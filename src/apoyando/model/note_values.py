"""Note values and lines of notes in words, for messages."""

from collections.abc import Iterable, Iterator
from fractions import Fraction
from itertools import groupby

from apoyando.model.beat import name_count
from apoyando.model.pitch import Pitch
from apoyando.model.time import Quarters, Span

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


def name_line(notes: Iterable[tuple[Span, Pitch]], until: Quarters) -> str:
    """Lengths and pitches in order: "dotted eighth C5, sixteenth D5, quarters E5 F5, eighth rest".

    ``until`` is the end of the stretch that they are in; what is left of it is a rest.
    """
    entries = list(_entries(notes, until))
    groups = [(value, [name for _, name in group]) for value, group in groupby(entries, lambda each: each[0])]
    return ", ".join(f"{name_value(length, len(names))} {' '.join(names)}" for (length, _), names in groups)


def _entries(
    notes: Iterable[tuple[Span, Pitch]], until: Quarters
) -> Iterator[tuple[tuple[Quarters, bool], str]]:
    """Each note or rest: its length, whether it sounds, and what it is called."""
    reached: Quarters | None = None
    for span, pitch in notes:
        if reached is not None and reached < span.onset:
            yield (span.onset - reached, False), "rest"
        yield (span.duration, True), str(pitch)
        reached = span.offset
    if reached is not None and reached < until:
        yield (until - reached, False), "rest"
