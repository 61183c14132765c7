"""What lies on the page, for the modules of the page: the notes with their heads, and the bars."""

from collections import defaultdict
from dataclasses import dataclass
from fractions import Fraction

from apoyando.desk.tasks import Told
from apoyando.desk.touch_words import name_note
from apoyando.engraving import find_heads
from apoyando.model.arrangement import Arrangement, Note, Role
from apoyando.model.beat import count_beat
from apoyando.model.locks import NoteLock
from apoyando.model.song import bar_at


@dataclass(frozen=True, slots=True)
class Named:
    """A note as the page asks for it: printed bar, beat from 1, voice, and its string now (0: it is not there)."""

    bar: str
    beat: Fraction
    voice: Role
    string: int

    @property
    def lock(self) -> NoteLock:
        """One that only names the note."""
        return NoteLock(bar=self.bar, beat=self.beat, voice=self.voice)


def describe_paper(arrangement: Arrangement) -> Told:
    """``notes`` in the order of time, from the top; ``note`` is the place of each among those of the piece."""
    heads: dict[int, list[str]] = defaultdict(list)
    for head, place in find_heads(arrangement).items():
        heads[place].append(head)
    ordered = sorted(enumerate(arrangement.notes), key=lambda each: (each[1].onset, -each[1].pitch.midi))
    return {
        "notes": [_describe_note(arrangement, place, note, heads[place]) for place, note in ordered],
        "bars": [{"index": bar.index, "number": bar.number} for bar in arrangement.bars],
    }


def _describe_note(arrangement: Arrangement, place: int, note: Note, heads: list[str]) -> Told:
    named = name_of(arrangement, note)
    return {
        "note": place,
        "heads": heads,
        "onset": float(note.onset),
        "label": name_note(arrangement, note),
        "bar": named.bar,
        "beat": str(named.beat),
        "voice": str(named.voice),
        "string": named.string,
    }


def name_of(arrangement: Arrangement, note: Note) -> Named:
    bar = bar_at(arrangement.bars, note.onset)
    return Named(bar.number, count_beat(bar, note.onset), note.role, note.place.string)


def find_note(arrangement: Arrangement, named: Named) -> Note | None:
    """The note that is asked for, wherever it is played; None where none is struck any more.

    Of inner notes struck together the one on its string, or else the lowest.
    """
    found = [note for note in arrangement.notes if name_of(arrangement, note).lock == named.lock]
    on_string = [note for note in found if note.place.string == named.string]
    return min(on_string or found, key=lambda note: note.pitch.midi, default=None)


def find_beside(arrangement: Arrangement, named: Named) -> tuple[Note, ...]:
    """The inner notes that are struck together with one."""
    note = find_note(arrangement, named)
    if note is None or note.role is not Role.INNER:
        return ()
    return tuple(
        each
        for each in arrangement.notes
        if each.role is Role.INNER and each.onset == note.onset and each != note
    )
