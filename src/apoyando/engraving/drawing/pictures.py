"""Shapes by themselves as one picture: an SVG document just as large as what is drawn.

Conventions: hundredths of a millimetre; no signs of the music font, whose outlines only the
page carries.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from apoyando.engraving.drawing.boxes import hull
from apoyando.engraving.drawing.shapes import Shape


@dataclass(frozen=True, slots=True)
class Picture:
    """An SVG document and its size."""

    svg: str
    width_mm: float
    height_mm: float


def draw_picture(shapes: Sequence[Shape]) -> Picture:
    """A picture of shapes, of which there must be one at least."""
    box = hull(box for shape in shapes for box in shape.boxes())
    width_mm, height_mm = round(box.width / 100, 3), round(box.height / 100, 3)
    size = f'width="{width_mm}mm" height="{height_mm}mm"'
    seen = f'viewBox="{box.left:.1f} {box.top:.1f} {box.width:.1f} {box.height:.1f}"'
    drawn = "".join(shape.drawing.draw() for shape in shapes)
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" {size} {seen}>{drawn}</svg>'
    return Picture(svg, width_mm, height_mm)
