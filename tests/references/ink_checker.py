"""Asks of a finished page whether two things on it touch that should not.

It reads the SVG alone, as any viewer would, and shares no code with what drew it: outlines of
the music signs from the ``defs`` of the page, outlines of the letters from the font files (read
with fontTools), strokes with their width, curves flattened. What an element is, its ``class``
says, and the ``id`` of its group says to which note it belongs. Outlines are taken as filled: a
digit in the bowl of a clef or in the ring of another string number is a fault as well.

What may touch stands in ``MAY_TOUCH``, each pair with its reason (common practice, no source;
where a book is named, E. Gould, "Behind Bars", 2011, from memory). All else may not.

Conventions: lengths in staff spaces, measured on the page's own staff; places in the units of
its ``viewBox``. Two things touch where their overlap is wider than ``SLACK`` both ways.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from fontTools.pens.basePen import BasePen
from fontTools.svgLib.path import parse_path
from fontTools.ttLib import TTFont
from lxml import etree
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

FONTS = Path(__file__).parents[2] / "src" / "apoyando" / "engraving" / "drawing" / "fonts"
SVG = "{http://www.w3.org/2000/svg}"
SLACK = 0.025
STEPS_OF_A_CURVE = 8
NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e-?\d+)?")
Place = tuple[float, float]


@dataclass(frozen=True)
class Ink:
    """One element of the page as it is seen, in the page's units."""

    kind: str
    owner: str
    area: BaseGeometry
    is_white: bool = False
    text: str = ""

    @property
    def middle(self) -> Place:
        left, top, right, bottom = self.bounds
        return (left + right) / 2, (top + bottom) / 2

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Left, top, right, bottom."""
        left, top, right, bottom = self.area.bounds
        return float(left), float(top), float(right), float(bottom)

    def __str__(self) -> str:
        name = f"{self.kind} {self.text!r}" if self.text else self.kind
        return f"{name} of {self.owner}" if self.owner else name


@dataclass(frozen=True)
class Picture:
    """All ink of a page in the order of painting, what is painted over in white taken away."""

    inks: tuple[Ink, ...]
    space: float
    sheet: BaseGeometry


@dataclass(frozen=True)
class Touch:
    """Two things that touch and should not, and where: in the page's units."""

    one: Ink
    other: Ink
    place: Place

    @property
    def kinds(self) -> str:
        return " + ".join(sorted((self.one.kind, self.other.kind)))

    def __str__(self) -> str:
        return f"{self.one} touches {self.other} at {self.place[0]:.0f}, {self.place[1]:.0f}"


# ---- reading ------------------------------------------------------------------------


