"""What stands around the music: title, names, tuning, rights, page numbers.

Title centred, composer on the right with the arrangement's line under it, lyricist,
tuning and capo on the left; rights at the foot of the first page; from the second page on
the title again in small print, and the page number on the outer side.

Conventions: hundredths of a millimetre from the upper left corner of the page.
"""

from bisect import bisect_right
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from apoyando.engraving.drawing.shapes import Piece, Shape, Text
from apoyando.engraving.drawing.typeface import CAP_HEIGHT_EM, Face, text_width
from apoyando.engraving.notation.credits import Credit, list_credits
from apoyando.engraving.notation.tuning_words import capo_note, tuning_notes
from apoyando.engraving.page.frame import Frame
from apoyando.engraving.staff.layout import SPACE
from apoyando.model.arrangement import Arrangement

TITLE_EM = 850.0
LEAST_TITLE_EM = 500.0
NAME_EM = 385.0
SMALL_EM = 300.0
RUNNING_EM = 340.0
LEADING = 1.22
MOST_LINES = 3
HEADING = "heading"


@dataclass(frozen=True, slots=True)
class Heading:
    """The texts of a page and the height they leave for the music, from ``top`` to ``bottom``.

    Credits are owned by their kind.
    """

    shapes: tuple[Shape, ...]
    top: float
    bottom: float

    @property
    def room(self) -> float:
        return self.bottom - self.top


def first_heading(arrangement: Arrangement, frame: Frame) -> Heading:
    """Title block and rights."""
    title, y = _title(arrangement.title, frame)
    printed = list_credits(arrangement)
    setup = (*tuning_notes(arrangement.tuning), capo_note(arrangement.capo))
    left = [*_of_kinds(printed, "lyricist"), *(Credit("", text) for text in setup if text)]
    names, bottom = _columns(left, _of_kinds(printed, "composer", "arranger"), y, frame)
    rights, foot = _rights(arrangement.rights, frame)
    return Heading((*title, *names, *rights), bottom + 2.2 * SPACE, foot)


def later_heading(arrangement: Arrangement, number: int, frame: Frame) -> Heading:
    """The title in small print in the middle and the page number outside, on one line at the top.

    ``number`` counts from 1; odd pages lie on the left.
    """
    y = frame.margin + CAP_HEIGHT_EM * NAME_EM
    (title,) = break_lines(arrangement.title, RUNNING_EM, frame.line_width - 12 * SPACE, 1, Face.ITALIC)
    x, anchor = (frame.margin, "start") if number % 2 else (frame.right, "end")
    running = Text((Piece(title, RUNNING_EM, Face.ITALIC),), frame.middle, y, "middle")
    shapes = (
        Shape(HEADING, "running", running),
        Shape(HEADING, "number", Text((Piece(str(number), NAME_EM),), x, y, anchor)),
    )
    return Heading(shapes, y + 2.2 * SPACE, frame.bottom)


def _of_kinds(printed: Iterable[Credit], *kinds: str) -> list[Credit]:
    return [credit for credit in printed if credit.kind in kinds]


def _title(title: str, frame: Frame) -> tuple[tuple[Shape, ...], float]:
    """The title's lines and where its last baseline lies. A long title shrinks, then breaks."""
    words = title.split() or [""]
    room = frame.line_width
    size = TITLE_EM
    while size > LEAST_TITLE_EM and text_width(" ".join(words), size) > room:
        size -= 25
    lines = break_lines(" ".join(words), size, room, MOST_LINES)
    first = frame.margin + CAP_HEIGHT_EM * size
    shapes = tuple(
        Shape(
            HEADING, "title", Text((Piece(line, size),), frame.middle, first + n * LEADING * size, "middle")
        )
        for n, line in enumerate(lines)
    )
    return shapes, first + (len(lines) - 1) * LEADING * size


def break_lines(text: str, size: float, room: float, most: int, face: Face = Face.REGULAR) -> tuple[str, ...]:
    """At most ``most`` lines no wider than ``room``; what is left over is cut with an ellipsis."""
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if text_width(longer, size, face) <= room or not lines[-1]:
            lines[-1] = longer
        else:
            lines.append(word)
    if len(lines) > most:
        lines = [*lines[: most - 1], " ".join(lines[most - 1 :])]
    return tuple(_fitted(line, size, room, face) for line in lines)


def _fitted(line: str, size: float, room: float, face: Face) -> str:
    if text_width(line, size, face) <= room:
        return line
    too_long = bisect_right(range(len(line)), room, key=lambda n: text_width(f"{line[:n]}…", size, face))
    return f"{line[: max(0, too_long - 1)].rstrip()}…"


def _columns(
    left: Iterable[Credit], right: Iterable[Credit], y: float, frame: Frame
) -> tuple[tuple[Shape, ...], float]:
    first = y + 1.9 * NAME_EM
    room = frame.line_width / 2 - 2 * SPACE
    shapes = (
        *_column(left, frame.margin, "start", first, room),
        *_column(right, frame.right, "end", first, room),
    )
    bottom = max((box.bottom for shape in shapes for box in shape.boxes()), default=y)
    return shapes, bottom


def _column(printed: Iterable[Credit], x: float, anchor: str, y: float, room: float) -> Iterator[Shape]:
    for credit in printed:
        for line in break_lines(credit.text, NAME_EM, room, 2):
            yield Shape(HEADING, credit.kind, Text((Piece(line, NAME_EM),), x, y, anchor))
            y += LEADING * NAME_EM


def _rights(rights: str, frame: Frame) -> tuple[tuple[Shape, ...], float]:
    """Lines at the foot, the last one on the margin, and where the music must end."""
    bottom = frame.bottom
    if not rights.strip():
        return (), bottom
    lines = break_lines(rights, SMALL_EM, frame.line_width, MOST_LINES)
    first = bottom - (len(lines) - 1) * LEADING * SMALL_EM
    shapes = tuple(
        Shape(
            HEADING,
            "rights",
            Text((Piece(line, SMALL_EM),), frame.middle, first + n * LEADING * SMALL_EM, "middle"),
        )
        for n, line in enumerate(lines)
    )
    return shapes, first - SMALL_EM - 2 * SPACE
