"""The row of chord symbols, on one baseline."""

from collections.abc import Iterator

from apoyando.engraving.drawing.shapes import Piece, Shape, Text
from apoyando.engraving.notation.chord_symbols import Run, print_chord
from apoyando.engraving.rows.ground import ROW_GAP, Ground, RowLine
from apoyando.engraving.staff.layout import SPACE

SYMBOL = "symbol"

SYMBOL_EM = 2.05 * SPACE
RAISED_SIZE = 0.74
RAISED_BY = 0.42


def symbol_row(line: RowLine, ground: Ground) -> Iterator[Shape]:
    symbols = [
        (f"h{index}", _symbol(print_chord(line.arrangement.harmony[index].chord), x))
        for index, x in sorted(line.system.symbols.items())
    ]
    if symbols:
        y = min(ground.top(text.left, text.left + text.width) for _, text in symbols) - ROW_GAP
        free = 0.0
        for owner, text in symbols:
            x = max(text.x, free)
            free = x + text.width + 0.6 * SPACE
            yield Shape(SYMBOL, owner, Text(text.pieces, x, y))


def _symbol(runs: tuple[Run, ...], x: float) -> Text:
    pieces = (
        Piece(run.text, SYMBOL_EM * RAISED_SIZE, rise=RAISED_BY)
        if run.is_raised
        else Piece(run.text, SYMBOL_EM)
        for run in runs
    )
    return Text(tuple(pieces), x, 0)
