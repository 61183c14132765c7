"""The row of endings: brackets at one height."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from apoyando.engraving.drawing.shapes import Piece, Shape, Stroke, Text
from apoyando.engraving.rows.ground import LINE, ROW_GAP, Ground, RowLine
from apoyando.engraving.staff.layout import SPACE
from apoyando.model.song import Bar

ENDING = "ending"

ENDING_EM = 1.6 * SPACE
ENDING_HEIGHT = 1.9 * SPACE


@dataclass(frozen=True, slots=True)
class _Bracket:
    """An ending on one line. It is open where it goes on or comes from the line before."""

    label: str
    left: float
    right: float
    closes: bool


def ending_row(line: RowLine, ground: Ground) -> Iterator[Shape]:
    brackets = tuple(_brackets(line))
    if brackets:
        y = min(ground.top(bracket.left, bracket.right) for bracket in brackets) - 0.5 * ROW_GAP
        for bracket in brackets:
            yield from _draw_bracket(bracket, y)


def _brackets(line: RowLine) -> Iterator[_Bracket]:
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
