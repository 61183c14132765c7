"""The row of chord diagrams, at one height; the chord's symbol stands over it."""

from collections.abc import Iterator

from apoyando.engraving.drawing.boxes import Box, hull
from apoyando.engraving.drawing.chord_diagrams import DIAGRAM, draw_chord_diagram
from apoyando.engraving.drawing.shapes import Shape
from apoyando.engraving.notation.diagrams import Diagram
from apoyando.engraving.rows.ground import ROW_GAP, Ground, RowLine, moved
from apoyando.engraving.rows.spreading import spread
from apoyando.engraving.staff.layout import SPACE

GAP = 0.92 * SPACE
"""From string to string."""
BETWEEN = 0.8 * SPACE


def diagram_row(line: RowLine, ground: Ground) -> Iterator[Shape]:
    """The diagrams of the line's bars over the notes of their moments, or beside where two would touch."""
    start, end = line.bars[0].onset, line.bars[-1].offset
    here = [diagram for diagram in line.score.diagrams if start <= diagram.onset < end]
    drawn = [draw_chord_diagram(diagram.shape, GAP) for diagram in here]
    boxes = [hull(box for shape in shapes for box in shape.boxes()) for shapes in drawn]
    lefts = _lefts(line, here, boxes)
    reach = (ground.top(x, x + box.width) - ROW_GAP - box.bottom for x, box in zip(lefts, boxes, strict=True))
    y = min(reach, default=0.0)
    for number, (x, box, shapes) in enumerate(zip(lefts, boxes, drawn, strict=True)):
        for shape in shapes:
            owner = f"d{line.bars[0].index}-{number}"
            yield Shape(DIAGRAM, owner, moved(shape.drawing, x - box.left, y))


def _lefts(line: RowLine, diagrams: list[Diagram], boxes: list[Box]) -> list[float]:
    wished = [_left(line, diagram) for diagram in diagrams]
    widths = [box.width for box in boxes]
    return spread(wished, widths, [BETWEEN] * len(widths), (line.system.music_left, line.system.right))


def _left(line: RowLine, diagram: Diagram) -> float:
    """Where the first notes from its moment on begin."""
    after = [head for head in line.heads if head.onset >= diagram.onset]
    first = min((head.onset for head in after), default=diagram.onset)
    return min((head.box.left for head in after if head.onset == first), default=line.system.music_left)
