"""What is drawn, as plain values, and where it lies.

Conventions: lengths and places in hundredths of a millimetre, x to the right, y down, from
the upper left corner of the system or the page. A slanted or curved thing has several
boxes, so that what is near its ends does not count as touching it. ``draw`` gives SVG as text,
with ``more`` attributes in each element.
"""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from functools import cache
from itertools import pairwise
from pathlib import Path
from xml.etree.ElementTree import Element, fromstring

from apoyando.engraving.drawing.boxes import NOTHING, Box, Point, around_line, box_of
from apoyando.engraving.drawing.typeface import CAP_HEIGHT_EM, DESCENT_EM, FAMILY, Face, text_width

MUSIC_FONT = "Leland"
"""One of the music fonts that come with the layout program (SIL Open Font License)."""
GLYPH_UNITS_PER_EM = 1000
PIECE_WIDTH = 100.0
"""Slanted and curved things are boxed in pieces about so wide."""
HIDDEN_CHARACTERS = dict.fromkeys((*range(0x20), *range(0x7F, 0xA0), *range(0xD800, 0xE000), 0xFFFE, 0xFFFF))
"""What no page can show, and XML cannot hold."""
_IN_MARKUP = {**HIDDEN_CHARACTERS, ord("&"): "&amp;", ord("<"): "&lt;", ord(">"): "&gt;"}


