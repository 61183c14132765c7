"""Which fingering marks a page shows: what its reader needs, and only that.

The page is read by someone who sees the notes, the digits, the circled strings and the
barre marks, and who expects each note at one place:

* while nothing else is told, where its fret is lowest (first position);
* once a position is told, within its four frets if the note lies there, otherwise where
  its fret is lowest. A position is told by a printed barre mark, by a circled string, and
  by any stopped note that lies outside the four frets told so far. It is forgotten at the
  end of the bar after the last time that it was told.

Notes struck together are read from the top: the first circle places the hand for the rest.
How much is printed is the player's choice.

A harmonic has its string circled in every amount, and its fret in words over the staff; a digit only in
full, for any finger can touch it.

**Clean**, for who reads well: what would otherwise be played at a wrong place.

* A string is circled where a stopped note does not lie at the place expected of it.
* A left-hand digit stands at a circle; at the top note of those with which the hand arrives in
  another position, where no barre mark tells it; and at an open string where a stopped one is
  expected; but not where normal leaves it out.

**Normal**, for an intermediate reader.

* Strings are circled as in clean.
* A left-hand digit stands at each note, but not at a note under a barre mark that finger 1 stops
  as part of it; at a note whose place had the same finger the last time in this bar; at a note
  that repeats the one before it in its voice, place and finger alike; at an open string where
  an open string is expected.
* A guide finger, which stays on its string while the hand shifts, has its digit and a short line
  before it; in a score that says where guide fingers are, they are there and nowhere else.
* A plucking letter stands at each note of the first bar of an arpeggio: the pattern goes on as it
  began.

**Full**, for who is taught: a digit at every note, open strings and notes under a barre included; the
circles of normal, and the string of every stopped note that does not lie where its fret is lowest;
guide fingers; the plucking letter of every note that has one.

Source: "print what is not obvious, too many marks make the page unreadable" (common
practice); the reader's expectation made explicit and the three amounts are our own.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from itertools import pairwise

from apoyando.model.arrangement import MELODY_ALONE, Arrangement, Barre, Note, Role
from apoyando.model.hand import Finger
from apoyando.model.instrument import Fret, Place, Tuning
from apoyando.model.plan import ARPEGGIO
from apoyando.model.position import Shift, find_guide_to, find_guides, list_shifts
from apoyando.model.sheet import Marking
from apoyando.model.song import bar_at
from apoyando.model.time import Quarters, group_by_moment

FRETS_OF_A_POSITION = 4
FIRST_POSITION = Fret(1)
BARS_REMEMBERED = 2


@dataclass(frozen=True, slots=True)
class Marks:
    """The notes that are printed with their digit, with their circled string, with their plucking letter.

    ``guides`` are the notes whose finger came along its string, with the frets it went up the neck
    (down: below 0). Law: each of them is among ``digits``.
    """

    digits: frozenset[Note] = frozenset()
    strings: frozenset[Note] = frozenset()
    plucks: frozenset[Note] = frozenset()
    guides: Mapping[Note, int] = field(default_factory=dict[Note, int])


@dataclass(frozen=True, slots=True)
class _Reader:
    """What someone who has read so far knows."""

    tuning: Tuning
    position: Fret = FIRST_POSITION
    told_in_bar: int = 0

    def expected_place(self, note: Note) -> Place:
        places = self.tuning.places(note.pitch.midi)
        here = [
            place for place in places if self.position <= place.fret < self.position + FRETS_OF_A_POSITION
        ]
        if here and self.position > FIRST_POSITION:
            return here[0]
        return _lowest_place(note, places)

    def told(self, position: int, bar: int) -> "_Reader":
        return replace(self, position=Fret(max(position, FIRST_POSITION)), told_in_bar=bar)

    def in_bar(self, bar: int) -> "_Reader":
        if bar - self.told_in_bar < BARS_REMEMBERED:
            return self
        return replace(self, position=FIRST_POSITION)

    def after(self, note: Note, bar: int, is_circled: bool) -> "_Reader":
        fret = note.place.fret
        is_inside = self.position <= fret < self.position + FRETS_OF_A_POSITION
        if note.place.is_open or note.is_harmonic or (is_inside and not is_circled):
            return self
        return self.told(hand_position(note), bar)


def _lowest_place(note: Note, places: Iterable[Place]) -> Place:
    return min(places, key=lambda place: place.fret, default=note.place)


def hand_position(note: Note) -> int:
    """Where finger 1 lies when this stopped note is played with its finger and no stretch."""
    return note.place.fret - max(note.finger - 1, 0)


@dataclass(slots=True)
class _Seen:
    """Places with their finger: in this bar, and last in each voice."""

    in_bar: dict[Place, int] = field(default_factory=dict[Place, int])
    last: dict[Role, tuple[Place, int]] = field(default_factory=dict[Role, tuple[Place, int]])

    def knows(self, note: Note) -> bool:
        is_repeat = self.last.get(note.role) == (note.place, note.finger)
        return is_repeat or self.in_bar.get(note.place) == note.finger

    def see(self, note: Note) -> None:
        self.in_bar[note.place] = note.finger
        self.last[note.role] = (note.place, note.finger)


@dataclass(frozen=True, slots=True)
class _Read:
    """A note as the reader of a normal page meets it. ``is_known``: place and finger go without saying."""

    note: Note
    expected: Place
    is_known: bool

    @property
    def is_elsewhere(self) -> bool:
        """A stopped note that does not lie where it is expected."""
        return not self.note.place.is_open and self.note.place != self.expected


def choose_marks(arrangement: Arrangement, marking: Marking = Marking.NORMAL) -> Marks:
    """What to print, by the rules at the top of this module."""
    if arrangement.texture == MELODY_ALONE:
        return Marks()
    read = _read(arrangement)
    strings = frozenset(each.note for each in read if each.is_elsewhere or each.note.is_harmonic)
    shifts = list_shifts(arrangement.notes)
    guides = {} if marking is Marking.CLEAN else list_guides(arrangement, shifts)
    if marking is Marking.FULL:
        return _mark_in_full(arrangement, strings, guides)
    if marking is Marking.CLEAN:
        arrivals = _arrivals(shifts)
        wanted = (
            each
            for each in read
            if (each.note in arrivals and not each.note.is_harmonic) or _would_mislead(each)
        )
        return Marks(frozenset(each.note for each in wanted if not each.is_known), strings)
    digits = frozenset(each.note for each in read if not each.is_known and not _is_obvious(each))
    return Marks(digits | guides.keys(), strings, _choose_plucks(arrangement), guides)


def _mark_in_full(arrangement: Arrangement, strings: frozenset[Note], guides: Mapping[Note, int]) -> Marks:
    notes, tuning = arrangement.notes, arrangement.tuning
    return Marks(
        digits=frozenset(notes),
        strings=strings
        | {note for note in notes if note.place != _lowest_place(note, tuning.places(note.pitch.midi))},
        plucks=frozenset(note for note in notes if note.pluck),
        guides=guides,
    )


def _read(arrangement: Arrangement) -> list[_Read]:
    """The notes as they are met: in order of time, from the top."""
    reader, seen, bar = _Reader(arrangement.tuning), _Seen(), arrangement.bars[0]
    read: list[_Read] = []
    for onset, struck in group_by_moment(arrangement.notes, _onset):
        if onset >= bar.offset:
            bar = bar_at(arrangement.bars, onset)
            seen.in_bar, reader = {}, reader.in_bar(bar.index)
        barres = [barre for barre in arrangement.barres if barre.span.contains(onset)]
        for note in sorted(struck, key=_from_the_top):
            reader = _read_barres(reader, barres, bar.index)
            read.append(_Read(note, reader.expected_place(note), seen.knows(note)))
            seen.see(note)
            reader = reader.after(note, bar.index, read[-1].is_elsewhere)
    return read


def _onset(note: Note) -> Quarters:
    return note.onset


def _from_the_top(note: Note) -> tuple[int, int]:
    return -note.pitch.midi, note.place.string


def _would_mislead(read: _Read) -> bool:
    """Elsewhere than expected, or open where a stopped string is expected."""
    is_open_unawares = read.note.place.is_open and not read.expected.is_open
    return is_open_unawares or (read.is_elsewhere and not _is_obvious(read))


def _is_obvious(read: _Read) -> bool:
    """Under a barre mark, or open where an open string is expected; or touched, with any finger."""
    has_mark = read.note.in_barre and read.note.finger is Finger.INDEX
    return has_mark or read.note.is_harmonic or (read.note.place.is_open and read.expected.is_open)


def _arrivals(shifts: Iterable[Shift]) -> frozenset[Note]:
    """The top note with which the hand arrives, but where it arrives with a barre, which has its mark."""
    return frozenset(
        max(shift.target, key=lambda note: note.pitch.midi)
        for shift in shifts
        if not any(note.in_barre for note in shift.target)
    )


def list_guides(arrangement: Arrangement, shifts: Iterable[Shift]) -> dict[Note, int]:
    """The notes to which a finger comes along its string, with the frets it goes up the neck (down: below 0).

    Where the source says it of a note, or says that it is not so, that counts.
    """
    notes = arrangement.notes
    told = ((find_guide_to(notes, note), note) for note in notes if note.is_guided)
    found = ((before, after) for before, after in find_guides(notes, shifts) if after.is_guided is None)
    return {
        after: after.place.fret - before.place.fret
        for before, after in (*told, *found)
        if before and not (before.is_harmonic or after.is_harmonic)
    }


def _choose_plucks(arrangement: Arrangement) -> frozenset[Note]:
    begins = {section.bar for section in arrangement.sections if section.texture == ARPEGGIO}
    spans = [
        following.span if bar.is_pickup else bar.span
        for bar, following in pairwise([*arrangement.bars, arrangement.bars[-1]])
        if bar.number in begins
    ]
    return frozenset(
        note for note in arrangement.notes if note.pluck and any(span.contains(note.onset) for span in spans)
    )


def _read_barres(reader: _Reader, barres: Iterable[Barre], bar: int) -> _Reader:
    for barre in barres:
        if barre.finger is Finger.INDEX:
            reader = reader.told(barre.fret, bar)
    return reader
