"""The two hands."""

from enum import IntEnum, StrEnum

ROMAN_NUMERALS = (
    ("X", 10),
    ("IX", 9),
    ("V", 5),
    ("IV", 4),
    ("I", 1),
)


class Finger(IntEnum):
    """Left-hand fingers; OPEN for an open string, which needs none."""

    OPEN = 0
    INDEX = 1
    MIDDLE = 2
    RING = 3
    LITTLE = 4


class Pluck(StrEnum):
    """Right-hand fingers by their Spanish letters (pulgar, índice, medio, anular)."""

    P = "p"
    I = "i"  # noqa: E741 - the trade's own letter
    M = "m"
    A = "a"


FINGERS: tuple[Finger, ...] = tuple(finger for finger in Finger if finger > Finger.OPEN)
"""The four that press."""
FINGER_PAIRS: tuple[tuple[Finger, Finger], ...] = tuple(
    (low, high) for low in FINGERS for high in FINGERS if low < high
)

GUIDE_FINGER = "guide finger"
"""A finger that goes along its string to the next note that it stops."""

HARMONIC_WORD = "harm."
"""What stands over a natural harmonic, before the fret where the string is touched."""


def roman(fret: int) -> str:
    """A position as players write it: 7 -> VII."""
    written = ""
    for letters, value in ROMAN_NUMERALS:
        while fret >= value:
            written += letters
            fret -= value
    return written
