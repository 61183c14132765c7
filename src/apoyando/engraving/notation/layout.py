"""How a score lies on its pages, for those who write it down and do not draw it."""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class CreditPlace:
    """Where the first line of a credit stands, from the lower left corner of the first page.

    ``side`` says which end of it lies at ``x_tenths``: left, center or right; ``y_tenths`` is its baseline.
    """

    x_tenths: Fraction
    y_tenths: Fraction
    side: str
    size_points: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """The bars, by their indices, that begin a system, and of those the ones that begin a page; without the first.

    ``tenths`` are of a space of the staff, as MusicXML counts: ten between two lines. ``credits`` go by their kind.
    """

    systems: frozenset[int]
    pages: frozenset[int]
    staff_mm: Fraction
    width_tenths: Fraction
    height_tenths: Fraction
    margin_tenths: Fraction
    credits: Mapping[str, CreditPlace]
