"""Where the left hand lies on the neck, and when it shifts.

Conventions: a position is the fret at which finger 1 lies, or would lie with one fret to a
finger. While the hand stays, a tip reaches one fret to either side of its own (contraction and
extension are no shift), and no finger goes farther than to the next fret. A barre reaches
nowhere beside its fret (common practice, no source).
"""

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby, pairwise

from apoyando.model.arrangement import Note
from apoyando.model.hand import Finger
from apoyando.model.time import Quarters

_REACH_FRETS = 1


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
class _Stay:
    """A time in which the hand can lie still, anywhere from ``lowest`` to ``highest``.

    ``onset``, ``since``, ``is_free`` and ``target`` tell of its beginning, as in ``Shift``;
    ``home`` is where its first notes put it, by the lowest-numbered finger; ``tips`` are the
    fingers since, each with the frets where it was.
    """

    onset: Quarters
    since: Quarters
    is_free: bool
    target: tuple[Note, ...]
    lowest: int
    highest: int
    home: int
    tips: frozenset[tuple[Finger, int]]

    @property
    def position(self) -> int:
        """As its first notes have it, if the later ones let it."""
        return max(1, self.lowest, min(self.home, self.highest))


def list_shifts(notes: Iterable[Note]) -> tuple[Shift, ...]:
    """Every shift of a piece, in order of time. A hand moves as late and as seldom as it can."""
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
    stopped = sorted((note for note in notes if not note.place.is_open), key=lambda note: note.onset)
    stays: list[_Stay] = []
    held: list[Note] = []
    since = Quarters(0)
    for onset, group in groupby(stopped, key=lambda note: note.onset):
        struck = tuple(sorted(group, key=lambda note: note.finger))
        is_free = not any(note.offset >= onset for note in held)
        held = [*(note for note in held if note.offset > onset), *struck]
        longer = _prolong(stays[-1], held) if stays else None
        if longer:
            stays[-1] = longer
        else:
            home = _home(min(held, key=lambda note: note.finger))
            stays.append(_Stay(onset, since, is_free, struck, *_where_it_reaches(held), home, _tips(held)))
        since = onset
    return stays


def _prolong(stay: _Stay, stopped: Sequence[Note]) -> _Stay | None:
    """The stay with these notes in it, None where the hand must move for them."""
    lowest, highest = _where_it_reaches(stopped)
    longer = replace(
        stay,
        lowest=max(stay.lowest, lowest),
        highest=min(stay.highest, highest),
        tips=stay.tips | _tips(stopped),
    )
    return longer if longer.lowest <= longer.highest and not _leaps(longer.tips) else None


def _tips(stopped: Iterable[Note]) -> frozenset[tuple[Finger, int]]:
    return frozenset((note.finger, int(note.place.fret)) for note in stopped)


def _leaps(tips: frozenset[tuple[Finger, int]]) -> bool:
    """Whether some finger was at frets that are not neighbours."""
    return any(
        finger is same and abs(one - other) > _REACH_FRETS for finger, one in tips for same, other in tips
    )


def _where_it_reaches(stopped: Sequence[Note]) -> tuple[int, int]:
    """The positions from which every finger reaches its place; where they stretch, those between."""
    lowest = max(_home(note) - _reach(note) for note in stopped)
    highest = max(1, min(_home(note) + _reach(note) for note in stopped))
    return min(lowest, highest), max(lowest, highest)


def _home(note: Note) -> int:
    return note.place.fret - note.finger + 1


def _reach(note: Note) -> int:
    return 0 if note.in_barre and note.finger is Finger.INDEX else _REACH_FRETS
