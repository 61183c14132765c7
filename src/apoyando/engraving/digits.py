"""Where digits and circled strings stand beside their notes.

A left-hand digit stands to the left of its head, left of the accidental if there is one;
where there is no room, above or below, at worst to the right. A circled string stands above or below, or left
where neither is free. Nothing may touch a head, a stem, an accidental, another mark, or
anything else but the lines of the staff, which are blanked behind it.

Each mark tries its places from the best to the worst by a price in staff spaces and takes
the cheapest that is free. Marks are placed in the order of the notes, top note first.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from apoyando.engraving.layout import SPACE, STAFF_LINES, System
from apoyando.engraving.shapes import Blank, Box, Dot, Drawing, Piece, Shape, Text, hull
from apoyando.engraving.typeface import DIGIT_HEIGHT_EM, Face

DIGIT = "digit"
STRING = "string"
BLANK = "blank"

DIGIT_EM = 1.5 * SPACE
"""The figure is then as high as a staff space."""
STRING_EM = 1.2 * SPACE
CIRCLE_RADIUS = 0.68 * SPACE
CIRCLE_LINE = 0.09 * SPACE
INK_OF_ADVANCE = 0.86
"""A figure's ink takes about so much of its advance width."""

AIR = 0.13 * SPACE
"""The least distance to anything."""
GOOD_AIR = 0.3 * SPACE
"""Below this distance a place is priced."""
CROWDED = 0.5
LEFT_GAPS = (0.24, 0.36, 0.5, 0.7, 0.9, 1.1, 1.3, 1.55, 1.8, 2.1)
RIGHT_GAPS = (0.24, 0.4, 0.6)
RISES = (0.0, -0.25, 0.25, -0.5, 0.5, -0.8, 0.8)
RIGHT_PRICE = 2.6
PAST_A_HEAD = 2.0
CLIMB_STEP = 0.2
CLIMBS = 60
BUCKET = 3 * SPACE


@dataclass(frozen=True, slots=True)
class Mark:
    """One mark to place: its head and what it says.

    ``is_top`` and ``is_bottom``: no head of the same moment lies above, or below.
    """

    kind: str
    owner: str
    text: str
    head: Box
    is_melody: bool
    is_top: bool
    is_bottom: bool


@dataclass(slots=True)
class _Crowd:
    """What is already there, findable by where it is along the line."""

    buckets: dict[int, list[Box]] = field(default_factory=lambda: defaultdict(list))

    def add(self, boxes: Iterable[Box]) -> None:
        for box in boxes:
            for bucket in range(int(box.left // BUCKET), int(box.right // BUCKET) + 1):
                self.buckets[bucket].append(box)

    def touches(self, box: Box) -> bool:
        first, last = int(box.left // BUCKET), int(box.right // BUCKET)
        return any(
            box.overlaps(other) for bucket in range(first, last + 1) for other in self.buckets.get(bucket, ())
        )


@dataclass(frozen=True, slots=True)
class _Place:
    price: float
    box: Box


def place_marks(system: System, marks: Sequence[Mark]) -> tuple[Shape, ...]:
    """The shapes of the marks, in the order given.

    A mark that finds no free place at all stands in its best one.
    """
    crowd = _Crowd()
    for shape in system.shapes:
        if shape.kind != STAFF_LINES:
            crowd.add(shape.boxes())
    shapes: list[Shape] = []
    for mark in marks:
        box = _best_place(mark, crowd)
        crowd.add((box,))
        shapes += _draw(mark, box)
    return tuple(shapes)


def _best_place(mark: Mark, crowd: _Crowd) -> Box:
    places = sorted(_places(mark), key=lambda place: place.price)
    best: _Place | None = None
    for place in places:
        if best and place.price >= best.price:
            break
        if crowd.touches(place.box.grown(AIR)):
            continue
        price = place.price + (CROWDED if crowd.touches(place.box.grown(GOOD_AIR)) else 0.0)
        if not best or price < best.price:
            best = _Place(price, place.box)
    return (best or places[0]).box


def _places(mark: Mark) -> Iterator[_Place]:
    width, height = _size(mark)
    left, above, below = _prices(mark)
    yield from _left_places(mark.head, width, height, left)
    yield from _right_places(mark.head, width, height)
    above += 0.0 if mark.is_top else PAST_A_HEAD
    below += 0.0 if mark.is_bottom else PAST_A_HEAD
    yield from _column(mark.head, width, height, up=True, price=above)
    yield from _column(mark.head, width, height, up=False, price=below)


def _prices(mark: Mark) -> tuple[float, float, float]:
    """What it costs to stand left, above and below."""
    if mark.kind == DIGIT:
        return 0.0, 1.7, 1.7
    return (1.4, 0.3, 1.0) if mark.is_melody else (1.4, 1.0, 0.3)


def _size(mark: Mark) -> tuple[float, float]:
    if mark.kind == STRING:
        return 2 * CIRCLE_RADIUS, 2 * CIRCLE_RADIUS
    return Piece(mark.text, DIGIT_EM).width * INK_OF_ADVANCE, DIGIT_EM * DIGIT_HEIGHT_EM


def _left_places(head: Box, width: float, height: float, price: float) -> Iterator[_Place]:
    for gap in LEFT_GAPS:
        left = head.left - gap * SPACE - width
        yield from _beside(head, left, width, height, price + gap - LEFT_GAPS[0])


def _right_places(head: Box, width: float, height: float) -> Iterator[_Place]:
    for gap in RIGHT_GAPS:
        yield from _beside(head, head.right + gap * SPACE, width, height, RIGHT_PRICE + gap)


def _beside(head: Box, left: float, width: float, height: float, price: float) -> Iterator[_Place]:
    """At the height of the head, or a little higher or lower."""
    top = head.middle[1] - height / 2
    for rise in RISES:
        y = top + rise * SPACE
        yield _Place(price + 1.2 * abs(rise), Box(left, y, left + width, y + height))


def _column(head: Box, width: float, height: float, *, up: bool, price: float) -> Iterator[_Place]:
    """Above or below the head, farther and farther away."""
    x = head.middle[0]
    for step in range(CLIMBS):
        distance = 0.25 + CLIMB_STEP * step
        edge = head.top - distance * SPACE if up else head.bottom + distance * SPACE
        top = edge - height if up else edge
        yield _Place(price + 0.3 * distance, Box(x - width / 2, top, x + width / 2, top + height))


def _draw(mark: Mark, box: Box) -> Iterator[Shape]:
    yield Shape(BLANK, mark.owner, Blank(box.grown(0.06 * SPACE)))
    x, y = box.middle
    size = DIGIT_EM if mark.kind == DIGIT else STRING_EM
    face = Face.BOLD if mark.kind == DIGIT else Face.REGULAR
    if mark.kind == STRING:
        radius = CIRCLE_RADIUS - CIRCLE_LINE / 2
        yield Shape(mark.kind, mark.owner, Dot(x, y, radius, radius, CIRCLE_LINE))
    figure: Drawing = Text((Piece(mark.text, size, face),), x, y + size * DIGIT_HEIGHT_EM / 2, "middle")
    yield Shape(mark.kind, mark.owner, figure)


def mark_boxes(shapes: Iterable[Shape]) -> dict[tuple[str, str], Box]:
    """The ink of each placed mark, by kind and owner."""
    parts: dict[tuple[str, str], list[Box]] = defaultdict(list)
    for shape in shapes:
        if shape.kind in {DIGIT, STRING}:
            parts[shape.kind, shape.owner].extend(shape.boxes())
    return {key: hull(boxes) for key, boxes in parts.items()}
