"""The layout program: MEI in, systems of shapes out.

verovio spaces the notes along the line, sets stems, beams, ties and accidentals, and draws
them as SVG. Its drawing is read back into plain shapes, one value per system, because the
page adds digits, circles and rows above the staff that must not touch what is there, and
sets the systems on the page itself.

Conventions: hundredths of a millimetre (verovio's own unit in the drawing), y down. One
staff space is ``SPACE``.
"""

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any
from xml.etree.ElementTree import Element, fromstring

from apoyando.engraving.drawing.shapes import (
    MUSIC_FONT,
    Beam,
    Box,
    Curve,
    Dot,
    Drawing,
    Glyph,
    Point,
    Shape,
    Stroke,
)
from apoyando.engraving.staff.clearing import Part, clear_touches

SPACE = 174.0
"""A staff of seven millimetres."""
UNITS_PER_SPACE = 20
"""verovio counts in half spaces, and its drawing in tenths of its page units."""
LYRIC_EM = 1.85 * SPACE
WORD_SPACE = 0.55 * SPACE
"""The least between two words that are sung."""
LONGEST_LINE = 100_000
STAND_INS = {"E08D": ("E08C", 0.62)}
"""For signs that the music font lacks another of its own, and so much smaller: the plus in 2+3 over 8 (SMuFL
timeSigPlusSmall), which it has only as large as it stands between whole signatures (timeSigPlus)."""

STAFF_LINES = "staffLine"
GRID = "grid"
"""Lines under what is drawn in a chart."""
OWNERS = frozenset({"note", "rest", "mRest"})
KINDS = frozenset(
    {
        "notehead",
        "stem",
        "flag",
        "accid",
        "dots",
        "beam",
        "tie",
        "rest",
        "mRest",
        "clef",
        "keySig",
        "keyAccid",
        "meterSig",
        "barLine",
        "tupletNum",
        "tupletBracket",
        "ledgerLines",
        "fermata",
        "arpeg",
        "staff",
    }
)
SAME_KINDS = {"lv": "tie"}
"""An open tie is drawn as any tie."""
SIGNATURES = frozenset({"clef", "keySig", "keyAccid", "meterSig"})
SVG = "{http://www.w3.org/2000/svg}"
GROUP = f"{SVG}g"
XLINK_HREF = "{http://www.w3.org/1999/xlink}href"
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")

OPTIONS: Mapping[str, Any] = {
    "breaks": "encoded",
    "font": MUSIC_FONT,
    "unit": SPACE / UNITS_PER_SPACE,
    "header": "none",
    "footer": "none",
    "pageMarginLeft": 0,
    "pageMarginRight": 0,
    "pageMarginTop": 0,
    "pageMarginBottom": 0,
    "pageHeight": 60000,
    "smuflTextFont": "none",
    "svgFormatRaw": True,
    "xmlIdSeed": 1,
    "spacingLinear": 0.25,
    "spacingNonLinear": 0.6,
    "leftMarginNote": 2.0,
    "mnumInterval": 100000,
    "minLastJustification": 0.6,
    "lyricSize": LYRIC_EM / (0.5 * SPACE),
    "lyricWordSpace": WORD_SPACE / (0.5 * SPACE),
}


@dataclass(frozen=True, slots=True)
class Extent:
    """From where to where a bar reaches along the line."""

    left: float
    right: float


@dataclass(frozen=True, slots=True)
class System:
    """One line of music as laid out. y is 0 at the top line of the staff.

    ``bars`` gives the extent of each bar by index, ``symbols`` where each harmony span's
    symbol begins, ``heads`` the box of each note head by note id.
    """

    bars: Mapping[int, Extent]
    shapes: tuple[Shape, ...]
    symbols: Mapping[int, float] = field(default_factory=dict[int, float])
    heads: Mapping[str, Box] = field(default_factory=dict[str, Box])

    @property
    def right(self) -> float:
        return max(extent.right for extent in self.bars.values())

    @property
    def music_left(self) -> float:
        """Where the clef and the signatures at the head of the line end."""
        first_head = min((box.left for box in self.heads.values()), default=self.right)
        signs = (box for shape in self.shapes if shape.kind in SIGNATURES for box in shape.boxes())
        return max((box.right for box in signs if box.right < first_head), default=0.0) + 0.5 * SPACE


def lay_out(mei: str, line_width: float | None = None) -> tuple[System, ...]:
    """The systems of a score, broken where the MEI says, as long as ``line_width``.

    Without one as they come: to be measured, and nothing in them is cleared of what it touches.
    """
    clear = _as_they_come if line_width is None else clear_touches
    toolkit = _make_toolkit(line_width)
    if not toolkit.loadData(mei):
        message = "the layout program refused the score"
        raise RuntimeError(message)
    return tuple(
        _read_system(element, clear)
        for number in range(1, toolkit.getPageCount() + 1)
        for element in _systems(toolkit.renderToSVG(number))
    )


def _make_toolkit(line_width: float | None) -> Any:  # noqa: ANN401 - the library has no types
    import verovio  # noqa: PLC0415 - heavy

    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    shape = (
        {"pageWidth": LONGEST_LINE, "noJustification": True}
        if line_width is None
        else {"pageWidth": line_width / 10}
    )
    toolkit.setOptions({**OPTIONS, **shape})
    return toolkit


def _systems(svg: str) -> Iterator[Element]:
    root = fromstring(svg)  # noqa: S314 - drawn by our own layout program from our own MEI
    return (element for element in root.iter(f"{SVG}g") if element.get("class") == "system")


