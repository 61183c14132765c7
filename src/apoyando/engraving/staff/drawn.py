"""The drawing of the layout program, read back into plain shapes, system by system.

The program writes its SVG always in one form, so that the elements are found by their pattern and taken as
they come: to build a tree of them all takes as long as all the rest of the reading.

Conventions: as in ``layout``; y from the top line of the staff.
"""

import re
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from apoyando.engraving.drawing.boxes import Point
from apoyando.engraving.drawing.shapes import Beam, Curve, Dot, Drawing, Glyph, Shape, Stroke
from apoyando.engraving.staff.clearing import Part

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
    }
)
SAME_KINDS = {"lv": "tie"}
"""An open tie is drawn as any tie."""
UNREAD = frozenset({"harm", "verse"})
"""The page prints them anew."""
STAND_INS = {"E08D": ("E08C", 0.62)}
"""For signs that the music font lacks another of its own, and so much smaller: the plus in 2+3 over 8 (SMuFL
timeSigPlusSmall), which it has only as large as it stands between whole signatures (timeSigPlus)."""

SYSTEM = 'class="system">'
ELEMENT = re.compile(
    r'<g(?: id="([^"]*)")?(?: class="(\w*)[^"]*")?([^>]*?)(/?)>'  # a group that opens, or is empty
    r"|(</g>)"
    r"|<(use|path|polygon|polyline|ellipse|text) ([^>]*)>"
)
SIGN = re.compile(r'href="#(\w{4})[^"]*" transform="translate\((\S+), (\S+)\) scale\((\S+), ')
LINE = re.compile(r'd="M(\S+) (\S+) L(\S+) (\S+)" stroke-width="(\S+)"')
ELLIPSE = re.compile(r'cx="(\S+)" cy="(\S+)" rx="(\S+)" ry="(\S+)"')
TURN = re.compile(r"rotate\(\S+ (\S+),(\S+)\)")
TEXT_LEFT = re.compile(r'x="(\S+)"')
PATH = re.compile(r'd="([^"]*)"')
POINTS = re.compile(r'points="([^"]*)"')
STROKE_WIDTH = re.compile(r'stroke-width="(\S+)"')
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")

Staff = Sequence[tuple[Point, Point]]
"""The lines of a staff in one bar, each from its left end to its right one."""


@dataclass(frozen=True, slots=True)
class DrawnSystem:
    """``staffs`` by the index of their bar; ``symbols``: where the symbol of each harmony span begins.

    ``top``: the height of the top line on the page.
    """

    staffs: Mapping[int, Staff]
    top: float
    symbols: Mapping[int, float]
    parts: Sequence[Part]


class _Group(NamedTuple):
    """``kind``, ``owner``, ``holder`` (of ``Part``) and ``turn`` go on in the groups that are inside."""

    name: str = ""
    id: str = ""
    kind: str = ""
    owner: str = ""
    holder: str = ""
    turn: str = ""


def read_systems(page: str) -> Iterator[DrawnSystem]:
    """The systems on a page of SVG. Raises RuntimeError for what is not as the layout program writes it."""
    return map(_read_system, page.split(SYSTEM)[1:])


def _read_system(drawing: str) -> DrawnSystem:
    """A system, from within its group; what stands after its end is not read."""
    staffs: dict[int, list[tuple[Point, Point]]] = defaultdict(list)
    symbols: dict[int, float] = {}
    drawn: list[tuple[_Group, str, str]] = []
    groups, bar = [_Group()], 0
    for name_id, name, more, empty, end, tag, written in ELEMENT.findall(drawing):
        if end:
            groups.pop()
            if not groups:
                break
        elif tag:
            group = groups[-1]
            if group.kind:
                drawn.append((group, tag, written))
            elif group.name == "staff":
                x0, y0, x1, y1, _ = read_numbers(LINE, written)
                staffs[bar].append(((x0, y0), (x1, y1)))
            elif group.name == "harm" and tag == "text":
                (symbols[int(group.id[1:])],) = read_numbers(TEXT_LEFT, written)
        elif not empty:
            bar = int(name_id[1:]) if name == "measure" else bar
            groups.append(_open(groups[-1], name_id, SAME_KINDS.get(name, name), more))
    top = min(y for staff in staffs.values() for line in staff for _, y in line)
    return DrawnSystem(staffs, top, symbols, [_read_part(*each, top) for each in drawn if each[1] in READERS])


def _open(outer: _Group, group_id: str, name: str, more: str) -> _Group:
    """A group that opens inside another."""
    if name in UNREAD:
        return _Group(name, group_id)
    is_holder = name == "beam" or (name == "stem" and not outer.holder)
    return _Group(
        name,
        group_id,
        name if name in KINDS else outer.kind,
        group_id if name in OWNERS else outer.owner,
        group_id if is_holder else outer.holder,
        more if name == "arpeg" else outer.turn,
    )


def _read_part(group: _Group, tag: str, written: str, top: float) -> Part:
    drawing = READERS[tag](written, top)
    if group.turn and isinstance(drawing, Glyph):
        drawing = _stood_upright(drawing, group.turn, top)
    return Part(Shape(group.kind, group.owner, drawing), group.holder)


def _stood_upright(sign: Glyph, turn: str, top: float) -> Glyph:
    """A sign that is turned by a quarter to the left, round the place that ``turn`` names."""
    across, down = read_numbers(TURN, turn)
    return Glyph(sign.code, across, down - top - (sign.x - across), sign.size, is_upright=True)


def _read_sign(written: str, top: float) -> Glyph:
    found = _find(SIGN, written)
    code, size = STAND_INS.get(found[0], (found[0], 1.0))
    return Glyph(code, float(found[1]), float(found[2]) - top, float(found[3]) * 1000 * size)


def _read_path(written: str, top: float) -> Stroke | Curve:
    """A page has thousands of straight lines, most of them stems, and few ties."""
    line = LINE.match(written)
    if line:
        x0, y0, x1, y1, width = map(float, line.groups())
        return Stroke(((x0, y0 - top), (x1, y1 - top)), width)
    path, (width,) = _find(PATH, written)[0], read_numbers(STROKE_WIDTH, written)
    points = _read_points(path, top)
    return Curve(points[:6], width) if "C" in path else Stroke(points, width)


def _read_polygon(written: str, top: float) -> Beam:
    return Beam(_read_points(_find(POINTS, written)[0], top))


def _read_polyline(written: str, top: float) -> Stroke:
    (width,) = read_numbers(STROKE_WIDTH, written)
    return Stroke(_read_points(_find(POINTS, written)[0], top), width)


def _read_ellipse(written: str, top: float) -> Dot:
    x, y, x_radius, y_radius = read_numbers(ELLIPSE, written)
    return Dot(x, y - top, x_radius, y_radius)


READERS: Mapping[str, Callable[[str, float], Drawing]] = {
    "use": _read_sign,
    "path": _read_path,
    "polygon": _read_polygon,
    "polyline": _read_polyline,
    "ellipse": _read_ellipse,
}


def read_numbers(form: re.Pattern[str], written: str) -> Iterator[float]:
    """The numbers of a form that must be there. Raises RuntimeError where it is not."""
    return map(float, _find(form, written))


def _find(form: re.Pattern[str], written: str) -> Sequence[str]:
    found = form.search(written)
    if not found:
        message = f"the layout program wrote what is not read: {written!r}"
        raise RuntimeError(message)
    return found.groups()


def _read_points(written: str, top: float) -> tuple[Point, ...]:
    numbers = [float(number) for number in NUMBER.findall(written)]
    return tuple((x, y - top) for x, y in zip(numbers[::2], numbers[1::2], strict=True))
