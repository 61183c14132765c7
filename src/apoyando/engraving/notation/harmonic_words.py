"""The words over natural harmonics: ``harm. XII``.

The Roman numeral is the fret over which the string is touched, as over a barre it is the one that is
pressed (common practice of guitar music, no source). The word stands where harmonics begin and where
they go to another fret.
"""

from collections.abc import Sequence
from itertools import groupby

from apoyando.model.arrangement import Arrangement, Note
from apoyando.model.hand import HARMONIC_WORD, roman
from apoyando.model.time import Quarters


def list_harmonic_words(arrangement: Arrangement) -> dict[Quarters, str]:
    """The words by the moments at which they stand, in order of time."""
    found: dict[Quarters, str] = {}
    before = ""
    if any(note.is_harmonic for note in arrangement.notes):
        ordered = sorted(arrangement.notes, key=lambda note: note.onset)
        for onset, struck in groupby(ordered, key=lambda note: note.onset):
            words = name_frets(list(struck))
            if words and words != before:
                found[onset] = words
            before = words
    return found


def name_frets(notes: Sequence[Note]) -> str:
    """``harm. XII``, or ``harm. VII, V``, from the highest string down; nothing where nothing is touched."""
    touched = sorted((note for note in notes if note.is_harmonic), key=lambda note: note.place.string)
    frets = dict.fromkeys(roman(note.place.fret) for note in touched)
    return f"{HARMONIC_WORD} {', '.join(frets)}" if frets else ""
