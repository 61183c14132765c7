"""Campanella: a step of the tune to the string beside, under which the note before can ring on.

Conventions: a step is one or two semitones. What the search pays for it is in ``docs/objective.md``;
here it is looked for in the finished piece, where nothing else takes the string or the finger either.
"""

from collections.abc import Iterator, Sequence
from itertools import pairwise

from apoyando.model.arrangement import Note, Role
from apoyando.model.hand import Finger

_STEP = (1, 2)


def find_bells(notes: Sequence[Note]) -> Iterator[Note]:
    """The notes of the tune that can ring into the next one, in order of time."""
    tune = sorted((note for note in notes if note.role is Role.MELODY), key=lambda note: note.onset)
    for one, other in pairwise(tune):
        is_step = abs(one.pitch.midi - other.pitch.midi) in _STEP and one.offset == other.onset
        if is_step and abs(one.place.string - other.place.string) == 1:
            struck = [note for note in notes if note.onset == other.onset]
            if not any(_stops(note, one) for note in struck):
                yield one


def _stops(note: Note, ringing: Note) -> bool:
    takes_finger = ringing.finger is not Finger.OPEN and note.finger is ringing.finger
    return takes_finger or note.place.string == ringing.place.string
