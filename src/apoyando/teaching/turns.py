"""What the hand does where the music turns: from a repeat's end to its start, to a later ending, at D.C.

The search walks through the page as it is written and does not see these moves; so they are told.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from apoyando.model.arrangement import Arrangement, Note
from apoyando.model.form import play_order
from apoyando.model.hand import roman
from apoyando.model.position import Shift, list_shifts
from apoyando.model.song import Bar
from apoyando.model.time import Span

_SECONDS_PER_MINUTE = 60


@dataclass(frozen=True, slots=True)
class TurnShift:
    """A shift on the way from one bar to another that does not stand after it; by printed numbers."""

    bar: str
    next_bar: str
    frets: int
    sentence: str


def find_turn_shifts(arrangement: Arrangement) -> tuple[TurnShift, ...]:
    """The shifts where the music turns, each turn once, in the order of play."""
    bars = arrangement.bars
    pairs = dict.fromkeys(pairwise(play_order(bars)))
    turns = [(bars[this], bars[following]) for this, following in pairs if following != this + 1]
    return tuple(told for bar, after in turns for told in _tell(arrangement, bar, after))


def _tell(arrangement: Arrangement, bar: Bar, after: Bar) -> Iterator[TurnShift]:
    shift = _find_shift(arrangement.notes, bar, after)
    if shift:
        seconds = (shift.onset - shift.since) * _SECONDS_PER_MINUTE / arrangement.tempo_quarters_per_minute
        sentence = (
            f"From bar {bar.number} to bar {after.number} the hand shifts from position "
            f"{roman(shift.old_position)} to {roman(shift.new_position)} within {float(seconds):.1f} seconds."
        )
        yield TurnShift(bar.number, after.number, shift.frets, sentence)


def _find_shift(notes: Sequence[Note], bar: Bar, after: Bar) -> Shift | None:
    """The shift between the last place of the hand in one bar and its first in the other."""
    ahead = bar.offset - after.onset
    played = [
        *(note for note in notes if bar.span.contains(note.onset)),
        *(
            replace(note, span=Span(note.onset + ahead, note.offset + ahead))
            for note in notes
            if after.span.contains(note.onset)
        ),
    ]
    shifts = list_shifts(played)
    return next((shift for shift in shifts if shift.since < bar.offset <= shift.onset), None)
