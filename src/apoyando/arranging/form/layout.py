"""From a song to the song as it is to be played, by what the plan says of the form.

The marks of the song are kept where they can be. Where a time is wanted, its sections are
written anew, between repeat signs where they come again at once; where the plan asks for it,
all that is played is written out. Whatever is written is held against the order that is
meant before it is taken.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from apoyando.arranging.form.ending import end_song
from apoyando.arranging.form.introduction import introduce
from apoyando.arranging.form.rows import Row, fold_repeats, take_bar, take_plainly, write_rows
from apoyando.arranging.form.upbeats import give_back, shorten_before_upbeats, tell_shortened
from apoyando.arranging.form.wanted_time import near_time
from apoyando.model.form import play_order
from apoyando.model.form_steps import Form, FormAct, FormStep
from apoyando.model.plan import Plan
from apoyando.model.song import Jump, Song
from apoyando.model.time import Quarters


@dataclass(frozen=True, slots=True)
class _Layout:
    """The rows of a piece, the order in which their sources are to be played, and the steps to it."""

    rows: tuple[Row, ...]
    order: tuple[int | None, ...]
    steps: tuple[FormStep, ...] = ()


def lay_out_form(song: Song, plan: Plan) -> tuple[Song, Form | None]:
    """The song in the form that the plan asks for; as it is, and None, where the plan asks for nothing.

    Law: its bars, in the order of play, are the song's in the order of play, but for the steps.
    """
    if not (plan.introduction or plan.ending or plan.spell_out or plan.minutes):
        return song, None
    intro, told = introduce(song, play_order(song.bars), plan.introduction) if plan.introduction else ([], ())
    layout = _lay_out_order(song, plan, sum((row.length for row in intro), Quarters(0)))
    if intro:
        layout = _put_before(song, layout, intro)
    layout = replace(layout, steps=(*layout.steps, *told))
    laid_out, ending = end_song(write_rows(song, layout.rows), plan.ending)
    steps = (*layout.steps, *tell_shortened(laid_out, layout.rows), *ending)
    return (laid_out, Form(tuple(row.source for row in layout.rows), steps)) if steps else (song, None)


# --- what is played ------------------------------------------------------------------


def _lay_out_order(song: Song, plan: Plan, before: Quarters) -> _Layout:
    """The song itself: as written, in what the wanted time leaves after an introduction, or spelled out."""
    written = play_order(song.bars)
    order, steps = near_time(song, written, plan.minutes, before) if plan.minutes else (list(written), ())
    if list(written) == order and (not plan.spell_out or _has_no_turns(song, written)):
        as_written = tuple(take_bar(song, index) for index in range(len(song.bars)))
        return _Layout(as_written, written, steps)
    rows = shorten_before_upbeats(song, take_plainly(song, order), is_each_time=not plan.spell_out)
    if plan.spell_out:
        spelled = FormStep(act=FormAct.SPELLED_OUT, sentence="Repeats and jumps written out.")
        return _Layout(tuple(rows), tuple(order), (*steps, spelled))
    written_once = _first_that_plays(song, order, [fold_repeats(rows), rows])
    return _Layout(tuple(give_back(song, written_once)), tuple(order), steps)


def _has_no_turns(song: Song, order: Sequence[int]) -> bool:
    """Whether it is written as it is played already, without a mark that says otherwise."""
    has_marks = any(bar.repeat_times or bar.endings or bar.jumps for bar in song.bars)
    return list(order) == list(range(len(song.bars))) and not has_marks


def _plays(song: Song, rows: Sequence[Row]) -> list[int | None]:
    """The sources in the order in which the rows are played."""
    return [rows[index].source for index in play_order(write_rows(song, rows).bars)]


def _first_that_plays(
    song: Song, order: Sequence[int | None], ways: Iterable[Sequence[Row]]
) -> tuple[Row, ...]:
    """The first way of writing that is played in this order. Law: the last one always is."""
    return next(tuple(rows) for rows in ways if _plays(song, rows) == list(order))


# --- an introduction before it -------------------------------------------------------


def _put_before(song: Song, layout: _Layout, intro: Sequence[Row]) -> _Layout:
    played = [index for index in layout.order if index is not None]
    intro = shorten_before_upbeats(song, [*intro, take_bar(song, played[0])])[:-1]
    order = (*(row.source for row in intro), *played)
    ways = [*([*intro, *rows] for rows in _go_back_past(layout.rows)), [*intro, *take_plainly(song, played)]]
    return replace(layout, rows=_first_that_plays(song, order, ways), order=order)


def _go_back_past(rows: Sequence[Row]) -> Iterator[list[Row]]:
    """The rows so marked that whatever goes back to their beginning does so with bars before them."""
    yield list(rows)
    starts = [replace(rows[0], bar=replace(rows[0].bar, starts_repeat=True)), *rows[1:]]
    yield starts
    for way in (rows, starts):
        yield [_turned_to_sign(row) for row in _with_sign(way)]


def _with_sign(rows: Sequence[Row]) -> list[Row]:
    first = rows[0].bar
    jumps = (Jump.SEGNO, *(jump for jump in first.jumps if jump is not Jump.SEGNO))
    return [replace(rows[0], bar=replace(first, jumps=jumps)), *rows[1:]]


def _turned_to_sign(row: Row) -> Row:
    """D.C. becomes D.S."""
    if Jump.DA_CAPO not in row.bar.jumps:
        return row
    jumps = tuple(Jump.DAL_SEGNO if jump is Jump.DA_CAPO else jump for jump in row.bar.jumps)
    return replace(row, bar=replace(row.bar, jumps=tuple(dict.fromkeys(jumps)), jump_words=""))
