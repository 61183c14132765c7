"""The arrangement as the two hands meet it: stroke by stroke.

Conventions: onsets in quarters.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby

from apoyando.model.arrangement import Note
from apoyando.model.hand import Finger
from apoyando.model.time import Quarters


@dataclass(frozen=True, slots=True)
class Stroke:
    """All that is struck at one moment, and what the left hand does for it.

    ``set_down`` are struck notes whose finger did not already lie there; ``kept`` are
    stopped notes from before that last beyond this moment.
    """

    onset: Quarters
    struck: tuple[Note, ...]
    set_down: tuple[Note, ...]
    kept: tuple[Note, ...]

    @property
    def stopped(self) -> tuple[Note, ...]:
        """Every note that a finger stops at this moment."""
        return (*self.kept, *(note for note in self.struck if note.finger is not Finger.OPEN))


def list_strokes(notes: Iterable[Note]) -> tuple[Stroke, ...]:
    """The strokes of an arrangement, in order of time."""
    lying: list[Note] = []
    strokes: list[Stroke] = []
    for onset, group in groupby(sorted(notes, key=lambda note: note.onset), lambda note: note.onset):
        struck = tuple(group)
        lying = [note for note in lying if note.offset >= onset]
        strokes.append(_stroke(onset, struck, lying))
        lying += [note for note in struck if note.finger is not Finger.OPEN]
    return tuple(strokes)


def _stroke(onset: Quarters, struck: tuple[Note, ...], lying: Sequence[Note]) -> Stroke:
    down = {_finger_place(note) for note in lying}
    set_down = tuple(
        note for note in struck if note.finger is not Finger.OPEN and _finger_place(note) not in down
    )
    return Stroke(onset, struck, set_down, tuple(note for note in lying if note.offset > onset))


def _finger_place(note: Note) -> tuple[Finger, int, int]:
    """A finger and where it lies; a barre lies on all its strings at once."""
    return note.finger, note.place.fret, 0 if note.in_barre else note.place.string
