"""The row of barre marks.

A barre mark reads ``C VII`` or ``½C II``, with a line to the last note under it that ends in
a hook; across a line break it goes on without the hook, and its name stands in brackets on
the new line (common practice of guitar music, no source).
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from apoyando.engraving.drawing.shapes import Piece, Shape, Stroke, Text
from apoyando.engraving.drawing.typeface import CAP_HEIGHT_EM
from apoyando.engraving.notation.barre_marks import list_barre_marks
from apoyando.engraving.rows.ground import LINE, ROW_GAP, Ground, RowLine
from apoyando.engraving.staff.layout import SPACE
from apoyando.model.arrangement import Barre
from apoyando.model.hand import roman

BARRE = "barre"

BARRE_EM = 1.55 * SPACE
HOOK = 0.7 * SPACE


@dataclass(frozen=True, slots=True)
class _BarrePart:
    """What of a barre lies on one line."""

    barre: Barre
    left: float
    right: float
    comes_from_before: bool
    goes_on: bool

    @property
    def label(self) -> Text:
        name = f"{'' if self.barre.is_full else '½'}C {roman(self.barre.fret)}"
        return Text((Piece(f"({name})" if self.comes_from_before else name, BARRE_EM),), self.left, 0)

    @property
    def label_right(self) -> float:
        return self.left + self.label.width


def barre_row(line: RowLine, ground: Ground) -> Iterator[Shape]:
    marked = list_barre_marks(line.arrangement)
    parts = [part for barre in marked if (part := _barre_part(barre, line))]
    limits = [*(part.left - 0.5 * SPACE for part in parts[1:]), line.system.right]
    reach = (ground.top(part.left, max(part.right, part.label_right)) for part in parts)
    y = min(reach, default=0.0) - ROW_GAP
    taken = 0.0
    for part, limit in zip(parts, limits, strict=False):
        # A name that would run into the one before goes one step up.
        is_raised = part.left < taken
        yield from _draw_barre(part, y - 1.2 * BARRE_EM if is_raised else y, limit)
        taken = 0.0 if is_raised else part.label_right + 0.3 * SPACE


def _barre_part(barre: Barre, line: RowLine) -> _BarrePart | None:
    under = [head.box for head in line.struck if barre.span.contains(head.onset)]
    if not under:
        return None
    comes_from_before = barre.span.onset < line.bars[0].onset < barre.span.offset
    goes_on = barre.span.onset < line.bars[-1].offset < barre.span.offset
    left = min(box.left for box in under)
    right = line.system.right if goes_on else max(box.right for box in under)
    part = _BarrePart(barre, left, right, comes_from_before, goes_on)
    # Over the last note of a line the name ends with the line.
    return replace(part, left=min(left, line.system.right - part.label.width))


def _draw_barre(part: _BarrePart, y: float, limit: float) -> Iterator[Shape]:
    label = Text(part.label.pieces, part.left, y)
    yield Shape(BARRE, "", label)
    start, end = part.left + label.width + 0.3 * SPACE, min(part.right, limit)
    if end - start < SPACE:
        return
    height = y - 0.5 * CAP_HEIGHT_EM * BARRE_EM
    hook = () if part.goes_on else ((end, height + HOOK),)
    yield Shape(BARRE, "", Stroke(((start, height), (end, height), *hook), LINE))
