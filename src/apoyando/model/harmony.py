"""Chords and harmony spans.

The chord vocabulary is the ``kind-value`` list of W3C MusicXML 4.0
(https://www.w3.org/2021/06/musicxml40/musicxml-reference/data-types/kind-value/);
each kind is spelled by degrees of the major scale on the root, so that the tones of a
chord come with their right names.
"""

from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from operator import attrgetter

from apoyando.model.pitch import PitchName
from apoyando.model.time import Span, Spanned


class ChordFunction(StrEnum):
    """What a tone is in its chord."""

    ROOT = "root"
    SECOND = "second"
    THIRD = "third"
    FOURTH = "fourth"
    FIFTH = "fifth"
    SIXTH = "sixth"
    SEVENTH = "seventh"
    NINTH = "ninth"
    ELEVENTH = "eleventh"
    THIRTEENTH = "thirteenth"
    BASS = "bass"


_FUNCTION_OF_DEGREE = {
    1: ChordFunction.ROOT,
    2: ChordFunction.SECOND,
    3: ChordFunction.THIRD,
    4: ChordFunction.FOURTH,
    5: ChordFunction.FIFTH,
    6: ChordFunction.SIXTH,
    7: ChordFunction.SEVENTH,
    9: ChordFunction.NINTH,
    11: ChordFunction.ELEVENTH,
    13: ChordFunction.THIRTEENTH,
}
_MAJOR_SCALE_FIFTHS = (0, 2, 4, -1, 1, 3, 5)

KIND_DEGREES: dict[str, tuple[tuple[int, int], ...]] = {
    "major": ((1, 0), (3, 0), (5, 0)),
    "minor": ((1, 0), (3, -1), (5, 0)),
    "augmented": ((1, 0), (3, 0), (5, 1)),
    "diminished": ((1, 0), (3, -1), (5, -1)),
    "dominant": ((1, 0), (3, 0), (5, 0), (7, -1)),
    "major-seventh": ((1, 0), (3, 0), (5, 0), (7, 0)),
    "minor-seventh": ((1, 0), (3, -1), (5, 0), (7, -1)),
    "diminished-seventh": ((1, 0), (3, -1), (5, -1), (7, -2)),
    "augmented-seventh": ((1, 0), (3, 0), (5, 1), (7, -1)),
    "half-diminished": ((1, 0), (3, -1), (5, -1), (7, -1)),
    "major-minor": ((1, 0), (3, -1), (5, 0), (7, 0)),
    "major-sixth": ((1, 0), (3, 0), (5, 0), (6, 0)),
    "minor-sixth": ((1, 0), (3, -1), (5, 0), (6, 0)),
    "dominant-ninth": ((1, 0), (3, 0), (5, 0), (7, -1), (9, 0)),
    "major-ninth": ((1, 0), (3, 0), (5, 0), (7, 0), (9, 0)),
    "minor-ninth": ((1, 0), (3, -1), (5, 0), (7, -1), (9, 0)),
    "dominant-11th": ((1, 0), (3, 0), (5, 0), (7, -1), (9, 0), (11, 0)),
    "major-11th": ((1, 0), (3, 0), (5, 0), (7, 0), (9, 0), (11, 0)),
    "minor-11th": ((1, 0), (3, -1), (5, 0), (7, -1), (9, 0), (11, 0)),
    "dominant-13th": ((1, 0), (3, 0), (5, 0), (7, -1), (9, 0), (11, 0), (13, 0)),
    "major-13th": ((1, 0), (3, 0), (5, 0), (7, 0), (9, 0), (11, 0), (13, 0)),
    "minor-13th": ((1, 0), (3, -1), (5, 0), (7, -1), (9, 0), (11, 0), (13, 0)),
    "suspended-second": ((1, 0), (2, 0), (5, 0)),
    "suspended-fourth": ((1, 0), (4, 0), (5, 0)),
    # The four below are named by function; the root given is the chord's own lowest letter,
    # as MusicXML writes them.
    "Neapolitan": ((1, 0), (3, 0), (5, 0)),
    "Italian": ((1, 0), (3, 0), (6, 1)),
    "French": ((1, 0), (3, 0), (4, 1), (6, 1)),
    "German": ((1, 0), (3, 0), (5, 0), (6, 1)),
    "pedal": ((1, 0),),
    "power": ((1, 0), (5, 0)),
    "Tristan": ((1, 0), (4, 1), (6, 1), (9, 1)),
}
"""Degrees of the major scale on the root, each with its alteration in semitones."""


