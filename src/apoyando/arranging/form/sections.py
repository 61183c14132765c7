"""Sections of a song as it is played: what may be left out or played again as a whole.

A section begins where the music goes elsewhere; at repeats, signs, double bars and section
names; and every eight bars between those, where phrases begin there (common practice: the
period of eight bars). No section begins under a note of the melody that is held over the
barline, nor at an ending: an ending belongs to what it ends. Fewer than four bars are none.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from apoyando.model.phrase import split_phrases
from apoyando.model.song import Bar, Barline, Jump, Song

PERIOD = 8
"""Bars (common practice, no source)."""
LEAST = 4
"""No section is shorter, unless the music turns at both its ends (no source)."""

AT_START = frozenset({Jump.SEGNO, Jump.CODA})


@dataclass(frozen=True, slots=True)
class Sections:
    """A song's sections as ranges of positions in the order of play, from coarse to fine.

    ``passes`` end where the music turns, ``parts`` at marks too, ``periods`` every eight
    bars besides. A pickup at the start belongs to none, unless it is held on.
    """

    passes: tuple[range, ...]
    parts: tuple[range, ...]
    periods: tuple[range, ...]


def find_sections(song: Song, order: Sequence[int]) -> Sections:
    marked = [0, *(index for index in range(1, len(song.bars)) if _is_marked(song.bars, index))]
    stretches = pairwise([*marked, len(song.bars)])
    periods = [index for start, end in stretches for index in _split_periods(song, start, end)]
    return Sections(*(_cut_order(song, order, begins) for begins in ((), marked, [*marked, *periods])))


def _cut_order(song: Song, order: Sequence[int], begins: Sequence[int]) -> tuple[range, ...]:
    """The order of play cut where the music turns, and at these bars where neither side is too short."""
    first = int(song.bars[order[0]].is_pickup and len(order) > 1 and not _is_held_into(song, order[1]))
    places = range(first + 1, len(order))
    turns = [place for place in places if _goes_elsewhere(song, order, place)]
    free = {index for index in begins if not _is_held_into(song, index)}
    cuts = [first]
    for place in places:
        end = next((turn for turn in turns if turn > place), len(order))
        is_long = place - cuts[-1] >= LEAST and end - place >= LEAST
        if place in turns or (order[place] in free and is_long):
            cuts.append(place)
    return tuple(range(start, end) for start, end in pairwise([*cuts, len(order)]))


def _goes_elsewhere(song: Song, order: Sequence[int], position: int) -> bool:
    """Whether the music turns to another place; it does not where it goes on into a later ending."""
    before, index = order[position - 1], order[position]
    is_later_ending = index > before and song.bars[index].endings
    return index != before + 1 and not is_later_ending


def _is_marked(bars: Sequence[Bar], index: int) -> bool:
    bar, before = bars[index], bars[index - 1]
    if bar.endings:
        return False
    is_begun = bar.starts_repeat or bar.section or AT_START & set(bar.jumps) or before.is_pickup
    is_ended = (
        before.endings
        or before.repeat_times
        or before.barline is not Barline.REGULAR
        or set(before.jumps) - AT_START
    )
    return bool(is_begun or is_ended)


def _split_periods(song: Song, start: int, end: int) -> list[int]:
    """Every eighth bar of a stretch, if a phrase begins at each of them.

    Bars over four times four are counted out first: a written-out upbeat, an opening.
    """
    for opening in ((end - start) % LEAST, 0):
        inner = list(range(start + opening + PERIOD, end, PERIOD))
        if all(begins_phrase(song, index) and not song.bars[index].endings for index in inner):
            return inner
    return []


def begins_phrase(song: Song, index: int) -> bool:
    """Whether a phrase begins with the bar: with an upbeat up to three quarters of a bar, or half a bar late."""
    bar = song.bars[index]
    early, late = bar.meter.bar_length * 3 / 4, bar.meter.bar_length / 2
    starts = (phrase[0].onset - bar.onset for phrase in split_phrases(song.melody))
    return not _is_held_into(song, index) and any(-early <= start <= late for start in starts)


def _is_held_into(song: Song, index: int) -> bool:
    onset = song.bars[index].onset
    return any(note.onset < onset < note.offset for note in song.melody)
