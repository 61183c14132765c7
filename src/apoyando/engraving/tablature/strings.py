"""Tablature: six lines for the strings, and on them the frets.

Conventions of printed tablature (common practice, no source), and where it is of two minds
what is done here:

* the highest line is string 1; a number stands in the middle of its line, which is
  interrupted for it; frets are counted from the capo, and an open string is 0;
* what is struck together stands in one column, under the heads where notation is above;
* a number says where a note is struck. A note that is tied on has no second number, but
  where there is no notation: there it is written again in brackets, because its stem must
  stand on something;
* a string that is tuned otherwise keeps its line: the heading tells its tuning;
* left-hand digits are not printed beside the numbers, which they would be taken for;
* the wavy line of a rolled chord goes from its lowest string to its highest.

With notation there is no rhythm in the tablature. Alone it has stems (``tablature_stems``).

Conventions: hundredths of a millimetre; ``top`` is the height of the line of string 1.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from apoyando.engraving.drawing.boxes import Box
from apoyando.engraving.drawing.shapes import Blank, Dot, Glyph, Piece, Shape, Stroke, Text
from apoyando.engraving.drawing.typeface import DIGIT_HEIGHT_EM
from apoyando.engraving.staff.columns import WrittenHead, find_columns
from apoyando.engraving.staff.digits import BLANK
from apoyando.engraving.staff.layout import SPACE, STAFF_LINES, System
from apoyando.model.arrangement import Note
from apoyando.model.instrument import STRINGS, StringNumber
from apoyando.model.time import Quarters

FRET = "fret"
STRING_GAP = 1.5 * SPACE
HEIGHT = 5 * STRING_GAP
STAFF_HEIGHT = 4 * SPACE
NUMBER_EM = 1.8 * SPACE
"""The figure is then a little lower than the gap between two strings."""
BRACKETED_EM = 1.45 * SPACE
LEAST_EM = 1.1 * SPACE
INK_OF_ADVANCE = 0.9
NUMBER_AIR = 0.14 * SPACE
LINE = 0.075 * SPACE
JOINING_LINE = 0.16 * SPACE
STAFF_GAP = 2.2 * SPACE
"""Between what is lowest of the notation and the highest string."""
LEAST_DISTANCE = 5.0 * SPACE
"""… and between its lowest line and the highest string."""
CLEF_CODE = "E06D"
CLEF_X = 0.9 * SPACE
CLEF_SIZE = 4 * SPACE
ROLL_CODE = "EAA9"
ROLL_GAP = 0.35 * SPACE


@dataclass(frozen=True, slots=True)
class Number:
    """A fret on its string: what is struck at ``x``, or tied on there and so in brackets."""

    note_id: str
    note: Note
    onset: Quarters
    x: float
    is_tied: bool = False
    em: float = NUMBER_EM

    @property
    def text(self) -> str:
        fret = str(int(self.note.place.fret))
        fret = f"<{fret}>" if self.note.is_harmonic else fret
        return f"({fret})" if self.is_tied else fret

    def box(self, top: float) -> Box:
        """Where its ink is."""
        half_width = Piece(self.text, self.em).width * INK_OF_ADVANCE / 2
        half_height = self.em * DIGIT_HEIGHT_EM / 2
        y = string_y(self.note.place.string, top)
        return Box(self.x - half_width, y - half_height, self.x + half_width, y + half_height)


def string_y(string: StringNumber, top: float) -> float:
    """The height of a string's line."""
    return top + (string - 1) * STRING_GAP


def add_tablature(system: System, heads: Sequence[WrittenHead], above: Sequence[Shape]) -> tuple[Shape, ...]:
    """The tablature under a system that is finished with all of ``above``."""
    bottom = max(box.bottom for shape in above for box in shape.boxes())
    top = max(bottom + STAFF_GAP, STAFF_HEIGHT + LEAST_DISTANCE)
    numbers = choose_numbers(heads, find_columns(heads, system.heads))
    joined = Stroke(((0, -LINE / 2), (0, top + HEIGHT + LINE / 2)), JOINING_LINE)
    return (*draw_frame(system, top), Shape("barLine", "", joined), *draw_numbers(numbers, top))


# The numbers.


