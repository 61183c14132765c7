"""The number of the first bar, at the head of every line but the first."""

from collections.abc import Iterator

from apoyando.engraving.drawing.shapes import Piece, Shape, Text
from apoyando.engraving.drawing.typeface import Face
from apoyando.engraving.rows.ground import Ground, RowLine
from apoyando.engraving.staff.layout import SPACE

BAR_NUMBER = "barNumber"

NUMBER_EM = 1.45 * SPACE


def bar_number(line: RowLine, ground: Ground) -> Iterator[Shape]:
    bar = line.bars[0]
    if bar.index:
        number = Text((Piece(bar.number, NUMBER_EM, Face.ITALIC),), 0, 0)
        y = ground.top(0, number.width) - 0.3 * SPACE
        yield Shape(BAR_NUMBER, "", Text(number.pieces, 0, y))
