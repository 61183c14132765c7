"""Where the left hand lies on the neck, and when it shifts.

Conventions: a position is the fret at which finger 1 lies, or would lie with one fret to a
finger. While the hand stays, a tip reaches one fret to either side of its own (contraction and
extension are no shift), and no finger goes farther than to the next fret. A barre reaches
nowhere beside its fret (common practice, no source).
"""

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

from apoyando.model.arrangement import Note
from apoyando.model.hand import Finger
from apoyando.model.time import Quarters, group_by_moment

_REACH_FRETS = 1
_LOOKS_BACK = 8
"""So many moments before the last that is possible a shift is looked for: a bar of eighths."""


@dataclass(frozen=True, slots=True)
class Shift:
    """The hand goes from one position to another, where it arrives at ``onset``.

    ``since`` is when the hand last struck a stopped note before. ``is_free``: no finger holds
    a note up to ``onset``, so that an open string or a rest lets the hand go. ``target`` are the
    stopped notes struck on arrival, fingers in order.
    """

    onset: Quarters
    since: Quarters
    old_position: int
    new_position: int
    is_free: bool
    target: tuple[Note, ...]

    @property
    def frets(self) -> int:
        return abs(self.new_position - self.old_position)


@dataclass(frozen=True, slots=True)
class _Moment:
    """Stopped notes are struck at ``onset``; ``since``, ``is_free`` and ``target`` as in ``Shift``.

    The hand can lie anywhere from ``lowest`` to ``highest``; by its lowest-numbered finger it is at
    ``home``. ``tips`` are its fingers, each with the fret where it is.
    """

    onset: Quarters
    since: Quarters
    is_free: bool
    target: tuple[Note, ...]
    lowest: int
    highest: int
    home: int
    tips: frozenset[tuple[Finger, int]]


@dataclass(frozen=True, slots=True)
class _Stay:
    """A time in which the hand lies still; all but ``position`` tell of its beginning, as in ``Shift``.

    ``position`` is where its first notes put it, if the later ones let it.
    """

    onset: Quarters
    since: Quarters
    is_free: bool
    target: tuple[Note, ...]
    position: int


def list_shifts(notes: Iterable[Note]) -> tuple[Shift, ...]:
    """Every shift of a piece, in order of time. A hand moves as seldom as it can, and where there is time: over an
    open string or a rest, or after a long note; of moments that are alike it takes the last.
    """
    return tuple(
        Shift(stay.onset, stay.since, before.position, stay.position, stay.is_free, stay.target)
        for before, stay in pairwise(_list_stays(notes))
        if before.position != stay.position
    )


def find_guides(notes: Iterable[Note], shifts: Iterable[Shift]) -> Iterator[tuple[Note, Note]]:
    """The fingers that stop the same string before and after a shift, each with both notes.

    What counts before is the last note that the finger stopped, if the hand has not struck a
    stopped note since without it; of several struck together the first in ``notes``.
    """
    stopped: dict[Finger, list[Note]] = {}
    for note in sorted(notes, key=_onset):
        stopped.setdefault(note.finger, []).append(note)
    for shift in shifts:
        for after in shift.target:
            last = _last_before(stopped.get(after.finger, ()), shift.onset)
            is_guide = (
                last is not None
                and last.place.string == after.place.string
                and last.place.fret != after.place.fret
                and last.offset >= shift.since
            )
            if last and is_guide and not (last.in_barre or after.in_barre):
                yield last, after


def find_guide_to(notes: Iterable[Note], note: Note) -> Note | None:
    """From which note the finger of another comes along its string; None where it was elsewhere, or nowhere.

    That is what it stopped last, however long ago.
    """
    stopped = sorted((each for each in notes if each.finger is note.finger), key=_onset)
    last = _last_before(stopped, note.onset)
    comes_along = last and last.place.string == note.place.string and last.place.fret != note.place.fret
    return last if comes_along else None


def _last_before(notes: Sequence[Note], moment: Quarters) -> Note | None:
    """Of notes in order of time the first of those that are struck last before a moment."""
    count = bisect_left(notes, moment, key=_onset)
    return notes[bisect_left(notes, notes[count - 1].onset, hi=count, key=_onset)] if count else None


def _onset(note: Note) -> Quarters:
    return note.onset


def list_positions(notes: Iterable[Note]) -> tuple[int, ...]:
    """The positions of a piece in order of time, a new one at every shift; none without stopped notes."""
    return tuple(position for position, _ in groupby(stay.position for stay in _list_stays(notes)))


def _list_stays(notes: Iterable[Note]) -> list[_Stay]:
    moments = _list_moments(notes)
    if not moments:
        return []
    return [_stay(moments[start:end]) for start, end in pairwise([*_choose_starts(moments), len(moments)])]


