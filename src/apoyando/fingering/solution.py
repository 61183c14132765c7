"""The answer: what every voice does in every slice, and what it costs."""

from dataclasses import dataclass

from apoyando.fingering.touches import Touch


@dataclass(frozen=True, slots=True)
class Chosen:
    """What one voice does in one slice: which candidate, by which touch."""

    candidate: int
    touch: Touch


@dataclass(frozen=True, slots=True)
class ChosenSlice:
    """One slice of the answer: each voice's choice, None where it is silent.

    ``barre_fret`` is 0 without a barre.
    """

    voices: tuple[Chosen | None, ...]
    position: int
    barre_fret: int
    barre_string: int


@dataclass(frozen=True, slots=True)
class Solution:
    """The cheapest way. Law: ``lower_bound <= price``, equal if ``is_optimal``."""

    slices: tuple[ChosenSlice, ...]
    price: int
    lower_bound: int
    is_optimal: bool
