"""How places, fingers and notes are called in a sentence for a student."""

from collections.abc import Iterable, Sequence

from apoyando.model.arrangement import Note
from apoyando.model.beat import count_beat, name_count
from apoyando.model.hand import Finger
from apoyando.model.song import Bar, bar_at
from apoyando.model.time import Quarters


def name_beat(bars: tuple[Bar, ...], moment: Quarters) -> str:
    """The felt beat at which a moment lies: "beat 2½"."""
    bar = bar_at(bars, moment)
    return f"beat {name_count(count_beat(bar, moment))}"


def name_fingers(notes: Iterable[Note]) -> str:
    """The fingers of stopped notes: "finger 4", "fingers 1 and 2"."""
    numbers = [f"{finger:d}" for finger in fingers_of(notes)]
    return f"finger{'s' if len(numbers) > 1 else ''} {join_words(numbers)}"


def fingers_of(notes: Iterable[Note]) -> list[Finger]:
    """The fingers that stop notes, each once, lowest number first."""
    return sorted({note.finger for note in notes} - {Finger.OPEN})


def name_targets(notes: Iterable[Note], *, with_frets: bool = False) -> str:
    """Notes by name and place in the order of their fingers: "C (string 2) and E (string 4)"."""
    ordered = sorted(notes, key=lambda note: note.finger)
    return join_words([f"{note.pitch.name} ({_name_place(note, with_frets)})" for note in ordered])


def _name_place(note: Note, with_fret: bool) -> str:
    return f"string {note.place.string}{f', fret {note.place.fret}' if with_fret else ''}"


def join_words(words: Sequence[str]) -> str:
    """As people list words: "a", "a and b", "a, b and c"."""
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
