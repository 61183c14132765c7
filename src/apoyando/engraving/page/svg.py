"""Drawings: pages and cuttings as SVG documents.

A drawing has the outlines of its music signs inside; text stays text, in the family of
``typeface``. What belongs to a note stands in a group with the note's id (``heads``); the group
of a system says in ``data-bars`` which bars it has and from where to where: "0:1520:4310 1:4310:6905".

Conventions: the units of ``frame``; what is printed is as large as on the page.
"""

from collections.abc import Iterable, Sequence
from xml.etree.ElementTree import Element, SubElement

from apoyando.engraving.drawing.markup import write_xml
from apoyando.engraving.drawing.shapes import Box, Glyph, Shape, glyph_outline, hull
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
    frame = page.frame
    root = _begin(Box(0, 0, frame.width, frame.height), frame, [line for _, line in page.lines])
    for shape in page.heading.shapes:
        shape.draw(root)
    for y, line in page.lines:
        _add_line(root, line, frame.margin, y)
    return write_xml(root)


def write_cutting(lines: Sequence[Line], frame: Frame) -> str:
    """Lines one under the other as an SVG document, cropped to their ink with a little air."""
    stacked: list[tuple[float, Line]] = []
    y = 0.0
    for line in lines:
        stacked.append((y - line.box.top, line))
        y += line.box.height + LEAST_GAP
    ink = hull(line.box.moved(0, y) for y, line in stacked)
    root = _begin(ink.grown(AIR), frame, lines)
    for y, line in stacked:
        _add_line(root, line, 0, y)
    return write_xml(root)


def _begin(view: Box, frame: Frame, lines: Iterable[Line]) -> Element:
    """The document on which ``view`` is seen, with the outlines of all signs of its lines."""
    mm = frame.width_mm / frame.width
    root = Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "width": f"{view.width * mm:.6g}mm",
            "height": f"{view.height * mm:.6g}mm",
            "viewBox": f"{view.left:.0f} {view.top:.0f} {view.width:.0f} {view.height:.0f}",
        },
    )
    drawn = (shape.drawing for line in lines for shape in line.shapes)
    codes = sorted({drawing.code for drawing in drawn if isinstance(drawing, Glyph)})
    outlines = SubElement(root, "defs")
    for code in codes:
        SubElement(outlines, "path", {"id": code, "d": glyph_outline(code), "transform": "scale(1 -1)"})
    return root


def _add_line(root: Element, line: Line, x: float, y: float) -> None:
    place = f"translate({x:.0f} {y:.1f})"
    bars = " ".join(f"{index}:{at.left:.0f}:{at.right:.0f}" for index, at in sorted(line.extents.items()))
    _draw_line(SubElement(root, "g", {"class": "system", "transform": place, "data-bars": bars}), line)


def _draw_line(group: Element, line: Line) -> None:
    """Staff lines lowest, then the blanks for digits, then the rest, note by note."""
    for kinds in ((STAFF_LINES, GRID), (BLANK,)):
        for shape in line.shapes:
            if shape.kind in kinds:
                shape.draw(group)
    for owner, shapes in _by_owner(
        s for s in line.shapes if s.kind not in {STAFF_LINES, GRID, BLANK}
    ).items():
        parent = SubElement(group, "g", {"id": owner, "class": "note"}) if owner else group
        for shape in shapes:
            shape.draw(parent)


def _by_owner(shapes: Iterable[Shape]) -> dict[str, list[Shape]]:
    grouped: dict[str, list[Shape]] = {}
    for shape in shapes:
        grouped.setdefault(shape.owner, []).append(shape)
    return grouped
