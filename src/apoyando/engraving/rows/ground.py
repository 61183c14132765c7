"""What the rows of a line are built upon, and what they are built from.

Conventions: as in ``layout``: hundredths of a millimetre from the top line of the staff.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from apoyando.engraving.drawing.boxes import Box
from apoyando.engraving.drawing.shapes import Dot, Drawing, Glyph, Shape, Stroke, Text
from apoyando.engraving.notation.score import NotatedScore, Sounding
from apoyando.engraving.staff.layout import SPACE, System
from apoyando.model.arrangement import Arrangement, Note
from apoyando.model.song import Bar
from apoyando.model.time import Quarters

LINE = 0.11 * SPACE
ROW_GAP = 0.65 * SPACE
WORD_GAP = 0.8 * SPACE
SIDE_AIR = 0.5 * SPACE
GLYPH_SIZE = 4 * SPACE


@dataclass(frozen=True, slots=True)
class Ground:
    """What rows are built upon: everything drawn so far. ``floor`` is the lowest line of the staff."""

    boxes: tuple[Box, ...]
    floor: float

    def top(self, left: float, right: float) -> float:
        """The highest point between two places; the top line of the staff if nothing is higher."""
        left, right = left - SIDE_AIR, right + SIDE_AIR
        reaching = (box.top for box in self.boxes if box.left < right and left < box.right)
        return min(0.0, min(reaching, default=0.0))

    def bottom(self, left: float, right: float) -> float:
        """The lowest point between two places; the bottom line of the staff if nothing is lower."""
        left, right = left - SIDE_AIR, right + SIDE_AIR
        reaching = (box.bottom for box in self.boxes if box.left < right and left < box.right)
        return max(self.floor, max(reaching, default=self.floor))

    def under(self, shapes: Iterable[Shape]) -> "Ground":
        """The same with more drawn."""
        return Ground((*self.boxes, *(box for shape in shapes for box in shape.boxes())), self.floor)


@dataclass(frozen=True, slots=True)
class Head:
    """A written note head. Only the first of tied ones is struck."""

    note: Note
    event: Sounding
    box: Box

    @property
    def onset(self) -> Quarters:
        return self.event.onset

    @property
    def is_struck(self) -> bool:
        return not self.event.is_tied_from_before


@dataclass(frozen=True, slots=True)
class RowLine:
    """One line of music, and what of the piece concerns it."""

    score: NotatedScore
    system: System
    bars: tuple[Bar, ...]
    heads: Sequence[Head]

    @property
    def arrangement(self) -> Arrangement:
        return self.score.arrangement

    @property
    def struck(self) -> list[Head]:
        return [head for head in self.heads if head.is_struck]


def lowered(drawing: Drawing, y: float) -> Drawing:
    """The same drawing, so much lower."""
    return moved(drawing, 0, y)


def moved(drawing: Drawing, dx: float, dy: float) -> Drawing:
    """The same drawing elsewhere; rows draw signs, text, lines and dots."""
    match drawing:
        case Glyph() | Text() | Dot():
            return replace(drawing, x=drawing.x + dx, y=drawing.y + dy)
        case Stroke():
            return replace(drawing, points=tuple((x + dx, y + dy) for x, y in drawing.points))
        case _:
            return drawing
