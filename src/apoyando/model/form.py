"""The form played out: repeats, endings, D.C., D.S., Fine, Coda.

Common practice, no source: a repeat without a start goes back to the end of the repeat
before it, or to the beginning; after D.C. or D.S. repeats are not taken, but where a repeat
without endings says so, the last ending is played, and Fine and To Coda come into force; in the
coda repeats are taken again. Each jump is obeyed once.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import takewhile

from apoyando.model.song import Bar, Jump

TURNS = frozenset({Jump.DA_CAPO, Jump.DAL_SEGNO})
"""What sends the player back."""

MOST_PASSES = 32
"""No stretch is played more often than this, whatever a file claims."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Reading:
    """Where the eye is. ``passes`` counts how often the stretch from ``repeat_start`` is being played."""

    index: int = 0
    repeat_start: int = 0
    passes: int = 1
    has_turned_back: bool = False
    takes_repeats: bool = True
    jumps_taken: frozenset[tuple[int, Jump]] = field(default=frozenset())


def play_order(bars: Sequence[Bar]) -> tuple[int, ...]:
    """The indices of the bars in the order in which they are played.

    Laws: it ends; every bar is played at least once. Marks that contradict themselves and
    would leave a bar out are ignored: then all is played once as written.
    """
    order: list[int] = []
    reading = _Reading()
    while reading.index < len(bars):
        reading = _enter(bars, reading)
        if _is_played(bars, reading):
            order.append(reading.index)
            reading = _leave(bars, reading)
        else:
            reading = _go_on(reading)
    return tuple(order) if len(set(order)) == len(bars) else tuple(range(len(bars)))


def playing_minutes(bars: Sequence[Bar], tempo_quarters_per_minute: Fraction) -> Fraction:
    """How long the bars last, repeats and jumps played out."""
    quarters = sum((bars[index].duration for index in play_order(bars)), Fraction(0))
    return quarters / tempo_quarters_per_minute


def _enter(bars: Sequence[Bar], reading: _Reading) -> _Reading:
    """A new stretch begins at a repeat start and after the last ending."""
    index, bar = reading.index, bars[reading.index]
    follows_endings = index > 0 and bool(bars[index - 1].endings) and not bar.endings
    begins = index > reading.repeat_start and (bar.starts_repeat or follows_endings)
    return replace(reading, repeat_start=index, passes=1) if begins else reading


def _is_played(bars: Sequence[Bar], reading: _Reading) -> bool:
    endings = bars[reading.index].endings
    if not endings:
        return True
    last = _last_ending(bars, reading.index)
    return (reading.passes if reading.takes_repeats else last) in endings


def _leave(bars: Sequence[Bar], reading: _Reading) -> _Reading:
    """What the marks at the end of a bar say."""
    bar = bars[reading.index]
    marks = {jump for jump in bar.jumps if (reading.index, jump) not in reading.jumps_taken}
    if reading.has_turned_back and Jump.FINE in bar.jumps:
        return replace(reading, index=len(bars))
    if reading.has_turned_back and Jump.TO_CODA in marks and _find(bars, Jump.CODA) is not None:
        return _jump_to_coda(bars, reading)
    if _goes_back(bars, reading):
        return replace(reading, index=reading.repeat_start, passes=reading.passes + 1)
    if TURNS & marks:
        return _turn_back(bars, reading)
    if bar.repeat_times and not bar.endings:
        return _go_on(replace(reading, repeat_start=reading.index + 1, passes=1))
    return _go_on(reading)


def _goes_back(bars: Sequence[Bar], reading: _Reading) -> bool:
    bar = bars[reading.index]
    is_taken = reading.takes_repeats or (bar.repeats_after_jump and not bar.endings)
    if not (bar.repeat_times and is_taken):
        return False
    times = max(bar.repeat_times, _last_ending(bars, reading.index))
    return reading.passes < min(times, MOST_PASSES)


def _jump_to_coda(bars: Sequence[Bar], reading: _Reading) -> _Reading:
    coda = _find(bars, Jump.CODA) or 0
    taken = reading.jumps_taken | {(reading.index, Jump.TO_CODA)}
    return replace(reading, index=coda, repeat_start=coda, passes=1, takes_repeats=True, jumps_taken=taken)


def _turn_back(bars: Sequence[Bar], reading: _Reading) -> _Reading:
    segno = _find(bars, Jump.SEGNO)
    goal = segno if segno and Jump.DAL_SEGNO in bars[reading.index].jumps else 0
    return _Reading(
        index=goal,
        repeat_start=goal,
        has_turned_back=True,
        takes_repeats=False,
        jumps_taken=reading.jumps_taken | {(reading.index, jump) for jump in TURNS},
    )


def _go_on(reading: _Reading) -> _Reading:
    return replace(reading, index=reading.index + 1)


def _last_ending(bars: Sequence[Bar], index: int) -> int:
    """The highest number in the row of endings that a bar stands in, 0 if it is under none."""
    ahead = takewhile(_is_under_ending, bars[index:])
    behind = takewhile(_is_under_ending, reversed(bars[: index + 1]))
    return max((number for bar in (*ahead, *behind) for number in bar.endings), default=0)


def _is_under_ending(bar: Bar) -> bool:
    return bool(bar.endings)


def _find(bars: Sequence[Bar], jump: Jump) -> int | None:
    return next((index for index, bar in enumerate(bars) if jump in bar.jumps), None)