def choose_numbers(
    heads: Iterable[WrittenHead], columns: Mapping[Quarters, float], *, with_tied: bool = False
) -> tuple[Number, ...]:
    """What is to be written: every note where it is struck, and a unison on one place once.

    A number that would run into its neighbour on the string is made smaller.
    """
    chosen: dict[tuple[Quarters, StringNumber], Number] = {}
    for head in sorted(heads, key=lambda head: (head.event.onset, head.event.is_tied_from_before)):
        onset, is_tied = head.event.onset, head.event.is_tied_from_before
        if with_tied or not is_tied:
            em = BRACKETED_EM if is_tied else NUMBER_EM
            number = Number(head.note_id, head.note, onset, columns[onset], is_tied, em)
            chosen.setdefault((onset, head.note.place.string), number)
    return tuple(number for string in STRINGS for number in _fitted(_on(string, chosen.values())))


def _on(string: StringNumber, numbers: Iterable[Number]) -> list[Number]:
    return [number for number in numbers if number.note.place.string == string]


def _fitted(numbers: Sequence[Number]) -> list[Number]:
    """Numbers of one string, from left to right, each no wider than its share of the line."""
    fitted: list[Number] = []
    for index, number in enumerate(numbers):
        near = [
            abs(other.x - number.x)
            for other in (*numbers[max(0, index - 1) : index], *numbers[index + 1 : index + 2])
        ]
        room = min(near, default=number.em * 9) - NUMBER_AIR
        width = Piece(number.text, number.em).width * INK_OF_ADVANCE
        fitted.append(replace(number, em=max(LEAST_EM, number.em * min(1.0, room / width))))
    return fitted


def draw_numbers(numbers: Iterable[Number], top: float) -> Iterator[Shape]:
    for number in numbers:
        box = number.box(top)
        yield Shape(
            BLANK,
            number.note_id,
            Blank(Box(box.left - NUMBER_AIR, box.top, box.right + NUMBER_AIR, box.bottom)),
        )
        yield Shape(
            FRET, number.note_id, Text((Piece(number.text, number.em),), number.x, box.bottom, "middle")
        )
    yield from _rolls(numbers, top)


def _rolls(numbers: Iterable[Number], top: float) -> Iterator[Shape]:
    """The wavy lines before what is rolled."""
    rolled: dict[Quarters, list[Number]] = {}
    for number in numbers:
        if number.note.is_rolled and not number.is_tied:
            rolled.setdefault(number.onset, []).append(number)
    for column in rolled.values():
        boxes = [number.box(top) for number in column]
        left = min(box.left for box in boxes) - ROLL_GAP
        yield from _wavy_line(left, min(box.top for box in boxes), max(box.bottom for box in boxes))


def _wavy_line(right: float, top: float, bottom: float) -> Iterator[Shape]:
    """From the bottom up, of whole waves, its right edge at ``right``."""
    wave = Glyph(ROLL_CODE, 0, 0, CLEF_SIZE, is_upright=True).boxes()[0]
    count = max(1, round((bottom - top) / wave.height))
    for index in range(count):
        yield Shape(
            "arpeg",
            "",
            Glyph(
                ROLL_CODE,
                right - wave.right,
                bottom - wave.bottom - index * wave.height,
                CLEF_SIZE,
                is_upright=True,
            ),
        )


# What is round the numbers.


def draw_frame(system: System, top: float) -> Iterator[Shape]:
    """The strings, the clef, and the barlines of the system."""
    for string in STRINGS:
        y = string_y(string, top)
        yield Shape(STAFF_LINES, "", Stroke(((0, y), (system.right, y)), LINE))
    yield Shape("clef", "", _clef(top))
    for shape in system.shapes:
        if shape.kind == "barLine":
            yield from _barline(shape, top)


def _clef(top: float) -> Glyph:
    clef = Glyph(CLEF_CODE, CLEF_X, 0, CLEF_SIZE)
    return replace(clef, y=top + HEIGHT / 2 - clef.boxes()[0].middle[1])


def _barline(shape: Shape, top: float) -> Iterator[Shape]:
    """A line from the highest string to the lowest; a dot of a repeat between two strings."""
    match shape.drawing:
        case Stroke(points, width):
            x = points[0][0]
            yield Shape(shape.kind, "", Stroke(((x, top - LINE / 2), (x, top + HEIGHT + LINE / 2)), width))
        case Dot(x, y, radius):
            gap = 1.5 if y < STAFF_HEIGHT / 2 else 3.5
            yield Shape(shape.kind, "", Dot(x, top + gap * STRING_GAP, radius, radius))
        case Glyph(code, x, y, size):
            gap = 1.5 if y < STAFF_HEIGHT / 2 else 3.5
            glyph = Glyph(code, x, 0, size)
            yield Shape(shape.kind, "", replace(glyph, y=top + gap * STRING_GAP - glyph.boxes()[0].middle[1]))
        case _:
            pass
