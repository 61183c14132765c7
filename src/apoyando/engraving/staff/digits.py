"""Where digits, circled strings and plucking letters stand beside their notes.

A left-hand digit stands to the left of its head, left of the accidental if there is one;
where there is no room, above or below, at worst to the right. A circled string stands above or below, or left
where neither is free. The letter of the finger that plucks stands off the staff, above it for the
melody and below for the accompaniment, beyond stems and beams. Nothing may touch a head,
a stem, an accidental, another mark, or anything else but the lines of the staff, which are blanked
behind it. A guide finger has a short line before its digit, up or down as the hand goes along the neck.

Each mark tries its places from the best to the worst by a price in staff spaces and takes
the cheapest that is free. Marks are placed in the order of the notes, top note first.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from apoyando.engraving.drawing.boxes import Box, hull
from apoyando.engraving.drawing.shapes import Blank, Dot, Drawing, Piece, Shape, Stroke, Text
from apoyando.engraving.drawing.typeface import DESCENT_EM, DIGIT_HEIGHT_EM, Face
from apoyando.engraving.staff.layout import SIGNATURES, SPACE, STAFF_LINES, System

DIGIT = "digit"
STRING = "string"
PLUCK = "pluck"
GUIDE = "guide"
BLANK = "blank"

DIGIT_EM = 1.5 * SPACE
"""The figure is then as high as a staff space."""
STRING_EM = 1.2 * SPACE
CIRCLE_RADIUS = 0.68 * SPACE
CIRCLE_LINE = 0.09 * SPACE
INK_OF_ADVANCE = 0.86
"""A figure's ink takes about so much of its advance width."""

DASH_WIDTH = 0.62 * SPACE
DASH_RISE = 0.15 * SPACE
DASH_LINE = 0.11 * SPACE
DASH_GAP = 0.13 * SPACE

_FACES = {DIGIT: Face.BOLD, STRING: Face.REGULAR, PLUCK: Face.ITALIC}

AIR = 0.13 * SPACE
"""The least distance to anything."""
GOOD_AIR = 0.3 * SPACE
"""Below this distance a place is priced."""
SIGNATURE_AIR = 0.6 * SPACE
"""So far from a clef the line of a guide finger begins."""
CROWDED = 0.5
LEFT_GAPS = (0.24, 0.36, 0.5, 0.7, 0.9, 1.1, 1.3, 1.55, 1.8, 2.1)
RIGHT_GAPS = (0.24, 0.4, 0.6)
RISES = (0.0, -0.25, 0.25, -0.5, 0.5, -0.8, 0.8)
RIGHT_PRICE = 2.6
PAST_A_HEAD = 2.0
CLIMB_STEP = 0.2
CLIMBS = 60
STAFF_BOTTOM = 4 * SPACE
BUCKET = 3 * SPACE


@dataclass(frozen=True, slots=True)
class _Step:
    """A place beside the head, in staff spaces: ``gap`` from its edge (left of it negative), ``rise`` downwards."""

    price: float
    gap: float
    rise: float


def _steps(gaps: Sequence[float], sign: int) -> tuple[_Step, ...]:
    """Far and crooked places are dear."""
    steps = (_Step(gap - gaps[0] + 1.2 * abs(rise), sign * gap, rise) for gap in gaps for rise in RISES)
    return tuple(sorted(steps, key=lambda step: step.price))


LEFT = _steps(LEFT_GAPS, -1)
RIGHT = _steps(RIGHT_GAPS, 1)


@dataclass(frozen=True, slots=True)
class Mark:
    """One mark to place: its head and what it says.

    ``is_top`` and ``is_bottom``: no head of the same moment lies above, or below. ``guide``: the
    finger comes along its string, up the neck (above 0) or down.
    """

    kind: str
    owner: str
    text: str
    head: Box
    is_melody: bool
    is_top: bool
    is_bottom: bool
    guide: int = 0