class DegreeChange(StrEnum):
    """How a chord symbol departs from its kind (MusicXML ``degree-type``)."""

    ADD = "add"
    ALTER = "alter"
    SUBTRACT = "subtract"


@dataclass(frozen=True, slots=True)
class Degree:
    """One departure from the kind: ``add9``, ``b5``, ``no3``.

    ``alter`` is in semitones. For ADD it counts from the major-scale degree (the seventh
    from the minor seventh, as MusicXML has it); for ALTER from the tone of the kind.
    """

    value: int
    alter: int
    change: DegreeChange


@dataclass(frozen=True, slots=True)
class ChordTone:
    name: PitchName
    function: ChordFunction


@dataclass(frozen=True, slots=True, kw_only=True)
class Chord:
    """A chord symbol. ``kind`` is a key of KIND_DEGREES; ``text`` is what the source wrote."""

    root: PitchName
    kind: str
    degrees: tuple[Degree, ...] = ()
    bass: PitchName | None = None
    text: str = ""

    def is_same_as(self, other: "Chord") -> bool:
        """Whether both mean one chord, however the source wrote them."""
        return _meaning(self) == _meaning(other)

    def transposed(self, fifths: int) -> "Chord":
        """The same chord elsewhere; ``text`` is emptied, for it named the old root."""
        return Chord(
            root=self.root.transposed(fifths),
            kind=self.kind,
            degrees=self.degrees,
            bass=self.bass.transposed(fifths) if self.bass else None,
        )


_meaning = attrgetter("root", "kind", "degrees", "bass")


class ChordOrigin(StrEnum):
    """Who says so: the source, our analysis of its notes, or the player's plan."""

    WRITTEN = "written"
    FOUND = "found"
    PLAYER = "player"


@dataclass(frozen=True, slots=True)
class HarmonySpan(Spanned):
    """The time for which one chord lasts. ``chord`` is None where none is wanted (N.C.)."""

    span: Span
    chord: Chord | None
    origin: ChordOrigin = ChordOrigin.WRITTEN


def chord_degrees(chord: Chord) -> dict[int, int]:
    """The degrees of a chord, each with its alteration from the major scale on the root."""
    degrees = dict(KIND_DEGREES[chord.kind])
    for degree in chord.degrees:
        if degree.change is DegreeChange.SUBTRACT:
            degrees.pop(degree.value, None)
        elif degree.change is DegreeChange.ALTER:
            degrees[degree.value] = degrees.get(degree.value, 0) + degree.alter
        else:
            unaltered = -1 if degree.value == 7 else 0  # noqa: PLR2004 - the added seventh is minor
            degrees[degree.value] = unaltered + degree.alter
    return degrees


@lru_cache(maxsize=512)
def chord_tones(chord: Chord) -> tuple[ChordTone, ...]:
    """The tones of a chord from the root up, the slash bass last if it is not among them."""
    tones = [
        ChordTone(_degree_name(chord.root, value, alter), _function(value))
        for value, alter in sorted(chord_degrees(chord).items())
    ]
    if chord.bass and chord.bass.pitch_class not in {tone.name.pitch_class for tone in tones}:
        tones.append(ChordTone(chord.bass, ChordFunction.BASS))
    return tuple(tones)


def _degree_name(root: PitchName, value: int, alter: int) -> PitchName:
    return root.transposed(_MAJOR_SCALE_FIFTHS[(value - 1) % 7] + 7 * alter)


def _function(value: int) -> ChordFunction:
    return _FUNCTION_OF_DEGREE.get(value) or _FUNCTION_OF_DEGREE[(value - 1) % 7 + 1]
