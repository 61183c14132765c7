"""The layout program: MEI in, systems of shapes out.

verovio spaces the notes along the line, sets stems, beams, ties and accidentals, and draws
them as SVG. Its drawing is read back into plain shapes, one value per system, because the
page adds digits, circles and rows above the staff that must not touch what is there, and
sets the systems on the page itself.

Conventions: hundredths of a millimetre (verovio's own unit in the drawing), y down. One
staff space is ``SPACE``.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
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
STEM = 17.0
"""The width of a stem."""
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
SYSTEM = f"*/{GROUP}[@class='page-margin']/{GROUP}[@class='system']"
MEASURE = f"{GROUP}[@class='measure']"
STAFF_PATH = f"{GROUP}[@class='staff']/{SVG}path"
SYMBOL = f"{MEASURE}/{GROUP}[@class='harm']"
TEXT = f"{SVG}text"
UNREAD = frozenset({"harm", "verse"})
"""The page prints them anew."""
XLINK_HREF = "{http://www.w3.org/1999/xlink}href"
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
LINE = re.compile(r"M(\S+) (\S+) L(\S+) (\S+)")
PLACE = re.compile(r"translate\((\S+), (\S+)\) scale\((\S+), \S+\)")
# What is wanted of the drawing that is only measured:
LOOSE_MEASURE = re.compile(r'<g id="m(\d+)" class="measure">')
LOOSE_STAFF = re.compile(r'class="staff"><path d="M(\S+) (\S+) L(\S+) (\S+)"')
LOOSE_HEAD = re.compile(r'class="notehead"><use [^>]*translate\(\S+, (\S+)\)')
LOOSE_STEM = re.compile(r'</g><g id="\w+" class="stem"><path d="M\S+ (\S+) L\S+ (\S+)"')
TURN = re.compile(r"rotate\(\S+ (\S+),(\S+)\)")

OPTIONS: dict[str, Any] = {
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


def lay_out(mei: str, line_width: float) -> tuple[System, ...]:
    """The systems of a score, broken where the MEI says, as long as ``line_width``."""
    justified = {"pageWidth": line_width / 10, "noJustification": False}
    return tuple(
        _read_system(system)
        for page in _draw(mei, justified)
        for system in fromstring(page).findall(SYSTEM)  # noqa: S314 - drawn by our own layout program from our own MEI
    )


def find_reaches(mei: str) -> Mapping[int, Box]:
    """How far each bar of a score reaches, by its index, if it is spaced as it comes.

    The box goes from barline to barline, and round heads and the stems of single notes: about so high will a
    line be. These few numbers are found by their pattern, for to read all of a drawing takes as long as to draw it.
    """
    loose = {"pageWidth": LONGEST_LINE, "noJustification": True}
    reaches: dict[int, Box] = {}
    for page in _draw(mei, loose):
        _, *measures = LOOSE_MEASURE.split(page)
        for index, drawn in zip(measures[::2], measures[1::2], strict=True):
            reaches[int(index)] = _reach(drawn)
    return reaches


def _reach(measure: str) -> Box:
    left, top, right, _ = _read_numbers(LOOSE_STAFF, measure)
    heads = LOOSE_HEAD.findall(measure)
    stems = [y for ends in LOOSE_STEM.findall(measure) for y in ends]
    reached = [top, top + 4 * SPACE]
    reached += [float(y) + half for y in heads for half in (-SPACE / 2, SPACE / 2)]
    reached += [float(y) + half for y in stems for half in (-STEM / 2, STEM / 2)]
    return Box(left, min(reached) - top, right, max(reached) - top)


def _draw(mei: str, shape: dict[str, Any]) -> Iterator[str]:
    """The pages of a score, each as SVG."""
    toolkit = _make_toolkit()
    toolkit.setOptions(shape)
    if not toolkit.loadData(mei):
        message = "the layout program refused the score"
        raise RuntimeError(message)
    for number in range(1, toolkit.getPageCount() + 1):
        yield toolkit.renderToSVG(number)


@cache
def _make_toolkit() -> Any:  # noqa: ANN401 - the library has no types; kept between scores for its fonts
    import verovio  # noqa: PLC0415 - heavy

    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setOptions(OPTIONS)
    return toolkit


def _read_system(system: Element) -> System:
    staffs = _staffs(system)
    extents = {index: Extent(staff[0][0][0], staff[0][1][0]) for index, staff in staffs.items()}
    top = _top(staffs)
    music = clear_touches(_read_parts(system, top), SPACE)
    heads = {shape.owner: shape.boxes()[0] for shape in music if shape.kind == "notehead"}
    return System(extents, (*_staff_lines(staffs, top), *music), _symbols(system), heads)


_Staff = Sequence[tuple[Point, ...]]
"""The lines of a staff, each from its left end to its right one."""


def _staffs(system: Element) -> dict[int, _Staff]:
    """The staff of each bar."""
    return {
        _bar_index(measure): [
            _read_path(path.get("d", ""), 1, 0).points for path in measure.findall(STAFF_PATH)
        ]
        for measure in system.findall(MEASURE)
    }


def _bar_index(measure: Element) -> int:
    return int(measure.get("id", "m0")[1:])


def _top(staffs: Mapping[int, _Staff]) -> float:
    return min(y for staff in staffs.values() for line in staff for _, y in line)


def _staff_lines(staffs: Mapping[int, _Staff], top: float) -> Iterator[Shape]:
    """One line through all bars, instead of one for each."""
    ends: dict[float, list[float]] = {}
    for staff in staffs.values():
        for line in staff:
            for x, y in line:
                ends.setdefault(y, []).append(x)
    for y, places in sorted(ends.items()):
        points = ((min(places), y - top), (max(places), y - top))
        yield Shape(STAFF_LINES, "", Stroke(points, 0.075 * SPACE))


def _symbols(system: Element) -> dict[int, float]:
    """Where the chord symbols begin, by index of their harmony span."""
    return {
        int(symbol.get("id", "h0")[1:]): float(text.get("x", "0"))
        for symbol in system.findall(SYMBOL)
        for text in symbol.findall(TEXT)
    }


def _read_parts(element: Element, top: float) -> list[Part]:
    parts: list[Part] = []
    _gather(element, top, "", "", "", parts)
    return parts


def _gather(group: Element, top: float, kind: str, owner: str, holder: str, parts: list[Part]) -> None:
    """What is drawn in a group that is inside others: ``kind``, ``owner`` and ``holder`` are from those."""
    for element in group:
        if element.tag != GROUP:
            drawing = _read_drawing(element, top) if kind and kind != "staff" else None
            if drawing:
                parts.append(Part(Shape(kind, owner, drawing), holder))
            continue
        name = element.get("class", "").partition(" ")[0]
        name = SAME_KINDS.get(name, name)
        if name in UNREAD:
            continue
        inner_kind = name if name in KINDS else kind
        inner_owner = element.get("id", "") if name in OWNERS else owner
        is_holder = name == "beam" or (name == "stem" and not holder)
        inner_holder = element.get("id", "") if is_holder else holder
        if name == "arpeg":
            lying: list[Part] = []
            _gather(element, top, inner_kind, inner_owner, inner_holder, lying)
            parts.extend(_stood_upright(part, element, top) for part in lying)
        else:
            _gather(element, top, inner_kind, inner_owner, inner_holder, parts)


def _stood_upright(part: Part, group: Element, top: float) -> Part:
    """A sign of a group that is turned by a quarter to the left, round the place that its transform names."""
    sign = part.shape.drawing
    if not isinstance(sign, Glyph):
        return part
    across, down = _read_numbers(TURN, group.get("transform", ""))
    turned = Glyph(sign.code, across, down - top - (sign.x - across), sign.size, is_upright=True)
    return Part(Shape(part.shape.kind, part.shape.owner, turned), part.holder)


def _read_drawing(element: Element, top: float) -> Drawing | None:
    match element.tag.removeprefix(SVG):
        case "use":
            return _read_sign(element, top)
        case "path":
            return _read_path(element.get("d", ""), float(element.get("stroke-width", "1")), top)
        case "polygon":
            return Beam(_read_points(element.get("points", ""), top))
        case "polyline":
            points = _read_points(element.get("points", ""), top)
            return Stroke(points, float(element.get("stroke-width", "1")))
        case "ellipse":
            x, y, x_radius, y_radius = (float(element.get(name, "0")) for name in ("cx", "cy", "rx", "ry"))
            return Dot(x, y - top, x_radius, y_radius)
        case _:
            return None


def _read_sign(element: Element, top: float) -> Glyph:
    x, y, scale = _read_numbers(PLACE, element.get("transform", ""))
    code = element.get(XLINK_HREF, "")[1:5]
    stand_in, size = STAND_INS.get(code, (code, 1.0))
    return Glyph(stand_in, x, y - top, scale * 1000 * size)


def _read_path(path: str, width: float, top: float) -> Stroke | Curve:
    """A page has thousands of straight lines, most of them stems, and few ties."""
    line = LINE.fullmatch(path)
    if line:
        x0, y0, x1, y1 = map(float, line.groups())
        return Stroke(((x0, y0 - top), (x1, y1 - top)), width)
    points = _read_points(path, top)
    return Curve(points[:6], width) if "C" in path else Stroke(points, width)


def _read_numbers(form: re.Pattern[str], written: str) -> Iterator[float]:
    found = form.search(written)
    if not found:
        message = f"the layout program wrote what is not read: {written!r}"
        raise RuntimeError(message)
    return map(float, found.groups())


def _read_points(written: str, top: float) -> tuple[Point, ...]:
    numbers = [float(number) for number in NUMBER.findall(written)]
    return tuple((x, y - top) for x, y in zip(numbers[::2], numbers[1::2], strict=True))
