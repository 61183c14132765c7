"""A plan with another pickup: what it puts right in the song stays where it was in the music."""

from collections.abc import Callable
from dataclasses import replace
from typing import TypeVar

from apoyando.model.beat import count_beat, find_beat
from apoyando.model.plan import ChordChange, NoteChange, Plan
from apoyando.model.song import Bar, Song, bar_at
from apoyando.model.time import Quarters
from apoyando.reading.songs import read_planned_song

Placed = TypeVar("Placed", ChordChange, NoteChange)


def move_pickup(data: bytes, file_name: str, plan: Plan, pickup: Quarters | None) -> Plan:
    """Another pickup, with the player's notes and chords at the bars and beats that their places then have.

    Raises as reading does.
    """
    bare = replace(plan, notes=(), chords=())
    before = read_planned_song(data, file_name, bare)
    after = read_planned_song(data, file_name, replace(bare, pickup=pickup))
    count = _make_counter(before, after)
    return replace(
        plan,
        pickup=pickup,
        notes=tuple(map(count, plan.notes)),
        chords=tuple(map(count, plan.chords)),
    )


def _make_counter(before: Song, after: Song) -> Callable[[Placed], Placed]:
    """Counts a place anew. What the barlines leave behind is the silence that was cut off."""
    bars: dict[str, Bar] = {bar.number: bar for bar in reversed(before.bars)}
    shift = before.melody[0].onset - after.melody[0].onset

    def count(change: Placed) -> Placed:
        if change.bar not in bars:
            return change
        moment = max(find_beat(bars[change.bar], change.beat) - shift, Quarters(0))
        bar = bar_at(after.bars, moment)
        return replace(change, bar=bar.number, beat=count_beat(bar, moment))

    return count
