"""What touches what on a finished page.

Everything that the page itself adds to the layout (digits, circled strings, barre marks,
chord symbols, endings, words) is held against everything else on its line but the lines
of the staff, box against box. A slanted or curved thing has several boxes (``shapes``).
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from apoyando.engraving.digits import BLANK, DIGIT, PLUCK, STRING
from apoyando.engraving.layout import STAFF_LINES
from apoyando.engraving.lines import Line
from apoyando.engraving.rows import BAR_NUMBER, BARRE, ENDING, SYMBOL, WORDS
from apoyando.engraving.shapes import Box, Shape

ADDED = frozenset({DIGIT, STRING, PLUCK, BARRE, SYMBOL, ENDING, WORDS, BAR_NUMBER})
UNDERNEATH = frozenset({STAFF_LINES, BLANK})
SLACK = 1.0
"""Boxes that share less than a hundredth of a millimetre do not touch."""


@dataclass(frozen=True, slots=True)
class Collision:
    """Two things of one line that touch, and where."""

    line: int
    added: Shape
    other: Shape
    box: Box


def find_collisions(lines: Sequence[Line]) -> tuple[Collision, ...]:
    """All collisions of a score's lines; none is what a page should have."""
    return tuple(
        collision for number, line in enumerate(lines) for collision in _collisions_of(number, line.shapes)
    )


def _collisions_of(number: int, shapes: Sequence[Shape]) -> Iterator[Collision]:
    solid = [(shape, shape.boxes()) for shape in shapes if shape.kind not in UNDERNEATH]
    for index, (added, boxes) in enumerate(solid):
        if added.kind not in ADDED:
            continue
        for other_index, (other, other_boxes) in enumerate(solid):
            is_seen = other.kind in ADDED and other_index <= index
            if is_seen or _belong_together(added, other):
                continue
            for box in boxes:
                if any(box.grown(-SLACK).overlaps(other_box) for other_box in other_boxes):
                    yield Collision(number, added, other, box)
                    break


def _belong_together(one: Shape, other: Shape) -> bool:
    """A circle and the number in it."""
    return one.kind == other.kind and bool(one.owner) and one.owner == other.owner