def _list_moments(notes: Iterable[Note]) -> list[_Moment]:
    stopped = (note for note in notes if not note.place.is_open)
    moments: list[_Moment] = []
    held: list[Note] = []
    since = Quarters(0)
    for onset, group in group_by_moment(stopped, _onset):
        struck = tuple(sorted(group, key=lambda note: note.finger))
        is_free = not any(note.offset >= onset for note in held)
        held = [*(note for note in held if note.offset > onset), *struck]
        home = _home(min(held, key=lambda note: note.finger))
        moments.append(_Moment(onset, since, is_free, struck, *_where_it_reaches(held), home, _tips(held)))
        since = onset
    return moments


def _choose_starts(moments: Sequence[_Moment]) -> tuple[int, ...]:
    """Where the stays begin: as few as can be, and each where the hand has time to come to it.

    Each begins no later than where the one before cannot go on (``latest``), and no earlier than where
    those after it, counted from the end, would not reach back to; in between it may begin anywhere
    where both are one stay. Where it has time at the latest it begins there.
    """
    latest, earliest = _starts_onwards(moments), _starts_backwards(moments)
    ways = {0: _Way((0,), Quarters(0))}
    for soonest, last in zip(earliest[1:], latest[1:], strict=True):
        first = last if moments[last].is_free else max(soonest, last - _LOOKS_BACK)
        reach = {start: _reach_of_stay(moments, start) for start in ways}
        ways = {
            at: _Way((*way.starts, at), way.haste + _haste(moments[at]))
            for at in range(first, last + 1)
            for way in sorted((ways[start] for start in ways if start < at <= reach[start]), key=_rank)[:1]
        }
    to_the_end = (ways[start] for start in ways if _reach_of_stay(moments, start) == len(moments))
    return min(to_the_end, key=_rank).starts


@dataclass(frozen=True, slots=True)
class _Way:
    """Where the stays begin so far, and what haste they make."""

    starts: tuple[int, ...]
    haste: Quarters


def _rank(way: _Way) -> tuple[Quarters, list[int]]:
    """Least haste first; of those alike the one with the later shifts."""
    return way.haste, [-start for start in way.starts]


def _haste(moment: _Moment) -> Quarters:
    """Of a shift to a moment: none where the hand is free, and the more the shorter the time."""
    return Quarters(0) if moment.is_free else 1 / (moment.onset - moment.since)


def _starts_onwards(moments: Sequence[_Moment]) -> list[int]:
    """If each stay is as long as it can be, from the first on."""
    starts = [0]
    while (end := _reach_of_stay(moments, starts[-1])) < len(moments):
        starts.append(end)
    return starts


def _starts_backwards(moments: Sequence[_Moment]) -> list[int]:
    """If each stay is as long as it can be, from the last back; the first begins at 0 all the same."""
    mirrored, starts = moments[::-1], [0]
    while (end := _reach_of_stay(mirrored, starts[-1])) < len(moments):
        starts.append(end)
    return [0, *(len(moments) - start for start in reversed(starts[1:]))]


def _reach_of_stay(moments: Sequence[_Moment], start: int) -> int:
    """How far a stay that begins at a moment can go on: the first moment that is not in it.

    A moment is a stay by itself at least, even if no hand can take it.
    """
    lowest, highest = moments[start].lowest, moments[start].highest
    frets: dict[Finger, tuple[int, int]] = {}
    leaps = False
    for at in range(start, len(moments)):
        moment = moments[at]
        lowest, highest = max(lowest, moment.lowest), min(highest, moment.highest)
        for finger, fret in moment.tips:
            low, high = frets.get(finger, (fret, fret))
            if not low <= fret <= high:
                low, high = min(low, fret), max(high, fret)
                leaps = leaps or high - low > _REACH_FRETS
            frets[finger] = low, high
        if at > start and (leaps or lowest > highest):
            return at
    return len(moments)


def _stay(moments: Sequence[_Moment]) -> _Stay:
    first = moments[0]
    lowest = max(moment.lowest for moment in moments)
    highest = min(moment.highest for moment in moments)
    position = max(1, lowest, min(first.home, highest))
    return _Stay(first.onset, first.since, first.is_free, first.target, position)


def _tips(stopped: Iterable[Note]) -> frozenset[tuple[Finger, int]]:
    return frozenset((note.finger, int(note.place.fret)) for note in stopped)


def _where_it_reaches(stopped: Sequence[Note]) -> tuple[int, int]:
    """The positions from which every finger reaches its place; where they stretch, those between."""
    lowest = max(_home(note) - _reach(note) for note in stopped)
    highest = max(1, min(_home(note) + _reach(note) for note in stopped))
    return min(lowest, highest), max(lowest, highest)


def _home(note: Note) -> int:
    return note.place.fret - note.finger + 1


def _reach(note: Note) -> int:
    return 0 if note.in_barre and note.finger is Finger.INDEX else _REACH_FRETS
