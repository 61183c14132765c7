"""Boxes: upright rectangles, in which all that is drawn lies.

Conventions: as in ``shapes``: hundredths of a millimetre, x to the right, y down.
"""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

Point = tuple[float, float]


class Box(NamedTuple):
    """An upright rectangle. Law: ``left <= right`` and ``top <= bottom``.

    A page is made with some ten thousand of them: a tuple is made in less than half the time.
    """

    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        return self.right - self.left

    @property
    def height(self) -> float:
        return self.bottom - self.top

    @property
    def middle(self) -> Point:
        return (self.left + self.right) / 2, (self.top + self.bottom) / 2

    def overlaps(self, other: "Box") -> bool:
        """They share more than an edge."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )

    def grown(self, by: float) -> "Box":
        return Box(self.left - by, self.top - by, self.right + by, self.bottom + by)

    def moved(self, dx: float, dy: float) -> "Box":
        return Box(self.left + dx, self.top + dy, self.right + dx, self.bottom + dy)

    def placed(self, x: float, y: float, scale: float) -> "Box":
        """Round its origin as large as ``scale`` says, and that moved to a place."""
        left, top, right, bottom = self
        return Box(x + scale * left, y + scale * top, x + scale * right, y + scale * bottom)


NOTHING = Box(0, 0, 0, 0)


def hull(boxes: Iterable[Box]) -> Box:
    """The smallest box around boxes, of which there must be one at least."""
    lefts, tops, rights, bottoms = zip(*boxes, strict=True)
    return Box(min(lefts), min(tops), max(rights), max(bottoms))


def box_of(points: Sequence[Point]) -> Box:
    xs, ys = zip(*points, strict=True)
    return Box(min(xs), min(ys), max(xs), max(ys))


def around_line(start: Point, end: Point, air: float) -> Box:
    """Most shapes are lines, so that their ends are compared here and not by ``min`` and ``max``."""
    (x0, y0), (x1, y1) = start, end
    left, right = (x0, x1) if x0 < x1 else (x1, x0)
    top, bottom = (y0, y1) if y0 < y1 else (y1, y0)
    return Box(left - air, top - air, right + air, bottom + air)
