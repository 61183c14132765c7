"""The layout program: MEI in, systems of shapes out.

verovio spaces the notes along the line, sets stems, beams, ties and accidentals, and draws
them as SVG. Its drawing is read back into plain shapes, one value per system, because the
page adds digits, circles and rows above the staff that must not touch what is there, and
sets the systems on the page itself.

Conventions: hundredths of a millimetre (verovio's own unit in the drawing), y down. One
staff space is ``SPACE``.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Any

from apoyando.engraving.drawing.boxes import Box
from apoyando.engraving.drawing.shapes import MUSIC_FONT, Shape, Stroke
from apoyando.engraving.staff.clearing import clear_touches
from apoyando.engraving.staff.drawn import DrawnSystem, read_numbers, read_systems

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
STAFF_LINES = "staffLine"
GRID = "grid"
"""Lines under what is drawn in a chart."""
SIGNATURES = frozenset({"clef", "keySig", "keyAccid", "meterSig"})
# What is wanted of the drawing that is only measured:
LOOSE_MEASURE = re.compile(r'<g id="m(\d+)" class="measure">')
LOOSE_STAFF = re.compile(r'class="staff"><path d="M(\S+) (\S+) L(\S+) (\S+)"')
LOOSE_HEAD = re.compile(r'class="notehead"><use [^>]*translate\(\S+, (\S+)\)')
LOOSE_STEM = re.compile(r'</g><g id="\w+" class="stem"><path d="M\S+ (\S+) L\S+ (\S+)"')

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
    return tuple(_make_system(drawn) for page in _draw(mei, justified) for drawn in read_systems(page))


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
    left, top, right, _ = read_numbers(LOOSE_STAFF, measure)
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


def _make_system(drawn: DrawnSystem) -> System:
    extents = {index: Extent(staff[0][0][0], staff[0][1][0]) for index, staff in drawn.staffs.items()}
    music = clear_touches(drawn.parts, SPACE)
    heads = {shape.owner: shape.boxes()[0] for shape in music if shape.kind == "notehead"}
    return System(extents, (*_staff_lines(drawn), *music), drawn.symbols, heads)


def _staff_lines(drawn: DrawnSystem) -> Iterator[Shape]:
    """One line through all bars, instead of one for each."""
    ends: dict[float, list[float]] = {}
    for staff in drawn.staffs.values():
        for line in staff:
            for x, y in line:
                ends.setdefault(y, []).append(x)
    for y, places in sorted(ends.items()):
        points = ((min(places), y - drawn.top), (max(places), y - drawn.top))
        yield Shape(STAFF_LINES, "", Stroke(points, 0.075 * SPACE))
