"""The row of barre marks.

A barre mark reads ``C VII`` or ``½C II``, with a line to the last note under it that ends in
a hook; across a line break it goes on without the hook, and its name stands in brackets on
the new line (common practice of guitar music, no source). Where half barre and full barre follow
each other at one fret the line leads on from one to the other: ``C II —— ½C —— C ——``.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from apoyando.engraving.drawing.shapes import Piece, Shape, Stroke, Text
from apoyando.engraving.drawing.typeface import CAP_HEIGHT_EM
from apoyando.engraving.notation.barre_marks import BarreMark, list_barre_marks
from apoyando.engraving.rows.ground import LINE, ROW_GAP, Ground, RowLine
from apoyando.engraving.staff.layout import SPACE

BARRE = "barre"

BARRE_EM = 1.55 * SPACE
HOOK = 0.7 * SPACE
LEAST_LINE = SPACE
AROUND_LINE = 0.8 * SPACE
"""Between a name and its line, and the line and the next name."""


@dataclass(frozen=True, slots=True)
class _BarrePart:
    """What of a mark lies on one line; ``goes_on``: it has no hook."""

    mark: BarreMark
    left: float
    right: float
    name: str
    goes_on: bool

    @property
    def label(self) -> Text:
        return Text((Piece(self.name, BARRE_EM),), self.left, 0)

    @property
    def label_right(self) -> float:
        return self.left + self.label.width


def barre_row(line: RowLine, ground: Ground) -> Iterator[Shape]:
    parts = _lead_on(
        [part for mark in list_barre_marks(line.arrangement) if (part := _barre_part(mark, line))]
    )
    limits = [*(part.left - 0.5 * SPACE for part in parts[1:]), line.system.right]
    reach = (ground.top(part.left, max(part.right, part.label_right)) for part in parts)
    y = min(reach, default=0.0) - ROW_GAP
    taken = 0.0
    for part, limit in zip(parts, limits, strict=False):
        # A name that would run into the one before goes one step up.
        is_raised = part.left < taken
        yield from _draw_barre(part, y - 1.2 * BARRE_EM if is_raised else y, limit)
        taken = 0.0 if is_raised else part.label_right + 0.3 * SPACE


def _barre_part(mark: BarreMark, line: RowLine) -> _BarrePart | None:
    under = [head.box for head in line.struck if mark.span.contains(head.onset)]
    if not under:
        return None
    comes_from_before = mark.onset < line.bars[0].onset < mark.offset
    is_over = mark.offset < line.bars[-1].offset or not mark.goes_on
    goes_on = not is_over or mark.onset < line.bars[-1].offset < mark.offset
    left = min(box.left for box in under)
    right = line.system.right if goes_on else max(box.right for box in under)
    name = f"({mark.name})" if comes_from_before else mark.name
    part = _BarrePart(mark, left, right, name, goes_on)
    # Over the last note of a line the name ends with the line.
    return replace(part, left=min(left, line.system.right - part.label.width))


def _lead_on(parts: Sequence[_BarrePart]) -> list[_BarrePart]:
    """Where finger 1 stays at its fret a line leads from one name to the next, which then has no fret."""
    led = list(parts[:1])
    for part in parts[1:]:
        before = led[-1]
        if before.mark.goes_on and before.mark.barre.fret == part.mark.barre.fret:
            led[-1] = replace(before, right=part.left, goes_on=True)
            has_line = part.left - before.label_right >= LEAST_LINE + AROUND_LINE
            led.append(replace(part, name=part.mark.kind) if has_line else part)
        else:
            led.append(part)
    return led


def _draw_barre(part: _BarrePart, y: float, limit: float) -> Iterator[Shape]:
    label = Text(part.label.pieces, part.left, y)
    yield Shape(BARRE, "", label)
    start, end = part.left + label.width + 0.3 * SPACE, min(part.right, limit)
    if end - start < LEAST_LINE:
        return
    height = y - 0.5 * CAP_HEIGHT_EM * BARRE_EM
    hook = () if part.goes_on else ((end, height + HOOK),)
    yield Shape(BARRE, "", Stroke(((start, height), (end, height), *hook), LINE))
