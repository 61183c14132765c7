"""The row of words over natural harmonics: ``harm. XII`` (``notation.harmonic_words``)."""

from collections.abc import Iterator, Sequence

from apoyando.engraving.drawing.shapes import Piece, Shape, Text
from apoyando.engraving.notation.harmonic_words import list_harmonic_words
from apoyando.engraving.rows.barres import BARRE_EM
from apoyando.engraving.rows.ground import ROW_GAP, Ground, Head, RowLine
from apoyando.engraving.staff.layout import SPACE

HARMONIC = "harmonic"


def harmonic_row(line: RowLine, ground: Ground) -> Iterator[Shape]:
    if not any(head.note.is_harmonic for head in line.struck):
        return
    taken = 0.0
    for onset, words in list_harmonic_words(line.arrangement).items():
        heads = [head for head in line.struck if head.onset == onset and head.note.is_harmonic]
        if heads:
            text = Text((Piece(words, BARRE_EM),), _left(heads, words, line, taken), 0)
            taken = text.x + text.width + 0.3 * SPACE
            y = ground.top(text.x, text.x + text.width) - ROW_GAP
            yield Shape(HARMONIC, "", Text(text.pieces, text.x, y))


def _left(heads: Sequence[Head], words: str, line: RowLine, taken: float) -> float:
    """Over the heads, and not beyond the end of the line."""
    left = min(head.box.left for head in heads)
    width = Text((Piece(words, BARRE_EM),), 0, 0).width
    return max(min(left, line.system.right - width), taken)
