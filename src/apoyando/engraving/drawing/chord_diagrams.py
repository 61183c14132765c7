"""Chord diagrams: a shape of the left hand as a small picture of the fingerboard.

Strings run down, string 6 on the left; frets across, the nut a thick line where the picture
begins at fret 1, otherwise the Roman number of its first fret beside it. A dot is a finger,
a bar across strings a barre, a ring above a string is open, a cross above it is not struck;
the fingers stand under their strings (common practice, no source). Circles around digits are
left to string numbers.

Conventions: hundredths of a millimetre from the upper left corner of the grid, which is the
nut or the first fret at string 6; y down. Everything is drawn in parts of ``gap``, the
distance of two strings.
"""

from collections.abc import Iterator

from apoyando.engraving.drawing.shapes import Dot, Piece, Shape, Stroke, Text
from apoyando.engraving.drawing.typeface import DIGIT_HEIGHT_EM, Face
from apoyando.model.arrangement import Barre
from apoyando.model.hand import Finger, roman
from apoyando.model.hand_shape import HandShape, Stop
from apoyando.model.instrument import STRINGS, StringNumber

DIAGRAM = "diagram"
FEWEST_FRETS = 4
HIGHEST_AT_NUT = 4
"""A shape within so many frets is drawn from the nut."""
FRET_GAP = 1.2
"""From fret to fret, in gaps of strings."""
LINE = 0.07
NUT = 0.3
DOT_RADIUS = 0.36
BARRE_WIDTH = 0.42
SIGN_RADIUS = 0.26
SIGN_RISE = 0.55
DIGIT_EM = 1.15
NUMBER_EM = 1.2


def draw_chord_diagram(shape: HandShape, gap: float) -> tuple[Shape, ...]:
    """A shape as drawings; their boxes tell how far they reach around the grid."""
    frets = drawn_frets(shape)
    first, rows = frets.start, len(frets)
    return (
        *_draw_grid(first, rows, gap),
        *(drawn for barre in _pressing(shape) for drawn in _draw_barre(barre, first, gap)),
        *(drawn for string in STRINGS for drawn in _draw_string(shape, string, first, rows, gap)),
    )


def drawn_frets(shape: HandShape) -> range:
    """The frets that the picture shows."""
    first = _first_fret(shape)
    return range(first, max(first + FEWEST_FRETS, _highest_fret(shape) + 1))


def _stopped(shape: HandShape) -> list[Stop]:
    return [stop for stop in shape.stops if not stop.place.is_open]


def _highest_fret(shape: HandShape) -> int:
    return max((stop.place.fret for stop in _stopped(shape)), default=1)


def _first_fret(shape: HandShape) -> int:
    if _highest_fret(shape) <= HIGHEST_AT_NUT:
        return 1
    return min(stop.place.fret for stop in _stopped(shape))


def _pressing(shape: HandShape) -> list[Barre]:
    """The barres that stop a string which sounds."""
    return [barre for barre in shape.barres if any(_lies_in(stop, barre) for stop in shape.stops)]


def _lies_in(stop: Stop, barre: Barre) -> bool:
    is_its_own = stop.finger is barre.finger and stop.place.fret == barre.fret
    return is_its_own and stop.place.string in barre.strings


def _x(string: int, gap: float) -> float:
    return (len(STRINGS) - string) * gap


def _y(fret: int, first: int, gap: float) -> float:
    """The middle of a fret's field."""
    return (fret - first + 0.5) * FRET_GAP * gap


def _draw_grid(first: int, rows: int, gap: float) -> Iterator[Shape]:
    right, bottom = _x(1, gap), rows * FRET_GAP * gap
    for string in STRINGS:
        x = _x(string, gap)
        yield Shape(DIAGRAM, "", Stroke(((x, 0), (x, bottom)), LINE * gap))
    half = LINE * gap / 2
    for row in range(rows + 1):
        y = row * FRET_GAP * gap
        yield Shape(DIAGRAM, "", Stroke(((-half, y), (right + half, y)), LINE * gap))
    if first == 1:
        y = -NUT * gap / 2
        yield Shape(DIAGRAM, "", Stroke(((-half, y), (right + half, y)), NUT * gap))
    else:
        size = NUMBER_EM * gap
        y = _y(first, first, gap) + DIGIT_HEIGHT_EM * size / 2
        yield Shape(DIAGRAM, "", Text((Piece(roman(first), size),), right + 0.7 * gap, y))


def _draw_barre(barre: Barre, first: int, gap: float) -> Iterator[Shape]:
    y = _y(barre.fret, first, gap)
    left, right = _x(barre.lowest_string, gap), _x(barre.highest_string, gap)
    yield Shape(DIAGRAM, "", Stroke(((left, y), (right, y)), BARRE_WIDTH * gap))
    for x in (left, right):
        radius = BARRE_WIDTH * gap / 2
        yield Shape(DIAGRAM, "", Dot(x, y, radius, radius))


def _draw_string(
    shape: HandShape, string: StringNumber, first: int, rows: int, gap: float
) -> Iterator[Shape]:
    """What stands above a string, on it and under it."""
    x = _x(string, gap)
    stop = next((stop for stop in shape.stops if stop.place.string == string), None)
    if stop is None:
        yield from _draw_cross(x, -(NUT + SIGN_RISE) * gap, gap)
    elif stop.finger is Finger.OPEN:
        radius = SIGN_RADIUS * gap
        yield Shape(DIAGRAM, "", Dot(x, -(NUT + SIGN_RISE) * gap, radius, radius, LINE * gap))
    else:
        if not any(_lies_in(stop, barre) for barre in shape.barres):
            radius = DOT_RADIUS * gap
            yield Shape(DIAGRAM, "", Dot(x, _y(stop.place.fret, first, gap), radius, radius))
        yield _draw_digit(stop, x, rows, gap)


def _draw_cross(x: float, y: float, gap: float) -> Iterator[Shape]:
    arm = SIGN_RADIUS * gap
    for slant in (1, -1):
        points = ((x - arm, y - slant * arm), (x + arm, y + slant * arm))
        yield Shape(DIAGRAM, "", Stroke(points, LINE * gap))


def _draw_digit(stop: Stop, x: float, rows: int, gap: float) -> Shape:
    size = DIGIT_EM * gap
    y = rows * FRET_GAP * gap + 0.35 * gap + DIGIT_HEIGHT_EM * size
    return Shape(DIAGRAM, "", Text((Piece(f"{stop.finger:d}", size, Face.REGULAR),), x, y, "middle"))
