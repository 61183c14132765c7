"""Which fingering marks a page shows: what is not obvious, and only that.

The page is read by someone who sees the notes, the digits, the circled strings and the
barre marks, and who expects each note at one place:

* while nothing else is told, where its fret is lowest (first position);
* once a position is told, within its four frets if the note lies there, otherwise where
  its fret is lowest. A position is told by a printed barre mark, by a circled string, and
  by any stopped note that lies outside the four frets told so far. It is forgotten at the
  end of the bar after the last time that it was told.

**A string is circled** where a stopped note does not lie at the place expected of it.
Notes struck together are read from the top: the first circle places the hand for the rest.

**A left-hand digit is printed** for each note, but not

* for a note under a barre mark that finger 1 stops as part of it;
* for a note whose place had the same finger the last time in this bar;
* for a note that repeats the one before it in its voice, place and finger alike;
* for an open string where an open string is expected.

**A plucking letter is printed** for each note of the first bar of an arpeggio: the pattern goes
on as it began.

Source: "print what is not obvious, too many marks make the page unreadable" (common
practice); the reader's expectation made explicit is our own.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from itertools import pairwise

from apoyando.model.arrangement import MELODY_ALONE, Arrangement, Barre, Note, Role
from apoyando.model.hand import Finger
from apoyando.model.instrument import Fret, Place, Tuning
from apoyando.model.plan import ARPEGGIO
from apoyando.model.song import bar_at
from apoyando.model.time import Quarters

FRETS_OF_A_POSITION = 4
FIRST_POSITION = Fret(1)
BARS_REMEMBERED = 2


@dataclass(frozen=True, slots=True)
class Marks:
    """The notes that are printed with their digit, with their circled string, with their plucking letter."""

    digits: frozenset[Note] = frozenset()
    strings: frozenset[Note] = frozenset()
    plucks: frozenset[Note] = frozenset()


@dataclass(frozen=True, slots=True)
class _Reader:
    """What someone who has read so far knows."""

    tuning: Tuning
    position: Fret = FIRST_POSITION
    told_in_bar: int = 0

    def expected_place(self, note: Note) -> Place:
        places = self.tuning.places(note.pitch.midi) or (note.place,)
        here = [
            place for place in places if self.position <= place.fret < self.position + FRETS_OF_A_POSITION
        ]
        if here and self.position > FIRST_POSITION:
            return here[0]
        return min(places, key=lambda place: place.fret)

    def told(self, position: int, bar: int) -> "_Reader":
        return replace(self, position=Fret(max(position, FIRST_POSITION)), told_in_bar=bar)

    def in_bar(self, bar: int) -> "_Reader":
        if bar - self.told_in_bar < BARS_REMEMBERED:
            return self
        return replace(self, position=FIRST_POSITION)

    def after(self, note: Note, bar: int, is_circled: bool) -> "_Reader":
        fret = note.place.fret
        is_inside = self.position <= fret < self.position + FRETS_OF_A_POSITION
        if note.place.is_open or (is_inside and not is_circled):
            return self
        return self.told(hand_position(note), bar)


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


def choose_marks(arrangement: Arrangement) -> Marks:
    """The digits and circled strings to print, by the rules at the top of this module."""
    if arrangement.texture == MELODY_ALONE:
        return Marks()
    reader, seen, bar = _Reader(arrangement.tuning), _Seen(), -1
    digits: set[Note] = set()
    strings: set[Note] = set()
    for note in _from_the_top(arrangement.notes):
        index = bar_at(arrangement.bars, note.onset).index
        if index != bar:
            bar, seen.in_bar, reader = index, {}, reader.in_bar(index)
        reader = _read_barres(reader, arrangement.barres, note.onset, bar)
        expected = reader.expected_place(note)
        is_circled = not note.place.is_open and note.place != expected
        strings |= {note} if is_circled else set()
        digits |= set() if seen.knows(note) or _goes_without_digit(note, expected) else {note}
        seen.see(note)
        reader = reader.after(note, bar, is_circled)
    return Marks(frozenset(digits), frozenset(strings), _choose_plucks(arrangement))


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


def _from_the_top(notes: Iterable[Note]) -> list[Note]:
    return sorted(notes, key=lambda note: (note.onset, -note.pitch.midi, note.place.string))


def _read_barres(reader: _Reader, barres: tuple[Barre, ...], onset: Quarters, bar: int) -> _Reader:
    for barre in barres:
        if barre.finger is Finger.INDEX and barre.span.contains(onset):
            reader = reader.told(barre.fret, bar)
    return reader


def _goes_without_digit(note: Note, expected: Place) -> bool:
    has_mark = note.in_barre and note.finger is Finger.INDEX
    return has_mark or (note.place.is_open and expected.is_open)
