"""How places, fingers and notes are called in a sentence for a student."""

from collections.abc import Iterable, Sequence

from apoyando.model.arrangement import Barre, Note
from apoyando.model.beat import count_beat, name_count
from apoyando.model.hand import Finger, roman
from apoyando.model.song import Bar, bar_at
from apoyando.model.time import Quarters

MOST_LISTED = 3
"""So many places are told, the others counted: a longer list is not read (estimate)."""
MOST_BARS_LISTED = 8
"""Numbers alone are read more easily (estimate)."""


def name_beat(bars: tuple[Bar, ...], moment: Quarters) -> str:
    """The felt beat at which a moment lies: "beat 2½"."""
    bar = bar_at(bars, moment)
    return f"beat {name_count(count_beat(bar, moment))}"


def name_moment(bars: tuple[Bar, ...], moment: Quarters, here: Bar) -> str:
    """A moment as told of the bar ``here``: "beat 2", "beat 1 of the next bar", "beat 3 of bar 8", "the end"."""
    bar = bar_at(bars, moment)
    if moment >= bars[-1].offset:
        return "the end"
    near = {-1: " of the bar before", 0: "", 1: " of the next bar"}
    return name_beat(bars, moment) + near.get(bar.index - here.index, f" of bar {bar.number}")


def name_place(bars: tuple[Bar, ...], moment: Quarters) -> str:
    """A moment on its own: "bar 3, beat 2"."""
    return f"bar {bar_at(bars, moment).number}, {name_beat(bars, moment)}"


def name_bars(numbers: Iterable[str]) -> str:
    """Bars by their printed numbers, each once: "bar 3", "bars 3, 7 and 12", "bars 1, 2 … and 5 more"."""
    listed = list(dict.fromkeys(numbers))
    more = len(listed) - MOST_BARS_LISTED
    named = [*listed[:MOST_BARS_LISTED], f"{more} more"] if more > 1 else listed
    return f"bar{'s' if len(listed) > 1 else ''} {join_words(named)}"


def name_note(note: Note) -> str:
    """A note with its place and finger: "B (string 5, finger 1)", "E (open string 1)"."""
    if note.place.is_open:
        return f"{note.pitch.name} (open string {note.place.string})"
    if note.is_harmonic:
        return f"{note.pitch.name} (harmonic, string {note.place.string} at fret {note.place.fret})"
    return f"{note.pitch.name} (string {note.place.string}, finger {note.finger:d})"


def name_barre(barre: Barre) -> str:
    """As players say it: "C VII", "½C II"; a small barre by its finger and strings."""
    if barre.is_small:
        strings = f"strings {barre.lowest_string} to {barre.highest_string}"
        return f"small barre of finger {barre.finger:d} at {roman(barre.fret)} on {strings}"
    return f"{'' if barre.is_full else '½'}C {roman(barre.fret)}"


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


def list_some(places: Sequence[str]) -> str:
    """Places one after another, no more than people read: "a; b; c; and 2 more"."""
    more = len(places) - MOST_LISTED
    return "; ".join([*places[:MOST_LISTED], *([f"and {more} more"] if more > 0 else [])])
