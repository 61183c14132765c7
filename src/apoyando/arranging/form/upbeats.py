"""Upbeats that come after the end: the bar before them makes room.

A song that begins with an upbeat and closes with a full bar is a pulse too long when it
comes round. The bar before the upbeat is then played without its end, if nothing begins
there (common practice, no source). Where the song's own signs bring the upbeat after a full
bar it is played as written.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from apoyando.arranging.form.rows import Row, write_rows
from apoyando.model.form import play_order
from apoyando.model.form_steps import FormAct, FormStep
from apoyando.model.song import Song
from apoyando.model.time import Quarters, Span


def shorten_before_upbeats(song: Song, rows: Sequence[Row], *, is_each_time: bool = False) -> list[Row]:
    """The rows, with room for each upbeat; with ``is_each_time`` wherever such a bar comes."""
    own = set(pairwise(play_order(song.bars)))
    lengths = [
        None
        if not row.is_introduction and (row.source, following.source) in own
        else _find_room(song, row, following)
        for row, following in pairwise(rows)
    ]
    same = {row.source: length for row, length in zip(rows, lengths, strict=False) if length is not None}
    at_once = [length or row.length for row, length in zip(rows, [*lengths, None], strict=True)]
    return [
        replace(row, length=same.get(row.source, length) if is_each_time else length)
        for row, length in zip(rows, at_once, strict=True)
    ]


def _find_room(song: Song, row: Row, following: Row) -> Quarters | None:
    """How much of a bar is left if the upbeat after it gets its time; None if it needs none or gets none."""
    if not following.bar.is_pickup:
        return None
    excess = row.length + following.length - row.bar.meter.bar_length
    if not 0 < excess < row.length:
        return None
    end = row.bar.onset + row.length
    lost = Span(end - excess, end)
    begins = row.source is not None and any(
        lost.contains(each.onset) for each in (*song.melody, *song.harmony)
    )
    return None if begins else row.length - excess


def give_back(song: Song, rows: Sequence[Row]) -> list[Row]:
    """The rows, whole again where no upbeat ever follows in the order of play."""
    order = play_order(write_rows(song, rows).bars)
    makes_room = {index for index, following in pairwise(order) if rows[following].bar.is_pickup}
    return [
        row if index in makes_room else replace(row, length=row.bar.duration)
        for index, row in enumerate(rows)
    ]


def tell_shortened(song: Song, rows: Sequence[Row]) -> Iterator[FormStep]:
    """``song`` is the piece that was made of the rows."""
    for row, bar in zip(rows, song.bars, strict=True):
        if row.length != row.bar.duration:
            sentence = f"Bar {bar.number} without its end, where the upbeat comes."
            yield FormStep(act=FormAct.SHORTENED, sentence=sentence, bar=bar.index)