@dataclass(slots=True)
class _Crowd:
    """What is already there, findable by where it is along the line."""

    buckets: dict[int, list[Box]] = field(default_factory=lambda: defaultdict(list))

    def add(self, boxes: Iterable[Box]) -> None:
        for box in boxes:
            for bucket in range(int(box.left // BUCKET), int(box.right // BUCKET) + 1):
                self.buckets[bucket].append(box)

    def touches(self, box: Box, air: float = 0.0) -> bool:
        """Anything is nearer than ``air``.

        It is asked some ten thousand times a page, so that the boxes are compared here and not each by itself.
        """
        left, top, right, bottom = box.left - air, box.top - air, box.right + air, box.bottom + air
        for bucket in range(int(left // BUCKET), int(right // BUCKET) + 1):
            for its_left, its_top, its_right, its_bottom in self.buckets.get(bucket, ()):
                if left < its_right and its_left < right and top < its_bottom and its_top < bottom:
                    return True
        return False


_Size = tuple[float, float]


class _Place(NamedTuple):
    """``room`` must be free, the box of the ink itself where it is None."""

    price: float
    box: Box
    room: Box | None = None


def place_marks(system: System, marks: Sequence[Mark]) -> tuple[Shape, ...]:
    """The shapes of the marks, in the order given.

    A mark that finds no free place at all stands in its best one.
    """
    crowd, signatures = _Crowd(), _Crowd()
    for shape in system.shapes:
        if shape.kind in SIGNATURES:
            signatures.add(box.grown(SIGNATURE_AIR) for box in shape.boxes())
        if shape.kind != STAFF_LINES:
            crowd.add(shape.boxes())
    shapes: list[Shape] = []
    for mark in marks:
        box = _best_place(mark, crowd)
        if mark.guide and (box.right > mark.head.left or signatures.touches(box)):
            # The line is for the way along the string: where it has no room there, or would be read
            # with the figure under a clef, the digit stands alone.
            mark = replace(mark, guide=0)  # noqa: PLW2901 - the same mark, made simpler
            box = _best_place(mark, crowd)
        crowd.add((box,))
        shapes += _draw(mark, box)
    return tuple(shapes)


def _best_place(mark: Mark, crowd: _Crowd) -> Box:
    best: _Place | None = None
    for side in sorted(_sides(mark), key=lambda side: side.price):
        if best and side.price >= best.price:
            break
        for place in side.places:
            if best and place.price >= best.price:
                break
            best = _cheaper(best, place, crowd)
    return best.box if best else next(_beside(mark, _size(mark), LEFT)).box


def _cheaper(best: _Place | None, place: _Place, crowd: _Crowd) -> _Place | None:
    """The place if it is free and costs less, otherwise the best so far."""
    if crowd.touches(place.room or place.box, AIR):
        return best
    price = place.price + (CROWDED if crowd.touches(place.box, GOOD_AIR) else 0.0)
    return _Place(price, place.box) if not best or price < best.price else best


class _Side(NamedTuple):
    """Places on one side of the head, the cheapest first; ``price`` is the least of them."""

    price: float
    places: Iterator[_Place]


def _sides(mark: Mark) -> tuple[_Side, ...]:
    size = _size(mark)
    if mark.kind == PLUCK:
        return (_Side(0.0, _off_the_staff(mark, size, up=mark.is_melody)),)
    left, above, below = _prices(mark)
    above += 0.0 if mark.is_top else PAST_A_HEAD
    below += 0.0 if mark.is_bottom else PAST_A_HEAD
    return (
        _Side(left, _beside(mark, size, LEFT, left)),
        _Side(RIGHT_PRICE, _beside(mark, size, RIGHT, RIGHT_PRICE)),
        _Side(above, _column(mark, size, above, up=True)),
        _Side(below, _column(mark, size, below, up=False)),
    )


def _prices(mark: Mark) -> tuple[float, float, float]:
    """What it costs to stand left, above and below."""
    if mark.kind == DIGIT:
        return 0.0, 1.7, 1.7
    return (1.4, 0.3, 1.0) if mark.is_melody else (1.4, 1.0, 0.3)


def _size(mark: Mark) -> _Size:
    """Width and height."""
    if mark.kind == STRING:
        return 2 * CIRCLE_RADIUS, 2 * CIRCLE_RADIUS
    dash = DASH_WIDTH + DASH_GAP if mark.guide else 0.0
    width = Piece(mark.text, DIGIT_EM).width * INK_OF_ADVANCE + dash
    return width, DIGIT_EM * DIGIT_HEIGHT_EM + _descent(mark)


def _descent(mark: Mark) -> float:
    """How far the mark reaches below its baseline."""
    return DIGIT_EM * DESCENT_EM if mark.text == "p" else 0.0


def _beside(mark: Mark, size: _Size, steps: Sequence[_Step], price: float = 0.0) -> Iterator[_Place]:
    """At the height of the head, or a little higher or lower."""
    width, height = size
    top = mark.head.middle[1] - height / 2
    for step in steps:
        is_left = step.gap < 0
        x = mark.head.left + step.gap * SPACE - width if is_left else mark.head.right + step.gap * SPACE
        y = top + step.rise * SPACE
        yield _Place(price + step.price, Box(x, y, x + width, y + height))


def _column(mark: Mark, size: _Size, price: float, *, up: bool) -> Iterator[_Place]:
    """Above or below the head, farther and farther away."""
    width, height = size
    x = mark.head.middle[0] - width / 2
    for step in range(CLIMBS):
        distance = 0.25 + CLIMB_STEP * step
        edge = mark.head.top - distance * SPACE if up else mark.head.bottom + distance * SPACE
        y = edge - height if up else edge
        yield _Place(price + 0.3 * distance, Box(x, y, x + width, y + height))


def _off_the_staff(mark: Mark, size: _Size, *, up: bool) -> Iterator[_Place]:
    """Farther and farther from the staff; ``room`` is as wide as a head, so that no stem stands beside it."""
    width, height = size
    x = mark.head.middle[0]
    edge = min(mark.head.top, 0.0) if up else max(mark.head.bottom, STAFF_BOTTOM)
    for step in range(CLIMBS):
        distance = (0.25 + CLIMB_STEP * step) * SPACE
        y = edge - distance - height if up else edge + distance
        room = Box(mark.head.left, y, mark.head.right, y + height)
        yield _Place(float(step), Box(x - width / 2, y, x + width / 2, y + height), room)


def _draw(mark: Mark, box: Box) -> Iterator[Shape]:
    yield Shape(BLANK, mark.owner, Blank(box.grown(0.06 * SPACE)))
    x, y = box.middle
    if mark.guide:
        rise = DASH_RISE if mark.guide > 0 else -DASH_RISE
        ends = ((box.left, y + rise), (box.left + DASH_WIDTH, y - rise))
        yield Shape(GUIDE, mark.owner, Stroke(ends, DASH_LINE))
        x += (DASH_WIDTH + DASH_GAP) / 2
    size = STRING_EM if mark.kind == STRING else DIGIT_EM
    face = _FACES[mark.kind]
    if mark.kind == STRING:
        radius = CIRCLE_RADIUS - CIRCLE_LINE / 2
        yield Shape(mark.kind, mark.owner, Dot(x, y, radius, radius, CIRCLE_LINE))
    baseline = y + (size * DIGIT_HEIGHT_EM - _descent(mark)) / 2
    figure: Drawing = Text((Piece(mark.text, size, face),), x, baseline, "middle")
    yield Shape(mark.kind, mark.owner, figure)


def mark_boxes(shapes: Iterable[Shape]) -> dict[tuple[str, str], Box]:
    """The ink of each placed mark, by kind and owner."""
    parts: dict[tuple[str, str], list[Box]] = defaultdict(list)
    for shape in shapes:
        if shape.kind in {DIGIT, STRING, PLUCK}:
            parts[shape.kind, shape.owner].extend(shape.boxes())
    return {key: hull(boxes) for key, boxes in parts.items()}
