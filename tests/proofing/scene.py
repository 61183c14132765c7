"""Songs and levels for the tests of the proofing room."""

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from typing import Any

from apoyando.model.arrangement import Arrangement, Note, Role
from apoyando.model.hand import FINGER_PAIRS, Finger
from apoyando.model.instrument import Fret, Place, StringNumber
from apoyando.model.level import BarreKind, Level, SpanLimit
from apoyando.model.song import MelodyNote, Song
from apoyando.proofing import Breach, Proof, Refutation, Witness
from builders import make_arrangement, make_note


def make_level(outermost: Mapping[tuple[int, int], float] | None = None, **limits: Any) -> Level:
    """The intermediate level of the project's own table (levels.md), or with other limits."""
    spans = {(1, 2): 69.0, (2, 3): 56.0, (3, 4): 56.0, (1, 3): 82.0, (2, 4): 73.0, (1, 4): 104.0}
    spans.update(outermost or {})
    fields: dict[str, Any] = {
        "name": "intermediate",
        "accompaniment_highest_fret": 7,
        "melody_highest_fret": 9,
        "peak_fret": 12,
        "barre_quarters": Fraction(2),
        "shift_frets": 5,
        "accompaniment_shortest": Fraction(1, 2),
        "melody_shortest": Fraction(1, 2),
        "struck_together": 3,
        "barre_kinds": (BarreKind.HALF, BarreKind.FULL),
        "barre_rest": Fraction(1),
        "shift_quarters": Fraction(1, 2),
        "melody_stepwise_shortest": Fraction(1, 4),
        "tempo_quarters_per_minute": 100,
        "strums": False,
        **limits,
    }
    table = {pair: SpanLimit(0.8 * spans[pair], spans[pair]) for pair in FINGER_PAIRS}
    return Level(spans=table, **fields)


INTERMEDIATE = make_level()


def with_sources(arrangement: Arrangement) -> Arrangement:
    """The same, each melody note naming its place in the melody as its source."""
    melody = sorted(arrangement.voice(Role.MELODY), key=lambda note: note.onset)
    sources = {id(note): index for index, note in enumerate(melody)}
    notes = tuple(replace(note, source=sources.get(id(note))) for note in arrangement.notes)
    return replace(arrangement, notes=notes)


def song_of(arrangement: Arrangement) -> Song:
    """The song that an untransposed arrangement was made from."""
    melody = sorted(arrangement.voice(Role.MELODY), key=lambda note: note.onset)
    return Song(
        title=arrangement.title,
        bars=arrangement.bars,
        melody=tuple(MelodyNote(span=note.span, pitch=note.pitch) for note in melody),
        harmony=arrangement.harmony,
    )


def change_note(arrangement: Arrangement, index: int, **changes: Any) -> Arrangement:
    notes = list(arrangement.notes)
    notes[index] = replace(notes[index], **changes)
    return replace(arrangement, notes=tuple(notes))


def stop(string: int, fret: int, finger: int, onset: int | str = 0, duration: int | str = 1) -> Note:
    """An inner note at a place, its pitch what the place gives; "barre" notes via ``in_barre``."""
    open_notes = (64, 59, 55, 50, 45, 40)
    names = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
    octave, pitch_class = divmod(open_notes[string - 1] + fret, 12)
    return make_note(
        Role.INNER, onset, duration, f"{names[pitch_class]}{octave - 1}", string=string, finger=finger
    )


def barre_note(
    string: int, fret: int, onset: int | str = 0, duration: int | str = 1, finger: int = 1
) -> Note:
    return replace(stop(string, fret, finger, onset, duration), in_barre=True)


def hand(*places: tuple[int, int, int]) -> Arrangement:
    """A hand that lies still for one quarter: (string, fret, finger) each."""
    return make_arrangement(stop(string, fret, finger) for string, fret, finger in places)


def place(string: int, fret: int) -> Place:
    return Place(StringNumber(string), Fret(fret))


def witnesses_of(answer: Proof | Refutation) -> tuple[Witness, ...]:
    return answer.witnesses if isinstance(answer, Refutation) else ()


def breaches_of(answer: Proof | Refutation) -> list[Breach]:
    return [witness.breach for witness in witnesses_of(answer)]


FINGERS = {0: Finger.OPEN, 1: Finger.INDEX, 2: Finger.MIDDLE, 3: Finger.RING, 4: Finger.LITTLE}
