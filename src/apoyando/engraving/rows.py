"""The rows above the staff: barre marks, chord symbols, endings, words.

From the staff upwards: barre marks (one height along a line), chord symbols (one
baseline), endings (one height), then section marks, segno and coda, jump words and the
tempo, each as low as it can lie. A barre mark reads ``C VII`` or ``½C II``, with a line to
the last note under it that ends in a hook; across a line break it goes on without the
hook, and its name stands in brackets on the new line (common practice of guitar music, no
source).

Conventions: as in ``layout``: hundredths of a millimetre from the top line of the staff.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from apoyando.engraving.chord_symbols import Run, print_chord
from apoyando.engraving.layout import SPACE, STAFF_LINES, System
from apoyando.engraving.shapes import Box, Drawing, Glyph, Piece, Shape, Stroke, Text
from apoyando.engraving.typeface import CAP_HEIGHT_EM, Face
from apoyando.model.arrangement import Arrangement, Barre
from apoyando.model.hand import Finger, roman
from apoyando.model.song import Bar, Jump
from apoyando.model.time import Quarters

BARRE = "barre"
SYMBOL = "symbol"
ENDING = "ending"
WORDS = "words"
BAR_NUMBER = "barNumber"

BARRE_EM = 1.55 * SPACE
SYMBOL_EM = 2.05 * SPACE
RAISED_SIZE = 0.74
RAISED_BY = 0.42
ENDING_EM = 1.6 * SPACE
WORDS_EM = 1.9 * SPACE
NUMBER_EM = 1.45 * SPACE
LINE = 0.11 * SPACE
ROW_GAP = 0.65 * SPACE
WORD_GAP = 0.8 * SPACE
ENDING_HEIGHT = 1.9 * SPACE
HOOK = 0.7 * SPACE
SIDE_AIR = 0.5 * SPACE
GLYPH_SIZE = 4 * SPACE
SEGNO, CODA = "E047", "E048"
METRONOME_NOTES: Mapping[Fraction, str] = {
    Fraction(4): "E1D2",
    Fraction(2): "E1D3",
    Fraction(1): "E1D5",
    Fraction(1, 2): "E1D7",
    Fraction(1, 4): "E1D9",
}
METRONOME_SIZE = 0.66 * GLYPH_SIZE
JUMP_WORDS = {
    Jump.TO_CODA: "To Coda",
    Jump.FINE: "Fine",
    Jump.DA_CAPO: "D.C.",
    Jump.DAL_SEGNO: "D.S.",
}


@dataclass(frozen=True, slots=True)
class Ground:
    """What rows are built upon: everything drawn so far."""

    boxes: tuple[Box, ...]

    def top(self, left: float, right: float) -> float:
        """The highest point between two places; the top line of the staff if nothing is higher."""
        left, right = left - SIDE_AIR, right + SIDE_AIR
        reaching = (box.top for box in self.boxes if box.left < right and left < box.right)
        return min(0.0, min(reaching, default=0.0))

    def under(self, shapes: Iterable[Shape]) -> "Ground":
        return Ground((*self.boxes, *(box for shape in shapes for box in shape.boxes())))


@dataclass(frozen=True, slots=True)
class Head:
    """A note head that a barre may end at."""

    onset: Quarters
    box: Box


@dataclass(frozen=True, slots=True)
class _Line:
    """One line of music, and what of the arrangement concerns it."""

    arrangement: Arrangement
    system: System
    bars: tuple[Bar, ...]
    heads: Sequence[Head]


def build_rows(
    arrangement: Arrangement, system: System, placed: Sequence[Shape], heads: Sequence[Head]
) -> tuple[Shape, ...]:
    """All rows of one line, above what is laid out and ``placed``."""
    line = _Line(arrangement, system, tuple(arrangement.bars[i] for i in sorted(system.bars)), heads)
    ground = Ground(()).under(s for s in (*system.shapes, *placed) if s.kind != STAFF_LINES)
    rows: list[Shape] = []
    for build in (_bar_number, _barres, _symbols, _endings):
        added = tuple(build(line, ground))
        ground, rows = ground.under(added), [*rows, *added]
    return (*rows, *_words(line, ground))


def _bar_number(line: _Line, ground: Ground) -> Iterator[Shape]:
    bar = line.bars[0]
    if bar.index:
        number = Text((Piece(bar.number, NUMBER_EM, Face.ITALIC),), 0, 0)
        y = ground.top(0, number.width) - 0.3 * SPACE
        yield Shape(BAR_NUMBER, "", Text(number.pieces, 0, y))


@dataclass(frozen=True, slots=True)
class _BarrePart:
    """What of a barre lies on one line."""

    barre: Barre
    left: float
    right: float
    comes_from_before: bool
    goes_on: bool

    @property
    def label(self) -> Text:
        name = f"{'' if self.barre.is_full else '½'}C {roman(self.barre.fret)}"
        return Text((Piece(f"({name})" if self.comes_from_before else name, BARRE_EM),), self.left, 0)

    @property
    def label_right(self) -> float:
        return self.left + self.label.width


def _barres(line: _Line, ground: Ground) -> Iterator[Shape]:
    marked = [barre for barre in line.arrangement.barres if barre.finger is Finger.INDEX]
    parts = [part for barre in marked if (part := _barre_part(barre, line))]
    limits = [*(part.left - 0.5 * SPACE for part in parts[1:]), line.system.right]
    reach = (ground.top(part.left, max(part.right, part.label_right)) for part in parts)
    y = min(reach, default=0.0) - ROW_GAP
    taken = 0.0
    for part, limit in zip(parts, limits, strict=False):
        # A name that would run into the one before goes one step up.
        is_raised = part.left < taken
        yield from _draw_barre(part, y - 1.2 * BARRE_EM if is_raised else y, limit)
        taken = 0.0 if is_raised else part.label_right + 0.3 * SPACE


def _barre_part(barre: Barre, line: _Line) -> _BarrePart | None:
    under = [head.box for head in line.heads if barre.span.contains(head.onset)]
    if not under:
        return None
    comes_from_before = barre.span.onset < line.bars[0].onset < barre.span.offset
    goes_on = barre.span.onset < line.bars[-1].offset < barre.span.offset
    left = min(box.left for box in under)
    right = line.system.right if goes_on else max(box.right for box in under)
    part = _BarrePart(barre, left, right, comes_from_before, goes_on)
    # Over the last note of a line the name ends with the line.
    return replace(part, left=min(left, line.system.right - part.label.width))


def _draw_barre(part: _BarrePart, y: float, limit: float) -> Iterator[Shape]:
    label = Text(part.label.pieces, part.left, y)
    yield Shape(BARRE, "", label)
    start, end = part.left + label.width + 0.3 * SPACE, min(part.right, limit)
    if end - start < SPACE:
        return
    height = y - 0.5 * CAP_HEIGHT_EM * BARRE_EM
    hook = () if part.goes_on else ((end, height + HOOK),)
    yield Shape(BARRE, "", Stroke(((start, height), (end, height), *hook), LINE))


def _symbols(line: _Line, ground: Ground) -> Iterator[Shape]:
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


@dataclass(frozen=True, slots=True)
class _Bracket:
    """An ending on one line. It is open where it goes on or comes from the line before."""

    label: str
    left: float
    right: float
    closes: bool


def _endings(line: _Line, ground: Ground) -> Iterator[Shape]:
    brackets = tuple(_brackets(line))
    if brackets:
        y = min(ground.top(bracket.left, bracket.right) for bracket in brackets) - 0.5 * ROW_GAP
        for bracket in brackets:
            yield from _draw_bracket(bracket, y)


def _brackets(line: _Line) -> Iterator[_Bracket]:
    all_bars, left, label = line.arrangement.bars, 0.0, ""
    for bar in line.bars:
        extent = line.system.bars[bar.index]
        begins = _begins_ending(all_bars, bar.index)
        if begins or bar is line.bars[0]:
            left = max(extent.left, line.system.music_left) + 0.1 * SPACE
            label = ", ".join(f"{number}." for number in bar.endings) if begins else ""
        if bar.endings and (bar is line.bars[-1] or _ends_ending(all_bars, bar.index)):
            yield _Bracket(label, left, extent.right - 0.35 * SPACE, bar.ending_stops)


def _begins_ending(bars: Sequence[Bar], index: int) -> bool:
    before = bars[index - 1] if index else None
    return not before or before.endings != bars[index].endings or before.ending_stops


def _ends_ending(bars: Sequence[Bar], index: int) -> bool:
    return bars[index].ending_stops or index + 1 == len(bars) or _begins_ending(bars, index + 1)


def _draw_bracket(bracket: _Bracket, y: float) -> Iterator[Shape]:
    top = y - ENDING_HEIGHT
    down_left = ((bracket.left, y),) if bracket.label else ()
    down_right = ((bracket.right, y),) if bracket.closes else ()
    points = (*down_left, (bracket.left, top), (bracket.right, top), *down_right)
    yield Shape(ENDING, "", Stroke(points, LINE))
    if bracket.label:
        text = Text(
            (Piece(bracket.label, ENDING_EM),),
            bracket.left + 0.5 * SPACE,
            top + 0.5 * SPACE + 0.7 * ENDING_EM,
        )
        yield Shape(ENDING, "", text)


def _words(line: _Line, ground: Ground) -> Iterator[Shape]:
    for bar in line.bars:
        extent = line.system.bars[bar.index]
        groups = [_bar_start(bar, extent.left), _bar_end(bar, extent.right - 0.3 * SPACE)]
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
    shapes = tuple(Shape(WORDS, "", _lowered(drawing, y)) for drawing in drawings)
    return ground.under(shapes), shapes


def _lowered(drawing: Drawing, y: float) -> Drawing:
    match drawing:
        case Glyph():
            return Glyph(drawing.code, drawing.x, drawing.y + y, drawing.size)
        case Text():
            return Text(drawing.pieces, drawing.x, drawing.y + y, drawing.anchor)
        case Stroke():
            return Stroke(tuple((px, py + y) for px, py in drawing.points), drawing.width)
        case _:
            return drawing


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
            x += glyph.boxes()[0].width + 0.8 * SPACE
    return tuple(drawings)


def _frame(text: Text) -> Stroke:
    top, bottom = -CAP_HEIGHT_EM * WORDS_EM - 0.45 * SPACE, 0.6 * SPACE
    left, right = text.left - 0.4 * SPACE, text.left + text.width + 0.4 * SPACE
    return Stroke(((left, top), (right, top), (right, bottom), (left, bottom), (left, top)), LINE)


def _bar_end(bar: Bar, right: float) -> tuple[Drawing, ...]:
    """Jump words and the number of passes, flush with the barline."""
    words = bar.jump_words or " ".join(JUMP_WORDS[jump] for jump in bar.jumps if jump in JUMP_WORDS)
    passes = f"{bar.repeat_times}×" if bar.repeat_times > 2 else ""  # noqa: PLR2004 - twice goes without saying
    drawings: list[Drawing] = []
    if Jump.TO_CODA in bar.jumps:
        glyph = Glyph(CODA, 0, 0, 0.6 * GLYPH_SIZE)
        box = glyph.boxes()[0]
        drawings.append(Glyph(CODA, right - box.right, -box.bottom, 0.6 * GLYPH_SIZE))
        right -= box.width + 0.4 * SPACE
    line = "  ".join(part for part in (words, passes) if part)
    if line:
        drawings.insert(0, Text((Piece(line, WORDS_EM, Face.ITALIC),), right, 0, "end"))
    return tuple(drawings)


def _tempo(arrangement: Arrangement, left: float) -> tuple[Drawing, ...]:
    """Words and a metronome mark in pulses of the first meter."""
    drawings: list[Drawing] = []
    x = left
    if arrangement.tempo_words:
        words = Text((Piece(arrangement.tempo_words, WORDS_EM, Face.BOLD),), x, 0)
        drawings.append(words)
        x += words.width + 1.2 * SPACE
    pulse = arrangement.bars[0].meter.pulse
    base, dots = next(
        ((b, d) for b in METRONOME_NOTES for d in (0, 1) if b * (2 - Fraction(1, 2**d)) == pulse),
        (Fraction(1), 0),
    )
    per_minute = arrangement.tempo_quarters_per_minute / (base * (2 - Fraction(1, 2**dots)))
    note = Glyph(METRONOME_NOTES[base], x, -0.15 * SPACE, METRONOME_SIZE)
    drawings.append(note)
    x = note.boxes()[0].right
    if dots:
        dot = Glyph("E1E7", x + 0.2 * SPACE, -0.15 * SPACE, METRONOME_SIZE)
        drawings.append(dot)
        x = dot.boxes()[0].right
    equals = Text((Piece(f"= {round(per_minute)}", WORDS_EM * 0.92),), x + 0.5 * SPACE, 0)
    return (*drawings, equals)
