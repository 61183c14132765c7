"""The row of words over natural harmonics: ``harm. XII``.

The Roman numeral is the fret over which the string is touched, as over a barre it is the one that is
pressed (common practice of guitar music, no source). The word stands where harmonics begin and where
they go to another fret.
"""

from collections.abc import Iterator, Sequence
from itertools import groupby

from apoyando.engraving.drawing.shapes import Piece, Shape, Text
from apoyando.engraving.rows.barres import BARRE_EM
from apoyando.engraving.rows.ground import ROW_GAP, Ground, Head, RowLine
from apoyando.engraving.staff.layout import SPACE
from apoyando.model.arrangement import Note
from apoyando.model.hand import roman

HARMONIC = "harmonic"
WORD = "harm."


def harmonic_row(line: RowLine, ground: Ground) -> Iterator[Shape]:
    if not any(head.note.is_harmonic for head in line.struck):
        return
    taken, before = 0.0, _frets_before(line)
    struck = sorted(line.struck, key=lambda head: head.onset)
    for _, group in groupby(struck, key=lambda head: head.onset):
        heads = [head for head in group if head.note.is_harmonic]
        words = name_frets([head.note for head in heads])
        if words and words != before:
            text = Text((Piece(words, BARRE_EM),), _left(heads, words, line, taken), 0)
            taken = text.x + text.width + 0.3 * SPACE
            y = ground.top(text.x, text.x + text.width) - ROW_GAP
            yield Shape(HARMONIC, "", Text(text.pieces, text.x, y))
        before = words


def name_frets(notes: Sequence[Note]) -> str:
    """``harm. XII``, or ``harm. VII, V``, from the highest string down; nothing where nothing is touched."""
    touched = sorted((note for note in notes if note.is_harmonic), key=lambda note: note.place.string)
    frets = dict.fromkeys(roman(note.place.fret) for note in touched)
    return f"{WORD} {', '.join(frets)}" if frets else ""


def _frets_before(line: RowLine) -> str:
    """What was touched last before the line begins."""
    earlier = [note for note in line.arrangement.notes if note.onset < line.bars[0].onset]
    last = max((note.onset for note in earlier), default=None)
    return name_frets([note for note in earlier if note.onset == last])


def _left(heads: Sequence[Head], words: str, line: RowLine, taken: float) -> float:
    """Over the heads, and not beyond the end of the line."""
    left = min(head.box.left for head in heads)
    width = Text((Piece(words, BARRE_EM),), 0, 0).width
    return max(min(left, line.system.right - width), taken)