class _Flattener(BasePen):  # type: ignore[misc] # the library has no types
    """Collects closed outlines as polygons."""

    def __init__(self) -> None:
        super().__init__(glyphSet={})
        self.outlines: list[list[Place]] = []

    def _moveTo(self, pt: Place) -> None:  # noqa: N802 - fontTools' name
        self.outlines.append([pt])

    def _lineTo(self, pt: Place) -> None:  # noqa: N802 - fontTools' name
        self.outlines[-1].append(pt)

    def _curveToOne(self, pt1: Place, pt2: Place, pt3: Place) -> None:  # noqa: N802 - fontTools' name
        controls = np.array([self.outlines[-1][-1], pt1, pt2, pt3])
        t = np.linspace(0, 1, STEPS_OF_A_CURVE + 1)[1:, None]
        weights = np.hstack([(1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3])
        self.outlines[-1].extend((float(x), float(y)) for x, y in weights @ controls)

    def filled(self) -> BaseGeometry:
        """Everything within the outlines, holes too."""
        polygons = [Polygon(points).buffer(0) for points in self.outlines if len(points) > 2]
        return shapely.union_all(polygons) if polygons else Polygon()


@cache
def _sign(path: str) -> BaseGeometry:
    pen = _Flattener()
    parse_path(path, pen)
    return pen.filled()


@cache
def _font(face: str) -> tuple[Any, Mapping[int, str], int]:
    font = TTFont(FONTS / f"STIX-{face}.otf")
    return font.getGlyphSet(), font.getBestCmap(), font["head"].unitsPerEm


@cache
def _letter(character: str, face: str) -> tuple[BaseGeometry, float]:
    """Outline with y down and advance, in ems."""
    glyphs, names, units = _font(face)
    glyph = glyphs[names.get(ord(character), ".notdef")]
    pen = _Flattener()
    glyph.draw(pen)
    outline = affinity.affine_transform(pen.filled(), [1 / units, 0, 0, -1 / units, 0, 0])
    return outline, glyph.width / units


def read_picture(svg: str) -> Picture:
    """The ink of one page. Raises ValueError for a page with an element that is not understood."""
    root = etree.fromstring(svg.encode())
    signs = {path.get("id"): path for path in root.iter(f"{SVG}path") if path.get("id")}
    inks = list(_read_group(root, "", (0.0, 0.0), signs))
    left, top, width, height = _numbers(root.get("viewBox"))
    sheet = box(left, top, left + width, top + height)
    return Picture(tuple(_painted(inks)), _measure_space(inks), sheet)


def _read_group(group: Any, owner: str, origin: Place, signs: Mapping[str, Any]) -> Iterator[Ink]:
    for element in group:
        name = etree.QName(element).localname
        if name == "g":
            dx, dy = _numbers(element.get("transform", "translate(0 0)"))
            inner = element.get("id") or owner
            yield from _read_group(element, inner, (origin[0] + dx, origin[1] + dy), signs)
        elif name not in {"defs", "title", "desc"}:
            area = affinity.translate(_area(name, element, signs), *origin)
            is_white = element.get("fill") in {"#fff", "white", "#ffffff"}
            yield Ink(element.get("class", "?"), owner, area, is_white, element.text or "")


def _area(name: str, element: Any, signs: Mapping[str, Any]) -> BaseGeometry:
    if name not in _AREAS:
        message = f"an element that the checker does not know: <{name}>"
        raise ValueError(message)
    return _transformed(_AREAS[name](element, signs), element.get("transform", ""))


def _numbers(written: str) -> list[float]:
    return [float(number) for number in NUMBER.findall(written)]


def _transformed(area: BaseGeometry, transform: str) -> BaseGeometry:
    """The last transform of the list is the first to be applied."""
    for name, written in reversed(re.findall(r"(\w+)\(([^)]*)\)", transform)):
        values = _numbers(written)
        if name == "translate":
            area = affinity.translate(area, *values)
        elif name == "scale":
            area = affinity.scale(area, values[0], values[-1], origin=(0, 0))
        else:
            area = affinity.rotate(area, values[0], origin=tuple(values[1:]) or (0, 0))
    return area


def _use_area(element: Any, signs: Mapping[str, Any]) -> BaseGeometry:
    path = signs[element.get("href").removeprefix("#")]
    return _transformed(_sign(path.get("d")), path.get("transform", ""))


def _text_area(element: Any, _: Mapping[str, Any]) -> BaseGeometry:
    bold, slanted = element.get("font-weight") == "bold", element.get("font-style") == "italic"
    face = "Bold" if bold else "Italic" if slanted else "Regular"
    size = float(element.get("font-size"))
    letters, along = [], 0.0
    for character in element.text or "":
        outline, advance = _letter(character, face)
        letters.append(affinity.translate(outline, along, 0))
        along += advance
    start = {"middle": along / 2, "end": along}.get(element.get("text-anchor", "start"), 0.0)
    area = affinity.translate(shapely.union_all(letters), -start, 0)
    area = affinity.scale(area, size, size, origin=(0, 0))
    return affinity.translate(area, float(element.get("x")), float(element.get("y")))


def _polyline_area(element: Any, _: Mapping[str, Any]) -> BaseGeometry:
    numbers = _numbers(element.get("points"))
    points = list(zip(numbers[::2], numbers[1::2], strict=True))
    return _stroked(points, float(element.get("stroke-width", "1")))


def _stroked(points: Sequence[Place], width: float) -> BaseGeometry:
    if all(one == other for one, other in pairwise(points)):
        return Polygon()
    return LineString(points).buffer(width / 2, cap_style="flat", join_style="mitre")


def _line_area(element: Any, _: Mapping[str, Any]) -> BaseGeometry:
    ends = [(float(element.get(f"x{n}")), float(element.get(f"y{n}"))) for n in (1, 2)]
    return _stroked(ends, float(element.get("stroke-width", "1")))


def _polygon_area(element: Any, _: Mapping[str, Any]) -> BaseGeometry:
    numbers = _numbers(element.get("points"))
    return Polygon(list(zip(numbers[::2], numbers[1::2], strict=True))).buffer(0)


def _path_area(element: Any, _: Mapping[str, Any]) -> BaseGeometry:
    half = float(element.get("stroke-width", "0")) / 2 if element.get("stroke") else 0.0
    return _sign(element.get("d")).buffer(half)


def _ellipse_area(element: Any, _: Mapping[str, Any]) -> BaseGeometry:
    """Filled, even where only the ring is drawn."""
    half = float(element.get("stroke-width", "0")) / 2 if element.get("stroke") else 0.0
    x_radius, y_radius = (float(element.get(name, element.get("r", "0"))) + half for name in ("rx", "ry"))
    circle = affinity.scale(Point(0, 0).buffer(1.0), x_radius, y_radius, origin=(0, 0))
    return affinity.translate(circle, float(element.get("cx")), float(element.get("cy")))


def _rect_area(element: Any, _: Mapping[str, Any]) -> BaseGeometry:
    left, top = float(element.get("x", "0")), float(element.get("y", "0"))
    return box(left, top, left + float(element.get("width")), top + float(element.get("height")))


_AREAS: Mapping[str, Callable[[Any, Mapping[str, Any]], BaseGeometry]] = {
    "use": _use_area,
    "text": _text_area,
    "polyline": _polyline_area,
    "line": _line_area,
    "polygon": _polygon_area,
    "path": _path_area,
    "ellipse": _ellipse_area,
    "circle": _ellipse_area,
    "rect": _rect_area,
}


def _painted(inks: Sequence[Ink]) -> Iterator[Ink]:
    """White takes away what was painted before it."""
    whites = [(index, ink.area) for index, ink in enumerate(inks) if ink.is_white]
    tree = shapely.STRtree([area for _, area in whites])
    for index, ink in enumerate(inks):
        if ink.is_white or ink.area.is_empty:
            continue
        over = [whites[n][1] for n in tree.query(ink.area) if whites[n][0] > index]
        yield replace(ink, area=ink.area.difference(shapely.union_all(over))) if over else ink


def _measure_space(inks: Iterable[Ink]) -> float:
    """The distance of the first two lines of the first staff."""
    lines = [ink.middle[1] for ink in inks if ink.kind == "staffLine"]
    if len(lines) < 2:
        message = "no staff on the page"
        raise ValueError(message)
    return abs(lines[1] - lines[0])


# ---- what may touch -----------------------------------------------------------------

Rule = Callable[[Ink, Ink, float], bool]


def _always(one: Ink, other: Ink, space: float) -> bool:
    return True


def _have_one_owner(one: Ink, other: Ink, space: float) -> bool:
    return bool(one.owner) and one.owner == other.owner


def _lies_along(head: Ink, stem: Ink, space: float) -> bool:
    """The stem runs along an edge of the head, not through it."""
    left, _, right, _ = head.bounds
    return min(abs(stem.middle[0] - left), abs(stem.middle[0] - right)) < 0.2 * space


def _are_neighbours(one: Ink, other: Ink, space: float) -> bool:
    """One head for two voices, thirds, which meet by their size, or seconds side by side that meet at their stem."""
    (x, y), (other_x, other_y) = one.middle, other.middle
    if abs(y - other_y) < 0.1 * space:
        return abs(x - other_x) < 0.1 * space
    if abs(y - other_y) > 0.9 * space:
        return True
    width = min(ink.bounds[2] - ink.bounds[0] for ink in (one, other))
    return abs(x - other_x) > width - 0.25 * space


def _ends_at(stem: Ink, beam: Ink, space: float) -> bool:
    """The stem ends in this beam or, through it, in another of the same group."""
    x, (_, top, _, bottom) = stem.middle[0], stem.bounds
    return any(beam.area.distance(Point(x, y)) < 1.8 * space for y in (top, bottom))


def _stand_in_line(one: Ink, other: Ink, space: float) -> bool:
    return abs(one.middle[0] - other.middle[0]) < 0.1 * space


def _lie_in_line(one: Ink, other: Ink, space: float) -> bool:
    return abs(one.middle[1] - other.middle[1]) < 0.1 * space


def _holds(flag: Ink, stem: Ink, space: float) -> bool:
    """The flag hangs at the stem's end."""
    left, _, _, _ = flag.bounds
    return abs(left - stem.middle[0]) < 0.2 * space


MAY_TOUCH: Mapping[tuple[str, str], Rule] = {
    **{
        # Notes and signatures are written on the lines.
        ("staffLine", kind): _always
        for kind in (
            *("notehead", "stem", "flag", "beam", "accid", "rest", "mRest", "tie", "barLine", "arpeg"),
            *("clef", "keyAccid", "keySig", "meterSig", "fermata"),
        )
    },
    ("notehead", "stem"): _lies_along,
    ("notehead", "notehead"): _are_neighbours,
    ("notehead", "ledgerLines"): _always,
    ("ledgerLines", "stem"): _always,
    # So does what hangs at it: the flag of a high note with its stem down crosses the note's own ledger lines.
    ("ledgerLines", "flag"): _always,
    # A half rest or a whole rest off the staff has a line of its own.
    ("ledgerLines", "rest"): _have_one_owner,
    ("ledgerLines", "mRest"): _have_one_owner,
    # Ledger lines of heads that stand together are one line.
    ("ledgerLines", "ledgerLines"): _lie_in_line,
    ("stem", "beam"): _ends_at,
    ("flag", "stem"): _holds,
    # A short beam joins the long one of its group at the stem.
    ("beam", "beam"): _always,
    # Of two voices with stems down, struck together, the stems lie in one line (Gould, chords of two parts).
    ("stem", "stem"): _stand_in_line,
    # A tie goes over what stands upright between its heads.
    ("barLine", "tie"): _always,
    ("stem", "tie"): _always,
    ("flag", "tie"): _always,
    # So does a hold line; it closes with an upright stroke, and lies in a space of the staff.
    ("barLine", "hold"): _always,
    ("stem", "hold"): _always,
    ("hold", "hold"): _always,
    # A wavy line is a chain of signs.
    ("arpeg", "arpeg"): _stand_in_line,
    # Rows and barlines of a hold chart; the parts of one bar in it, with its end.
    ("grid", "grid"): _always,
    ("kept", "kept"): _have_one_owner,
    ("kept", "ring"): _have_one_owner,
    ("kept", "cut"): _have_one_owner,
    ("ring", "cut"): _lie_in_line,
    # The circle round its number.
    ("string", "string"): _have_one_owner,
    # Pieces of one chord diagram.
    ("diagram", "diagram"): _have_one_owner,
    # Pieces of one chord symbol.
    ("symbol", "symbol"): _have_one_owner,
    # The name of a section in its frame; the frame's corners.
    ("words", "words"): lambda one, other, _: bool(one.text) != bool(other.text),
}


# ---- asking -------------------------------------------------------------------------


def find_touches(svg: str) -> tuple[Touch, ...]:
    """Everything on a page that touches and should not. Raises ValueError as ``read_picture``."""
    picture = read_picture(svg)
    inks, slack = picture.inks, SLACK * picture.space
    thin = [ink.area.buffer(-slack / 2) for ink in inks]
    thin = [ink.area if area.is_empty else area for ink, area in zip(inks, thin, strict=True)]
    tree = shapely.STRtree(thin)
    firsts, seconds = tree.query(thin, predicate="intersects")
    pairs = ((int(a), int(b)) for a, b in zip(firsts, seconds, strict=True) if a < b)
    return tuple(
        Touch(inks[a], inks[b], _where(thin[a], thin[b]))
        for a, b in sorted(pairs)
        if not _may_touch(inks[a], inks[b], picture.space)
    )


def _where(one: BaseGeometry, other: BaseGeometry) -> Place:
    middle = one.intersection(other).centroid
    return (middle.x, middle.y)


def _may_touch(one: Ink, other: Ink, space: float) -> bool:
    for first, second in ((one, other), (other, one)):
        rule = MAY_TOUCH.get((first.kind, second.kind))
        if rule:
            return rule(first, second, space)
    return False


def find_outside(svg: str) -> tuple[Ink, ...]:
    """Whatever lies partly off the sheet."""
    picture = read_picture(svg)
    return tuple(ink for ink in picture.inks if not picture.sheet.contains(ink.area))
