"""Each note by itself: the place exists, it gives the pitch, and the finger fits it."""

from collections.abc import Iterator

from apoyando.model.arrangement import Arrangement, Note
from apoyando.model.hand import Finger
from apoyando.model.instrument import LAST_FRET, Tuning
from apoyando.proofing.certificate import Breach, Proof, Refutation, Rule, Witness, decide
from apoyando.proofing.wording import name_note, show_breach


def prove_pitches(arrangement: Arrangement) -> Proof | Refutation:
    """Every note's place gives its pitch in the tuning.

    Also: the string and the fret exist (with a capo fewer frets remain), and open strings
    take finger 0 and nothing else does.
    """
    proof = Proof(rule=Rule.PITCHES, notes_checked=len(arrangement.notes))
    return decide(proof, (witness for note in arrangement.notes for witness in _faults(arrangement, note)))


def _faults(arrangement: Arrangement, note: Note) -> Iterator[Witness]:
    tuning = arrangement.tuning
    if not _exists(note, tuning, arrangement.capo):
        yield _witness(arrangement, note, Breach.NO_SUCH_PLACE, "there is no such place on the guitar")
    elif tuning.note_at(note.place) != note.pitch.midi:
        sounding = f"the place gives MIDI note {tuning.note_at(note.place)}, not {note.pitch.midi}"
        yield _witness(arrangement, note, Breach.WRONG_PITCH, sounding)
    if note.place.is_open is not (note.finger is Finger.OPEN):
        said = f"finger {note.finger} is written at an open string or none at a stopped one"
        yield _witness(arrangement, note, Breach.FINGER_AND_PLACE, said)


def _exists(note: Note, tuning: Tuning, capo: int) -> bool:
    place = note.place
    return 1 <= place.string <= len(tuning.open_strings) and 0 <= place.fret <= LAST_FRET - capo


def _witness(arrangement: Arrangement, note: Note, breach: Breach, fault: str) -> Witness:
    return show_breach(arrangement.bars, breach, note.span, f"{name_note(note)}: {fault}", notes=(note,))
