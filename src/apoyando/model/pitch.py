"""Pitch with its spelling, and keys.

Conventions: MIDI note 60 is C4 (middle C). All pitches inside the program are sounding
pitches; the octave between sound and guitar notation is the engraver's business.
Spelling is reckoned on the line of fifths (… B♭ = -2, F = -1, C = 0, G = 1, D = 2 …),
where transposing is one addition and F sharp never turns into G flat by accident.
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import NewType

MidiNote = NewType("MidiNote", int)
"""A MIDI note number, 0..127; 60 is middle C (MIDI 1.0 specification)."""


class Step(StrEnum):
    """A letter of the staff."""

    C = "C"
    D = "D"
    E = "E"
    F = "F"
    G = "G"
    A = "A"
    B = "B"


STEPS: tuple[Step, ...] = tuple(Step)
NATURAL_SEMITONES = {Step.C: 0, Step.D: 2, Step.E: 4, Step.F: 5, Step.G: 7, Step.A: 9, Step.B: 11}
_STEPS_BY_FIFTHS = (Step.F, Step.C, Step.G, Step.D, Step.A, Step.E, Step.B)
_ENHARMONIC_FIFTHS = 12
"""So far apart on the line of fifths two names sound alike: F sharp and G flat."""
ALTER_SIGNS = {-3: "bbb", -2: "bb", -1: "b", 0: "", 1: "#", 2: "##", 3: "###"}


@dataclass(frozen=True, slots=True)
class PitchName:
    """A spelled pitch class: a letter and its alteration in semitones (sharp +1)."""

    step: Step
    alter: int = 0

    @classmethod
    def from_fifths(cls, fifths: int) -> "PitchName":
        """The name at a place on the line of fifths (C = 0)."""
        alter, index = divmod(fifths + 1, 7)
        return cls(_STEPS_BY_FIFTHS[index], alter)

    @property
    def fifths(self) -> int:
        return _STEPS_BY_FIFTHS.index(self.step) - 1 + 7 * self.alter

    @property
    def pitch_class(self) -> int:
        """Semitones above C, 0..11."""
        return (NATURAL_SEMITONES[self.step] + self.alter) % 12

    def transposed(self, fifths: int) -> "PitchName":
        return PitchName.from_fifths(self.fifths + fifths)

    def plainer_by(self, most: int) -> int:
        """Fifths to the plainer name of the same sound, for one with more accidentals than ``most``; 0 for others."""
        if abs(self.alter) <= most:
            return 0
        return -_ENHARMONIC_FIFTHS if self.alter > 0 else _ENHARMONIC_FIFTHS

    def __str__(self) -> str:
        return f"{self.step}{ALTER_SIGNS.get(self.alter, f'({self.alter:+d})')}"


@dataclass(frozen=True, slots=True)
class Pitch:
    """A sounding pitch with its spelling. C4 is middle C."""

    name: PitchName
    octave: int

    @classmethod
    def of(cls, step: str, alter: int, octave: int) -> "Pitch":
        return cls(PitchName(Step(step), alter), octave)

    @classmethod
    def at(cls, name: PitchName, midi: int) -> "Pitch":
        """The pitch with this name that sounds as MIDI note ``midi``.

        Raises ValueError if the name does not belong to that note.
        """
        octave, remainder = divmod(midi - NATURAL_SEMITONES[name.step] - name.alter, 12)
        if remainder:
            message = f"MIDI note {midi} cannot be spelled {name}"
            raise ValueError(message)
        return cls(name, octave - 1)

    @property
    def midi(self) -> MidiNote:
        return MidiNote(12 * (self.octave + 1) + NATURAL_SEMITONES[self.name.step] + self.name.alter)

    @property
    def staff_height(self) -> int:
        """Steps of the staff above C0: a second is one, an octave seven."""
        return 7 * self.octave + STEPS.index(self.name.step)

    def transposed(self, interval: "Interval") -> "Pitch":
        return Pitch.at(self.name.transposed(interval.fifths), self.midi + interval.semitones)

    def __str__(self) -> str:
        return f"{self.name}{self.octave}"


FLATTEST_CHROMATIC = -3
"""From a signature's place on the line of fifths to the flattest name of its chromatic scale: in C, E flat."""


def move_chromatically(pitch: Pitch, semitones: int, fifths: int) -> Pitch:
    """A pitch so many semitones higher, by its name in the chromatic scale of a signature.

    By whole octaves the name stays.
    """
    midi = pitch.midi + semitones
    if semitones % 12 == 0:
        return Pitch.at(pitch.name, midi)
    names = (PitchName.from_fifths(fifths + FLATTEST_CHROMATIC + place) for place in range(12))
    return Pitch.at(next(name for name in names if name.pitch_class == midi % 12), midi)


@dataclass(frozen=True, slots=True)
class Interval:
    """A transposition: so many places on the line of fifths, so many semitones.

    Law: ``7 * fifths`` and ``semitones`` agree modulo 12.
    """

    fifths: int
    semitones: int

    def __post_init__(self) -> None:
        if (7 * self.fifths - self.semitones) % 12:
            message = f"{self.fifths} fifths never make {self.semitones} semitones"
            raise ValueError(message)


UNISON = Interval(0, 0)


class Mode(StrEnum):
    """The modes a key signature can carry (MusicXML ``mode``, ABC ``K:``)."""

    MAJOR = "major"
    MINOR = "minor"
    IONIAN = "ionian"
    DORIAN = "dorian"
    PHRYGIAN = "phrygian"
    LYDIAN = "lydian"
    MIXOLYDIAN = "mixolydian"
    AEOLIAN = "aeolian"
    LOCRIAN = "locrian"


_TONIC_ABOVE_SIGNATURE = {
    Mode.MAJOR: 0,
    Mode.IONIAN: 0,
    Mode.MIXOLYDIAN: 1,
    Mode.DORIAN: 2,
    Mode.MINOR: 3,
    Mode.AEOLIAN: 3,
    Mode.PHRYGIAN: 4,
    Mode.LOCRIAN: 5,
    Mode.LYDIAN: -1,
}


MOST_FIFTHS = 7
"""Sharps or flats of a signature: a staff has no more."""


@dataclass(frozen=True, slots=True)
class Key:
    """A key signature (sharps positive, flats negative) and its mode."""

    fifths: int
    mode: Mode = Mode.MAJOR

    @property
    def tonic(self) -> PitchName:
        return PitchName.from_fifths(self.fifths + _TONIC_ABOVE_SIGNATURE[self.mode])

    def transposed(self, fifths: int) -> "Key":
        return Key(self.fifths + fifths, self.mode)

    def __str__(self) -> str:
        return f"{self.tonic} {self.mode}"