def _number(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")


def _written(points: Iterable[Point]) -> str:
    return " ".join([f"{_number(x)},{_number(y)}" for x, y in points])


@dataclass(frozen=True, slots=True)
class Glyph:
    """A sign of the music font at its origin. ``code`` is its SMuFL code point in hexadecimal.

    ``is_upright``: it is turned by a quarter to the left, so that it runs from the bottom up.
    """

    code: str
    x: float
    y: float
    size: float
    """The em: four staff spaces for full-size signs."""
    is_upright: bool = False

    def boxes(self) -> tuple[Box, ...]:
        box = glyph_boxes().get(self.code, NOTHING)
        if self.is_upright:
            box = Box(box.top, -box.right, box.bottom, -box.left)
        return (box.placed(self.x, self.y, self.size / GLYPH_UNITS_PER_EM),)

    def draw(self, more: str = "") -> str:
        turn = " rotate(-90)" if self.is_upright else ""
        scale = f"scale({self.size / GLYPH_UNITS_PER_EM:.4g})"
        place = f"translate({_number(self.x)} {_number(self.y)}){turn} {scale}"
        return f'<use href="#{self.code}" transform="{place}"{more} />'


@dataclass(frozen=True, slots=True)
class Stroke:
    """Straight lines from point to point."""

    points: tuple[Point, ...]
    width: float
    dash: str = ""

    def boxes(self) -> tuple[Box, ...]:
        half = self.width / 2
        return tuple([around_line(start, end, half) for start, end in pairwise(self.points)])

    def draw(self, more: str = "") -> str:
        dash = f' stroke-dasharray="{self.dash}"' if self.dash else ""
        stroke = f'fill="none" stroke="#000" stroke-width="{_number(self.width)}"'
        return f'<polyline points="{_written(self.points)}" {stroke}{dash}{more} />'


@dataclass(frozen=True, slots=True)
class Beam:
    """A slanted bar: upper left, upper right, lower right, lower left."""

    points: tuple[Point, ...]

    def boxes(self) -> tuple[Box, ...]:
        (x0, y0), (x1, y1) = self.points[:2]
        thickness = self.points[-1][1] - self.points[0][1]
        count = max(1, round(abs(x1 - x0) / PIECE_WIDTH))
        corners = [(x0 + (x1 - x0) * n / count, y0 + (y1 - y0) * n / count) for n in range(count + 1)]
        up, down = min(0.0, thickness), max(0.0, thickness)
        return tuple(
            Box(min(xa, xb), min(ya, yb) + up, max(xa, xb), max(ya, yb) + down)
            for (xa, ya), (xb, yb) in pairwise(corners)
        )

    def draw(self, more: str = "") -> str:
        return f'<polygon points="{_written(self.points)}"{more} />'


@dataclass(frozen=True, slots=True)
class Curve:
    """A tie: a cubic from start to end and back, filled."""

    points: tuple[Point, ...]
    """Start, two controls, end, two controls back."""
    width: float

    def boxes(self) -> tuple[Box, ...]:
        start, one, two, end, three, four = self.points
        out, back = curve_points(start, one, two, end), curve_points(start, four, three, end)
        sides = zip(pairwise(out), pairwise(back), strict=True)
        return tuple(box_of((*above, *below)) for above, below in sides)

    def draw(self, more: str = "") -> str:
        written = [f"{_number(x)} {_number(y)}" for x, y in (*self.points, self.points[0])]
        path = f"M{written[0]}C{' '.join(written[1:4])}C{' '.join(written[4:7])}Z"
        stroke = f'stroke="#000" stroke-width="{_number(self.width)}" stroke-linejoin="round"'
        return f'<path d="{path}" {stroke}{more} />'


def curve_points(start: Point, one: Point, two: Point, end: Point) -> list[Point]:
    """Points along a Bézier curve."""
    (x0, y0), (x1, y1), (x2, y2), (x3, y3) = start, one, two, end
    return [(a * x0 + b * x1 + c * x2 + d * x3, a * y0 + b * y1 + c * y2 + d * y3) for a, b, c, d in _WEIGHTS]


_STEPS = tuple(n / 12 for n in range(13))
_WEIGHTS = tuple(((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3) for t in _STEPS)
"""Of the four points of a curve, at twelve steps along it."""


@dataclass(frozen=True, slots=True)
class Dot:
    """A filled ellipse, or a circle of which only the line is drawn."""

    x: float
    y: float
    x_radius: float
    y_radius: float
    line_width: float = 0.0

    def boxes(self) -> tuple[Box, ...]:
        half = self.line_width / 2
        box = Box(
            self.x - self.x_radius, self.y - self.y_radius, self.x + self.x_radius, self.y + self.y_radius
        )
        return (box.grown(half),)

    def draw(self, more: str = "") -> str:
        middle = f'cx="{_number(self.x)}" cy="{_number(self.y)}"'
        radii = f'rx="{_number(self.x_radius)}" ry="{_number(self.y_radius)}"'
        stroke = (
            f' fill="none" stroke="#000" stroke-width="{_number(self.line_width)}"' if self.line_width else ""
        )
        return f"<ellipse {middle} {radii}{stroke}{more} />"


@dataclass(frozen=True, slots=True)
class Blank:
    """A white rectangle: what lies under a digit, so that the staff line does not cross it."""

    box: Box

    def boxes(self) -> tuple[Box, ...]:
        return ()

    def draw(self, more: str = "") -> str:
        place = f'x="{_number(self.box.left)}" y="{_number(self.box.top)}"'
        size = f'width="{_number(self.box.width)}" height="{_number(self.box.height)}"'
        return f'<rect {place} {size} fill="#fff"{more} />'


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch of text in one style. ``rise`` lifts it above the line, in its own em."""

    text: str
    size: float
    face: Face = Face.REGULAR
    rise: float = 0.0

    @property
    def width(self) -> float:
        return text_width(self.text, self.size, self.face)


_BEFORE_ANCHOR = {"start": 0.0, "middle": 0.5, "end": 1.0}
"""How much of a line lies left of its anchor."""
_DESCENDING = frozenset("gjpqy,;()/Q")
NO_DESCENT_EM = 0.02


@dataclass(frozen=True, slots=True)
class Text:
    """A line of text. ``anchor`` says which end of it lies at x: start, middle or end."""

    pieces: tuple[Piece, ...]
    x: float
    y: float
    anchor: str = "start"

    @property
    def width(self) -> float:
        return sum(piece.width for piece in self.pieces)

    @property
    def left(self) -> float:
        return self.x - _BEFORE_ANCHOR[self.anchor] * self.width

    def boxes(self) -> tuple[Box, ...]:
        return tuple(
            Box(
                left,
                baseline - CAP_HEIGHT_EM * piece.size,
                right,
                baseline + (NO_DESCENT_EM if _DESCENDING.isdisjoint(piece.text) else DESCENT_EM) * piece.size,
            )
            for piece, left, right, baseline in self._laid()
        )

    def draw(self, more: str = "") -> str:
        """Each piece at its own place: renderers differ in what they make of shifts inside a line."""
        drawn = ""
        for piece, left, _, baseline in self._laid():
            place = f'x="{_number(left)}" y="{_number(baseline)}"'
            style = f'font-size="{_number(piece.size)}" {_STYLES[piece.face]}'
            drawn += f"<text {place} {style}{more}>{piece.text.translate(_IN_MARKUP)}</text>"
        return drawn

    def _laid(self) -> Iterator[tuple[Piece, float, float, float]]:
        """Each piece with its left and right end, and its baseline."""
        widths = [piece.width for piece in self.pieces]
        x = self.x - _BEFORE_ANCHOR[self.anchor] * sum(widths)
        for piece, width in zip(self.pieces, widths, strict=True):
            yield piece, x, x + width, self.y - piece.rise * piece.size
            x += width


def visible_text(text: str) -> str:
    """Without the characters that no page can show."""
    return text.translate(HIDDEN_CHARACTERS)


_STYLE = f'font-family="{FAMILY}" xml:space="preserve"'
_STYLES = {
    Face.REGULAR: _STYLE,
    Face.BOLD: f'{_STYLE} font-weight="bold"',
    Face.ITALIC: f'{_STYLE} font-style="italic"',
}

Drawing = Glyph | Stroke | Beam | Curve | Dot | Blank | Text


@dataclass(frozen=True, slots=True)
class Shape:
    """One drawing and what it is: ``kind`` is ``notehead``, ``stem``, ``digit`` and so on.

    ``owner`` is the id of the note or bar it belongs to, "" if of none.
    """

    kind: str
    owner: str
    drawing: Drawing
    _boxes: tuple[Box, ...] | None = field(default=None, init=False, repr=False, compare=False)
    """Asked for by each that builds around it, and kept."""

    def boxes(self) -> tuple[Box, ...]:
        if self._boxes is None:
            object.__setattr__(self, "_boxes", self.drawing.boxes())
        return self._boxes or ()

    def draw(self) -> str:
        """Each element is told what it is, for whoever looks at the page with a program."""
        return self.drawing.draw(f' class="{self.kind}"')


@cache
def glyph_boxes() -> dict[str, Box]:
    """By code, in thousandths of an em with y down: the font's own table of bounding boxes."""
    table = fromstring((_font_folder().parent / f"{MUSIC_FONT}.xml").read_bytes())  # noqa: S314 - ships with the font
    return {glyph.get("c", ""): _glyph_box(glyph) for glyph in table.iter("g")}


def _glyph_box(glyph: Element) -> Box:
    left, low, width, height = (float(glyph.get(name, "0")) for name in ("x", "y", "w", "h"))
    return Box(left, -(low + height), left + width, -low)


@cache
def glyph_outline(code: str) -> str:
    """The path data of a sign, in thousandths of an em, y up."""
    written = (_font_folder() / f"{code}.xml").read_text("utf-8")
    outline = re.search(r' d="([^"]*)"', written)
    return outline.group(1) if outline else ""


def _font_folder() -> Path:
    import verovio  # noqa: PLC0415 - heavy

    return Path(verovio.__file__).parent / "data" / MUSIC_FONT
