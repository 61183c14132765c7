"""Words above the staff: section marks, segno and coda, jump words, the tempo; each as low as it can lie."""

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction

from apoyando.engraving.drawing.shapes import Drawing, Glyph, Piece, Shape, Stroke, Text
from apoyando.engraving.drawing.typeface import CAP_HEIGHT_EM, Face
from apoyando.engraving.notation.beats import metronome_value
from apoyando.engraving.notation.jumps import word_jumps
from apoyando.engraving.rows.ground import GLYPH_SIZE, LINE, WORD_GAP, Ground, RowLine, lowered
from apoyando.engraving.staff.layout import SPACE, System
from apoyando.model.arrangement import Arrangement
from apoyando.model.song import Bar, Jump

WORDS = "words"

WORDS_EM = 1.9 * SPACE
WORD_SPACE = 0.8 * SPACE
"""Between signs, or words and a sign, that say different things."""
SEGNO, CODA = "E047", "E048"
METRONOME_NOTES: Mapping[Fraction, str] = {
    Fraction(4): "E1D2",
    Fraction(2): "E1D3",
    Fraction(1): "E1D5",
    Fraction(1, 2): "E1D7",
    Fraction(1, 4): "E1D9",
}
METRONOME_SIZE = 0.66 * GLYPH_SIZE


def word_row(line: RowLine, ground: Ground) -> Iterator[Shape]:
    for bar in line.bars:
        extent = line.system.bars[bar.index]
        groups = [_bar_start(bar, extent.left), _bar_end(line, bar, extent.right - 0.3 * SPACE)]
        if bar.index == 0:
            groups.append(_tempo(line.arrangement, _meter_left(line.system)))
        for drawings in groups:
            ground, shapes = _settle(drawings, ground)
            yield from shapes


def _meter_left(system: System) -> float:
    """Where the time signature begins: there the tempo stands."""
    signs = (box.left for shape in system.shapes if shape.kind == "meterSig" for box in shape.boxes())
    return min(signs, default=system.music_left)


def _settle(drawings: Sequence[Drawing], ground: Ground) -> tuple[Ground, tuple[Shape, ...]]:
    """Lower drawings made for baseline 0 together until they nearly rest on the ground."""
    if not drawings:
        return ground, ()
    boxes = [box for drawing in drawings for box in drawing.boxes()]
    left, right = min(box.left for box in boxes), max(box.right for box in boxes)
    y = ground.top(left, right) - WORD_GAP - max(0.0, *(box.bottom for box in boxes))
    shapes = tuple(Shape(WORDS, "", lowered(drawing, y)) for drawing in drawings)
    return ground.under(shapes), shapes


def _bar_start(bar: Bar, left: float) -> tuple[Drawing, ...]:
    """Section name in a frame, then segno or coda."""
    drawings: list[Drawing] = []
    x = left
    if bar.section:
        text = Text((Piece(bar.section, WORDS_EM, Face.BOLD),), x + 0.4 * SPACE, 0)
        drawings += [text, _frame(text)]
        x += text.width + 1.6 * SPACE
    for jump, code in ((Jump.SEGNO, SEGNO), (Jump.CODA, CODA)):
        if jump in bar.jumps:
            glyph = Glyph(code, x, 0, 0.75 * GLYPH_SIZE)
            drawings.append(Glyph(code, x, -glyph.boxes()[0].bottom, 0.75 * GLYPH_SIZE))
            x += glyph.boxes()[0].width + WORD_SPACE
    return tuple(drawings)


def _frame(text: Text) -> Stroke:
    top, bottom = -CAP_HEIGHT_EM * WORDS_EM - 0.45 * SPACE, 0.6 * SPACE
    left, right = text.left - 0.4 * SPACE, text.left + text.width + 0.4 * SPACE
    return Stroke(((left, top), (right, top), (right, bottom), (left, bottom), (left, top)), LINE)


def _bar_end(line: RowLine, bar: Bar, right: float) -> tuple[Drawing, ...]:
    """Jump words and the number of passes, flush with the barline; right after To Coda its sign."""
    jumps = word_jumps(line.arrangement.bars, bar)
    passes = f"{bar.repeat_times}×" if bar.repeat_times > 2 else ""  # noqa: PLR2004 - twice goes without saying
    said = [*([text for _, text in jumps] or [bar.jump_words]), passes]
    if Jump.TO_CODA not in bar.jumps:
        return _end_words(said, right)
    until_sign = 1 + [jump for jump, _ in jumps].index(Jump.TO_CODA)
    after = _end_words(said[until_sign:], right)
    right = after[0].left - WORD_SPACE if after else right
    glyph = Glyph(CODA, 0, 0, 0.6 * GLYPH_SIZE)
    box = glyph.boxes()[0]
    sign = Glyph(CODA, right - box.right, -box.bottom, 0.6 * GLYPH_SIZE)
    return (*_end_words(said[:until_sign], right - box.width - 0.4 * SPACE), sign, *after)


def _end_words(words: Sequence[str], right: float) -> tuple[Text, ...]:
    said = "  ".join(filter(None, words))
    return (Text((Piece(said, WORDS_EM, Face.ITALIC),), right, 0, "end"),) if said else ()


def _tempo(arrangement: Arrangement, left: float) -> tuple[Drawing, ...]:
    """Words and a metronome mark in pulses of the first meter."""
    drawings: list[Drawing] = []
    x = left
    if arrangement.tempo_words:
        words = Text((Piece(arrangement.tempo_words, WORDS_EM, Face.BOLD),), x, 0)
        drawings.append(words)
        x += words.width + 1.2 * SPACE
    beat = metronome_value(arrangement.bars[0].meter)
    per_minute = arrangement.tempo_quarters_per_minute / beat.quarters
    note = Glyph(METRONOME_NOTES[beat.base], x, -0.15 * SPACE, METRONOME_SIZE)
    drawings.append(note)
    x = note.boxes()[0].right
    if beat.dots:
        dot = Glyph("E1E7", x + 0.2 * SPACE, -0.15 * SPACE, METRONOME_SIZE)
        drawings.append(dot)
        x = dot.boxes()[0].right
    equals = Text((Piece(f"= {round(per_minute)}", WORDS_EM * 0.92),), x + 0.5 * SPACE, 0)
    return (*drawings, equals)
