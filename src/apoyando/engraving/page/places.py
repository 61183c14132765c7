"""Where systems and pages begin, where the credits stand, and how large they are, told without any drawing."""

from collections.abc import Iterator, Sequence
from fractions import Fraction

from apoyando.engraving.drawing.shapes import Text
from apoyando.engraving.notation.layout import CreditPlace, Layout
from apoyando.engraving.page.page import Page
from apoyando.engraving.staff.layout import SPACE

TENTHS_OF_A_STAFF = 40
SPACES_OF_A_STAFF = 4
POINTS_PER_MM = 72 / 25.4
SIDES = {"start": "left", "middle": "center", "end": "right"}


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
        credits=dict(_place_credits(pages[0], mm, mm * tenths)),
    )


def _place_credits(page: Page, mm: float, tenths: float) -> Iterator[tuple[str, CreditPlace]]:
    """The first line of each credit; ``mm`` and ``tenths`` are those of one unit of the frame."""
    for shape in reversed(page.heading.shapes):
        text = shape.drawing
        if isinstance(text, Text) and shape.owner:
            yield (
                shape.owner,
                CreditPlace(
                    x_tenths=_rounded(text.x * tenths),
                    y_tenths=_rounded((page.frame.height - text.y) * tenths),
                    side=SIDES[text.anchor],
                    size_points=_rounded(text.pieces[0].size * mm * POINTS_PER_MM),
                ),
            )


def _rounded(number: Fraction | float) -> Fraction:
    return Fraction(round(number * 100), 100)
