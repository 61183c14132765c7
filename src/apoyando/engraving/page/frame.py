"""The sheet of paper in the units of the drawing.

Everything is drawn round a staff of one size, ``layout.SPACE``; a larger staff is had by
a smaller sheet in those units, which the page then shows at its true size. So large print
is the same drawing with fewer notes on a line.

Conventions: hundredths of a millimetre on a sheet with the usual staff.
"""

from dataclasses import dataclass

from apoyando.model.sheet import USUAL_STAFF_MM, Sheet

UNITS_PER_MM = 100.0


@dataclass(frozen=True, slots=True)
class Frame:
    """The sheet and the room inside its margins, and how large it is printed."""

    width: float
    height: float
    margin: float
    width_mm: float
    height_mm: float

    @property
    def line_width(self) -> float:
        return self.width - 2 * self.margin

    @property
    def right(self) -> float:
        return self.width - self.margin

    @property
    def bottom(self) -> float:
        return self.height - self.margin

    @property
    def middle(self) -> float:
        return self.width / 2


def make_frame(sheet: Sheet, chosen_staff_mm: float = USUAL_STAFF_MM) -> Frame:
    """The frame of a sheet; ``chosen_staff_mm`` counts where the sheet leaves the staff open."""
    units = UNITS_PER_MM * USUAL_STAFF_MM / (sheet.staff_mm or chosen_staff_mm)
    width_mm, height_mm = sheet.paper.size_mm
    return Frame(width_mm * units, height_mm * units, sheet.margin_mm * units, width_mm, height_mm)