@dataclass(frozen=True, slots=True)
class _Leaf:
    """Something drawn. Round ``pivot`` it is turned upright, by a quarter to the left.

    ``holder`` names the beam that it is under, or the stem that it hangs at.
    """

    element: Element
    kind: str
    owner: str
    holder: str = ""
    pivot: Point | None = None


def _as_they_come(parts: Sequence[Part], _: float) -> tuple[Shape, ...]:
    return tuple(part.shape for part in parts)


def _read_system(element: Element, clear: Callable[[Sequence[Part], float], tuple[Shape, ...]]) -> System:
    staffs = _staffs(element)
    top = min(y for lines in staffs.values() for line in lines for _, y in line)
    extents = {
        index: Extent(min(x for line in lines for x, _ in line), max(x for line in lines for x, _ in line))
        for index, lines in staffs.items()
    }
    parts = [Part(s, leaf.holder) for leaf in _leaves(element) if (s := _read_shape(leaf, top))]
    music = clear(parts, SPACE)
    heads = {shape.owner: shape.boxes()[0] for shape in music if shape.kind == "notehead"}
    return System(extents, (*_staff_lines(staffs, top), *music), _symbols(element), heads)


def _staffs(system: Element) -> dict[int, list[tuple[Point, ...]]]:
    """The staff lines of each bar."""
    return {
        int(measure.get("id", "m0")[1:]): [
            _points(path.get("d", "")) for path in measure.findall(f"{SVG}g[@class='staff']/{SVG}path")
        ]
        for measure in system.findall(f"{SVG}g[@class='measure']")
    }


def _staff_lines(staffs: dict[int, list[tuple[Point, ...]]], top: float) -> Iterator[Shape]:
    """One line through all bars, instead of one for each."""
    ends: dict[float, list[float]] = {}
    for lines in staffs.values():
        for line in lines:
            for x, y in line:
                ends.setdefault(y, []).append(x)
    for y, places in sorted(ends.items()):
        points = ((min(places), y - top), (max(places), y - top))
        yield Shape(STAFF_LINES, "", Stroke(points, 0.075 * SPACE))


def _symbols(system: Element) -> dict[int, float]:
    """Where the chord symbols begin, by index of their harmony span."""
    found: dict[int, float] = {}
    for group in system.iter(f"{SVG}g"):
        if group.get("class") == "harm":
            text = group.find(f"{SVG}text")
            if text is not None:
                found[int(group.get("id", "h0")[1:])] = float(text.get("x", "0"))
    return found


def _leaves(element: Element) -> list[_Leaf]:
    leaves: list[_Leaf] = []
    _gather(element, "", "", "", None, leaves)
    return leaves


def _gather(
    element: Element, kind: str, owner: str, holder: str, pivot: Point | None, leaves: list[_Leaf]
) -> None:
    name = element.get("class", "").split(" ", maxsplit=1)[0]
    if name in {"harm", "verse"}:
        return
    name = SAME_KINDS.get(name, name)
    kind = name if name in KINDS else kind
    owner = element.get("id", "") if name in OWNERS else owner
    holder = element.get("id", "") if name == "beam" or (name == "stem" and not holder) else holder
    if name == "arpeg":
        _, *place = _numbers(element.get("transform", "rotate(-90 0,0)"))
        pivot = (place[0], place[1])
    for child in element:
        if child.tag == GROUP:
            _gather(child, kind, owner, holder, pivot, leaves)
        elif kind and kind != "staff":
            leaves.append(_Leaf(child, kind, owner, holder, pivot))


def _read_shape(leaf: _Leaf, top: float) -> Shape | None:
    drawing = _read_drawing(leaf.element, top)
    if leaf.pivot and isinstance(drawing, Glyph):
        across, down = leaf.pivot
        turned = Glyph(drawing.code, across, down - top - (drawing.x - across), drawing.size, is_upright=True)
        return Shape(leaf.kind, leaf.owner, turned)
    return Shape(leaf.kind, leaf.owner, drawing) if drawing else None


def _read_drawing(element: Element, top: float) -> Drawing | None:  # noqa: PLR0911 - a table of cases
    width = float(element.get("stroke-width", "1"))
    match element.tag.removeprefix(SVG):
        case "use":
            x, y, scale, *_ = _numbers(element.get("transform", ""))
            code = element.get(XLINK_HREF, "")[1:5]
            stand_in, size = STAND_INS.get(code, (code, 1.0))
            return Glyph(stand_in, x, y - top, scale * 1000 * size)
        case "polygon":
            return Beam(_lowered(_points(element.get("points", "")), top))
        case "polyline":
            return Stroke(_lowered(_points(element.get("points", "")), top), width)
        case "ellipse":
            x, y, x_radius, y_radius = (float(element.get(name, "0")) for name in ("cx", "cy", "rx", "ry"))
            return Dot(x, y - top, x_radius, y_radius)
        case "path" if "C" in element.get("d", ""):
            return Curve(_lowered(_points(element.get("d", ""))[:6], top), width)
        case "path":
            return Stroke(_lowered(_points(element.get("d", "")), top), width)
        case _:
            return None


def _numbers(written: str) -> list[float]:
    return [float(number) for number in NUMBER.findall(written)]


def _points(written: str) -> tuple[Point, ...]:
    numbers = _numbers(written)
    return tuple(zip(numbers[::2], numbers[1::2], strict=True))


def _lowered(points: tuple[Point, ...], top: float) -> tuple[Point, ...]:
    return tuple((x, y - top) for x, y in points)
