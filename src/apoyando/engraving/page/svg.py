"""Drawings: pages and cuttings as SVG documents.

A drawing has the outlines of its music signs inside; text stays text, in the family of
``typeface``. What belongs to a note stands in a group with the note's id (``heads``); the group
of a system says in ``data-bars`` which bars it has and from where to where: "0:1520:4310 1:4310:6905".

Conventions: the units of ``frame``; what is printed is as large as on the page.
"""

from collections.abc import Iterable, Sequence

from apoyando.engraving.drawing.boxes import Box, hull
from apoyando.engraving.drawing.shapes import Glyph, glyph_outline
from apoyando.engraving.page.frame import Frame
from apoyando.engraving.page.lines import Line
from apoyando.engraving.page.page import Page
from apoyando.engraving.page.trials import LEAST_GAP
from apoyando.engraving.staff.digits import BLANK
from apoyando.engraving.staff.layout import GRID, SPACE, STAFF_LINES

AIR = 0.5 * SPACE
"""Left free round the ink of a cutting."""


def write_page(page: Page) -> str:
    """One page as an SVG document."""
    frame, lines = page.frame, [line for _, line in page.lines]
    heading = [shape.draw() for shape in page.heading.shapes]
    music = [_draw_line(line, frame.margin, y) for y, line in page.lines]
    return _write_document(Box(0, 0, frame.width, frame.height), frame, lines, [*heading, *music])


def write_cutting(lines: Sequence[Line], frame: Frame) -> str:
    """Lines one under the other as an SVG document, cropped to their ink with a little air."""
    stacked: list[tuple[float, Line]] = []
    y = 0.0
    for line in lines:
        stacked.append((y - line.box.top, line))
        y += line.box.height + LEAST_GAP
    ink = hull(line.box.moved(0, y) for y, line in stacked)
    return _write_document(ink.grown(AIR), frame, lines, [_draw_line(line, 0, y) for y, line in stacked])


def _write_document(view: Box, frame: Frame, lines: Iterable[Line], drawn: Iterable[str]) -> str:
    """The document on which ``view`` is seen, with the outlines of all signs of its lines."""
    mm = frame.width_mm / frame.width
    size = f'width="{view.width * mm:.6g}mm" height="{view.height * mm:.6g}mm"'
    seen = f'viewBox="{view.left:.0f} {view.top:.0f} {view.width:.0f} {view.height:.0f}"'
    drawings = (shape.drawing for line in lines for shape in line.shapes)
    codes = sorted({drawing.code for drawing in drawings if isinstance(drawing, Glyph)})
    outlines = (f'<path id="{code}" d="{glyph_outline(code)}" transform="scale(1 -1)" />' for code in codes)
    defined = f"<defs>{''.join(outlines)}</defs>"
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size} {seen}>{defined}{"".join(drawn)}</svg>'


def _draw_line(line: Line, x: float, y: float) -> str:
    """Staff lines lowest, then the blanks for digits, then the rest, note by note."""
    place = f"translate({x:.0f} {y:.1f})"
    bars = " ".join(f"{index}:{at.left:.0f}:{at.right:.0f}" for index, at in sorted(line.extents.items()))
    lowest: list[str] = []
    blanks: list[str] = []
    rest: dict[str, list[str]] = {}
    for shape in line.shapes:
        if shape.kind in {STAFF_LINES, GRID}:
            lowest.append(shape.draw())
        elif shape.kind == BLANK:
            blanks.append(shape.draw())
        else:
            rest.setdefault(shape.owner, []).append(shape.draw())
    notes = [_group(owner, drawn) for owner, drawn in rest.items()]
    drawn = "".join([*lowest, *blanks, *notes])
    return f'<g class="system" transform="{place}" data-bars="{bars}">{drawn}</g>'


def _group(owner: str, drawn: Iterable[str]) -> str:
    inside = "".join(drawn)
    return f'<g id="{owner}" class="note">{inside}</g>' if owner else inside
