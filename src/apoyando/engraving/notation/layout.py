"""How a score lies on its pages, for those who write it down and do not draw it."""

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """The bars, by their indices, that begin a system, and of those the ones that begin a page; without the first.

    ``tenths`` are of a space of the staff, as MusicXML counts: ten between two lines.
    """

    systems: frozenset[int]
    pages: frozenset[int]
    staff_mm: Fraction
    width_tenths: Fraction
    height_tenths: Fraction
    margin_tenths: Fraction
