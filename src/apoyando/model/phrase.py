"""Phrases of a melody, and which of its notes are long."""

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from typing import TypeVar

from apoyando.model.time import Spanned

PHRASE_REST = Fraction(1, 2)
"""A rest of at least an eighth ends a phrase (common practice, no source)."""
LONG_NOTE = Fraction(2)
"""A note of at least a half note is long, and ends a phrase too (common practice, no source)."""
SHORTEST_OF_LINE = Fraction(1, 4)
"""A written-out grace, turn, mordent or trill is known by notes shorter than a sixteenth (common practice)."""

Sung = TypeVar("Sung", bound=Spanned)


def is_long(note: Spanned) -> bool:
    return note.duration >= LONG_NOTE


def is_ornament(note: Spanned) -> bool:
    return note.duration < SHORTEST_OF_LINE


def split_phrases(melody: Sequence[Sung]) -> list[list[Sung]]:
    """The notes of a melody by phrases, which end at a rest and after a long note."""
    phrases: list[list[Sung]] = [[]]
    for note, following in pairwise([*melody, None]):
        assert note is not None  # noqa: S101 - only the last of a pair can be None
        phrases[-1].append(note)
        if following is None:
            break
        if following.onset - note.offset >= PHRASE_REST or is_long(note):
            phrases.append([])
    return [phrase for phrase in phrases if phrase]
