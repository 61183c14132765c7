"""Where systems and pages begin, and how large they are, told without any drawing."""

from collections.abc import Sequence
from fractions import Fraction

from apoyando.engraving.notation.layout import Layout
from apoyando.engraving.page.page import Page
from apoyando.engraving.staff.layout import SPACE

TENTHS_OF_A_STAFF = 40
SPACES_OF_A_STAFF = 4


def tell_layout(pages: Sequence[Page]) -> Layout:
    """The layout of the pages of a piece; lengths to two decimals."""
    frame = pages[0].frame
    starts = [[line.bars.start for _, line in page.lines] for page in pages]
    mm = frame.width_mm / frame.width
    staff_mm = _rounded(SPACES_OF_A_STAFF * SPACE * mm)
    tenths = TENTHS_OF_A_STAFF / staff_mm
    return Layout(
        systems=frozenset(bar for bars in starts for bar in bars) - {starts[0][0]},
        pages=frozenset(bars[0] for bars in starts[1:]),
        staff_mm=staff_mm,
        width_tenths=_rounded(frame.width_mm * tenths),
        height_tenths=_rounded(frame.height_mm * tenths),
        margin_tenths=_rounded(frame.margin * mm * tenths),
    )


def _rounded(number: Fraction | float) -> Fraction:
    return Fraction(round(number * 100), 100)
