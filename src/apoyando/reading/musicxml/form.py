"""The form of a MusicXML score: repeats, endings, barlines, jumps and sections, as they are written."""

from collections.abc import Sequence
from dataclasses import replace

from apoyando.model.song import Bar, Barline, Jump
from apoyando.reading.form import sort_jumps
from apoyando.reading.musicxml.barlines import BarlineSigns
from apoyando.reading.musicxml.columns import Column


def read_form(columns: Sequence[Column]) -> tuple[Bar, ...]:
    """The bars with repeats, endings, barlines, jumps and sections as written."""
    bars = [_with_signs(column) for column in columns]
    _place_jumps(bars, columns)
    _place_endings(bars, columns)
    for column in columns[1:]:
        style = _merged(column, "left").style
        before = bars[column.bar.index - 1]
        begins_repeat = bars[column.bar.index].starts_repeat
        is_plain = before.barline is Barline.REGULAR and not before.repeat_times
        if style is not Barline.REGULAR and is_plain and not begins_repeat:
            bars[before.index] = replace(before, barline=style)
    return tuple(bars)


def _merged(column: Column, side: str) -> BarlineSigns:
    """What any part says of one side of the bar."""
    signs: list[BarlineSigns] = [
        measure.left if side == "left" else measure.right for measure in column.parts
    ]
    return BarlineSigns(
        repeats_forward=any(sign.repeats_forward for sign in signs),
        repeats_backward=max(sign.repeats_backward for sign in signs),
        repeats_after_jump=any(sign.repeats_after_jump for sign in signs),
        ending_starts=next((sign.ending_starts for sign in signs if sign.ending_starts), ()),
        ending_stops=any(sign.ending_stops for sign in signs),
        style=next((sign.style for sign in signs if sign.style is not Barline.REGULAR), Barline.REGULAR),
    )


def _with_signs(column: Column) -> Bar:
    left, right = _merged(column, "left"), _merged(column, "right")
    section = next((direction.section for _, direction in column.directions if direction.section), "")
    has_repeat = right.repeats_backward > 0
    return replace(
        column.bar,
        starts_repeat=left.repeats_forward,
        repeat_times=right.repeats_backward,
        repeats_after_jump=has_repeat and right.repeats_after_jump,
        barline=Barline.REGULAR if has_repeat else right.style,
        section=section,
    )


def _place_jumps(bars: list[Bar], columns: Sequence[Column]) -> None:
    """A coda sign after the music of a bar is the place to leave from; a segno there opens the next bar."""
    for column in columns:
        for moment, direction in column.directions:
            is_at_end = column.bar.onset + moment - column.cut >= column.bar.offset
            for jump in direction.jumps:
                _place_jump(bars, column.bar.index, jump, is_at_end=is_at_end)
            if direction.jump_words:
                index = column.bar.index
                bars[index] = replace(bars[index], jump_words=direction.jump_words)


def _place_jump(bars: list[Bar], index: int, jump: Jump, *, is_at_end: bool) -> None:
    if jump is Jump.CODA and is_at_end:
        jump = Jump.TO_CODA
    if jump is Jump.SEGNO and is_at_end and index + 1 < len(bars):
        index += 1
    bars[index] = replace(bars[index], jumps=sort_jumps((*bars[index].jumps, jump)))


def _place_endings(bars: list[Bar], columns: Sequence[Column]) -> None:
    """Each ending from its start to its stop; one that never stops ends at the next sign."""
    active: tuple[int, ...] = ()
    for column in columns:
        index = column.bar.index
        left, right = _merged(column, "left"), _merged(column, "right")
        starts = left.ending_starts or right.ending_starts
        if starts and active:
            bars[index - 1] = replace(bars[index - 1], ending_stops=True)
        active = starts or active
        if not active:
            continue
        is_closed = right.ending_stops or right.repeats_backward > 0 or right.style is not Barline.REGULAR
        is_closed = is_closed or index == len(bars) - 1
        bars[index] = replace(bars[index], endings=active, ending_stops=is_closed)
        active = () if is_closed else active
