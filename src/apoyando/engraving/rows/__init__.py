"""The rows above and below the staff: barre marks, chord diagrams and symbols, endings, words, dynamics, lyrics.

From the staff upwards: dynamics of the melody, barre marks (one height along a line), words over harmonics, chord
diagrams (one height), chord symbols (one baseline), endings (one height), then section marks, segno and coda, jump words
and the tempo, each as low as it can lie. From the staff downwards: other dynamics, then the
words that are sung, a baseline for each verse. Each row stands upon what is nearer to the staff.

Conventions: as in ``layout``: hundredths of a millimetre from the top line of the staff.
"""

from collections.abc import Sequence

from apoyando.engraving.drawing.chord_diagrams import DIAGRAM
from apoyando.engraving.drawing.shapes import Shape
from apoyando.engraving.notation.score import NotatedScore
from apoyando.engraving.rows.bar_numbers import BAR_NUMBER, bar_number
from apoyando.engraving.rows.barres import BARRE, barre_row
from apoyando.engraving.rows.diagrams import diagram_row
from apoyando.engraving.rows.dynamics import DYNAMIC, dynamic_row
from apoyando.engraving.rows.endings import ENDING, ending_row
from apoyando.engraving.rows.ground import Ground, Head, RowLine
from apoyando.engraving.rows.harmonics import HARMONIC, harmonic_row
from apoyando.engraving.rows.lyrics import LYRIC, lyric_rows
from apoyando.engraving.rows.symbols import SYMBOL, symbol_row
from apoyando.engraving.rows.words import WORDS, word_row
from apoyando.engraving.staff.layout import STAFF_LINES, System

__all__ = [
    "BARRE",
    "BAR_NUMBER",
    "DIAGRAM",
    "DYNAMIC",
    "ENDING",
    "HARMONIC",
    "LYRIC",
    "ROW_KINDS",
    "SYMBOL",
    "WORDS",
    "Head",
    "build_rows",
]

ROW_KINDS = frozenset({BAR_NUMBER, BARRE, DIAGRAM, DYNAMIC, ENDING, HARMONIC, LYRIC, SYMBOL, WORDS})
_ROWS = (
    bar_number,
    dynamic_row,
    barre_row,
    harmonic_row,
    diagram_row,
    symbol_row,
    ending_row,
    word_row,
    lyric_rows,
)
"""In the order in which they are built, each upon those before it."""


def build_rows(
    score: NotatedScore, system: System, placed: Sequence[Shape], heads: Sequence[Head]
) -> tuple[Shape, ...]:
    """All rows of one line, above and below what is laid out and ``placed``."""
    bars = tuple(score.arrangement.bars[index] for index in sorted(system.bars))
    line = RowLine(score, system, bars, heads)
    floor = max(box.bottom for shape in system.shapes if shape.kind == STAFF_LINES for box in shape.boxes())
    ground = Ground((), floor).under(s for s in (*system.shapes, *placed) if s.kind != STAFF_LINES)
    rows: list[Shape] = []
    for build in _ROWS:
        added = tuple(build(line, ground))
        if added:
            ground, rows = ground.under(added), [*rows, *added]
    return tuple(rows)
