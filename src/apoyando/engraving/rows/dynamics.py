"""Dynamics: the mark of the melody above the staff, any other below, as near as it can lie.

A mark at the head of a line stands left of the first notes, over or under the signatures:
there it moves nothing away (common practice, no source). Elsewhere its middle is that of the
notes of its moment, or of the first after it.
"""

from collections.abc import Iterator, Mapping, Sequence

from apoyando.engraving.drawing.shapes import Glyph, Shape
from apoyando.engraving.rows.ground import GLYPH_SIZE, Ground, Head, RowLine
from apoyando.engraving.staff.layout import SPACE
from apoyando.model.arrangement import Role
from apoyando.model.dynamics import Dynamic, Layer, Loudness
from apoyando.model.time import Quarters

DYNAMIC = "dynamic"

GLYPHS: Mapping[Loudness, str] = {
    Loudness.PPPP: "E529",
    Loudness.PPP: "E52A",
    Loudness.PP: "E52B",
    Loudness.P: "E520",
    Loudness.MP: "E52C",
    Loudness.MF: "E52D",
    Loudness.F: "E522",
    Loudness.FF: "E52F",
    Loudness.FFF: "E530",
    Loudness.FFFF: "E531",
    Loudness.FP: "E534",
    Loudness.SF: "E536",
    Loudness.SFZ: "E539",
    Loudness.FZ: "E535",
    Loudness.RF: "E53C",
}
"""SMuFL 1.4, range ``Dynamics``."""
SIZE = 0.9 * GLYPH_SIZE
GAP = 0.5 * SPACE
"""From what the mark lies over or under."""
BEFORE_NOTES = 0.9 * SPACE


def dynamic_row(line: RowLine, ground: Ground) -> Iterator[Shape]:
    """The marks of the line's bars, from left to right."""
    start, end = line.bars[0].onset, line.bars[-1].offset
    for dynamic in line.arrangement.dynamics:
        if start <= dynamic.onset < end:
            shape = _place(dynamic, line, ground)
            ground = ground.under((shape,))
            yield shape


def _place(dynamic: Dynamic, line: RowLine, ground: Ground) -> Shape:
    code = GLYPHS[dynamic.loudness]
    box = Glyph(code, 0, 0, SIZE).boxes()[0]
    left = _left(dynamic, line, box.width)
    right = left + box.width
    if dynamic.is_above:
        y = ground.top(left, right) - GAP - box.bottom
    else:
        y = ground.bottom(left, right) + GAP - box.top
    return Shape(DYNAMIC, "", Glyph(code, left - box.left, y, SIZE))


def _left(dynamic: Dynamic, line: RowLine, width: float) -> float:
    onset, heads = _heads_from(dynamic.onset, _concerned(dynamic, line))
    if not heads:
        return line.system.music_left
    left = min(head.box.left for head in heads)
    is_first = onset <= min(head.onset for head in line.heads)
    if is_first:
        return max(0.0, left - BEFORE_NOTES - width)
    middle = sum(head.box.middle[0] for head in heads) / len(heads)
    return max(0.0, min(middle - width / 2, line.system.right - width))


def _concerned(dynamic: Dynamic, line: RowLine) -> list[Head]:
    """The heads of the layer that the mark tells, or all where the line has none of it."""
    wanted = [head for head in line.heads if _is_told(dynamic.layer, head.note.role)]
    return wanted or list(line.heads)


def _is_told(layer: Layer, role: Role) -> bool:
    return layer is Layer.ALL or (layer is Layer.MELODY) == (role is Role.MELODY)


def _heads_from(onset: Quarters, heads: Sequence[Head]) -> tuple[Quarters, list[Head]]:
    """The first moment with heads from ``onset`` on, and its heads."""
    moment = min((head.onset for head in heads if head.onset >= onset), default=onset)
    return moment, [head for head in heads if head.onset == moment]
