"""Short ways to type guitar scores in tests.

A voice is a line of words, one note or chord each: ``"C3:1 E3+G3:2 r:1/2"``. A note may say
its fingering after ``@``: string, finger and plucking letter, ``C3@5.3p:1``, each of which may be left
out (``C3@5:1``, ``C3@.3:1``, ``C3@..p:1``).
"""

import re
from fractions import Fraction
from typing import Any

from apoyando.arranging import Fingered, finger_score
from apoyando.model.arrangement import Arrangement, Note
from apoyando.model.hand import Finger, Pluck
from apoyando.model.instrument import StringNumber
from apoyando.model.plan import Plan
from apoyando.model.score import Given, Score, ScoreNote
from apoyando.proofing import prove_fingering
from apoyando.reading import load_default_levels
from builders import make_bars, make_pitch, make_span

_WORD = re.compile(
    r"(?P<pitch>[A-G][#b]*\d)(?:@(?P<string>[1-6]?)\.?(?P<finger>[0-4]?)\.?(?P<pluck>[pima]?))?"
)


def make_score(*voices: str, meter: str = "4/4", **more: Any) -> Score:
    """A score in as many full bars as the longest voice needs."""
    notes = [note for number, text in enumerate(voices, 1) for note in _voice(number, text)]
    notes.sort(key=lambda note: (note.onset, -note.pitch.midi, note.voice))
    length = make_bars(1, meter)[0].duration
    bars = make_bars(-int(-max(note.offset for note in notes) // length), meter)
    fields: dict[str, Any] = {"title": "A Small Study", "bars": bars, "notes": tuple(notes)}
    return Score(**{**fields, **more})


def _voice(number: int, text: str) -> list[ScoreNote]:
    now = Fraction(0)
    notes: list[ScoreNote] = []
    for word in text.split():
        chord, length = word.rsplit(":", 1)
        if chord != "r":
            notes += [_note(number, one, now, length) for one in chord.split("+")]
        now += Fraction(length)
    return notes


def _note(voice: int, text: str, onset: Fraction, length: str) -> ScoreNote:
    said = _WORD.fullmatch(text)
    assert said, text
    return ScoreNote(
        span=make_span(onset, length),
        pitch=make_pitch(said["pitch"]),
        voice=voice,
        given=Given(
            string=StringNumber(int(said["string"])) if said["string"] else None,
            finger=Finger(int(said["finger"])) if said["finger"] else None,
            pluck=Pluck(said["pluck"]) if said["pluck"] else None,
        ),
    )


def finger(score: Score, level: str = "intermediate", **plan: Any) -> Arrangement:
    """The score fingered and proven against itself."""
    wishes = Plan(level=level, **plan)
    fingered = finger_score(score, wishes, load_default_levels())
    prove(fingered, score, wishes.hand_size)
    return fingered.arrangement


def prove(fingered: Fingered, score: Score, hand_size: float = 1.0) -> None:
    certificate = prove_fingering(fingered.arrangement, score, fingered.level, hand_size)
    assert certificate.is_proven, [witness.sentence for witness in certificate.witnesses]


def spell_places(arrangement: Arrangement) -> str:
    """Where each note is taken, in order of time from the lowest up: ``"C3@5.3 E3@4.2"``."""
    ordered = sorted(arrangement.notes, key=lambda note: (note.onset, note.pitch.midi))
    return " ".join(map(spell_place, ordered))


def spell_place(note: Note) -> str:
    return f"{note.pitch}@{note.place.string}.{note.finger:d}"
