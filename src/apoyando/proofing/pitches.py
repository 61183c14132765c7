"""Each note by itself: the place exists, it gives the pitch, and the finger fits it.

A harmonic is proven from the physics of the string, not from a table: what is touched at one part in
n of its length sounds n times as high as the open string (Fletcher & Rossing, The Physics of Musical
Instruments, 1998, ch. 2).
"""

from collections.abc import Iterator
from math import gcd, log2

from apoyando.model.arrangement import Arrangement, Note
from apoyando.model.hand import Finger
from apoyando.model.instrument import LAST_FRET, Fret, Tuning
from apoyando.proofing.certificate import Breach, Proof, Refutation, Rule, Witness, decide
from apoyando.proofing.wording import name_note, show_breach

HIGHEST_PARTS = 5
"""Into more parts no string is touched here: what sounds then is too weak and too far from the tempered scale."""
NODE_TOLERANCE = 0.01
"""Of the string: so far a fret's wire may lie from a node that the finger finds by its fret (an estimate)."""


def prove_pitches(arrangement: Arrangement) -> Proof | Refutation:
    """Every note's place gives its pitch in the tuning.

    Also: the string and the fret exist (with a capo fewer frets remain), and open strings
    take finger 0 and nothing else does. A harmonic lies where the string has a node, and sounds
    what the string gives then, to the nearest semitone.
    """
    proof = Proof(rule=Rule.PITCHES, notes_checked=len(arrangement.notes))
    return decide(proof, (witness for note in arrangement.notes for witness in _faults(arrangement, note)))


def _faults(arrangement: Arrangement, note: Note) -> Iterator[Witness]:
    tuning = arrangement.tuning
    if not _exists(note, tuning, arrangement.capo):
        yield _witness(arrangement, note, Breach.NO_SUCH_PLACE, "there is no such place on the guitar")
    elif (given := _what_sounds(note, tuning)) is None:
        yield _witness(arrangement, note, Breach.NO_NODE, "touched there the string has no harmonic")
    elif given != note.pitch.midi:
        sounding = f"the place gives MIDI note {given}, not {note.pitch.midi}"
        yield _witness(arrangement, note, Breach.WRONG_PITCH, sounding)
    if note.place.is_open is not (note.finger is Finger.OPEN):
        said = f"finger {note.finger} is written at an open string or none at a stopped one"
        yield _witness(arrangement, note, Breach.FINGER_AND_PLACE, said)


def _what_sounds(note: Note, tuning: Tuning) -> int | None:
    """The MIDI note of a place, stopped or touched; None where a touched string has no node."""
    if not note.is_harmonic:
        return tuning.note_at(note.place)
    parts = count_parts(note.place.fret)
    return None if parts is None else tuning.open_note(note.place.string) + round(12 * log2(parts))


def count_parts(fret: Fret) -> int | None:
    """Into how many equal parts a finger over a fret's wire divides the string; None into none that sound."""
    touched = 1 - 2 ** (-fret / 12)
    for parts in range(2, HIGHEST_PARTS + 1):
        nodes = (k / parts for k in range(1, parts) if gcd(k, parts) == 1)
        if any(abs(touched - node) < NODE_TOLERANCE for node in nodes):
            return parts
    return None


def _exists(note: Note, tuning: Tuning, capo: int) -> bool:
    place = note.place
    return 1 <= place.string <= len(tuning.open_strings) and 0 <= place.fret <= LAST_FRET - capo


def _witness(arrangement: Arrangement, note: Note, breach: Breach, fault: str) -> Witness:
    return show_breach(arrangement.bars, breach, note.span, f"{name_note(note)}: {fault}", notes=(note,))
