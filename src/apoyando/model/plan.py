"""The player's decisions for one song. Song + plan give the same output, byte for byte."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction

from apoyando.model.beat import name_count
from apoyando.model.locks import Lock
from apoyando.model.note_values import name_value
from apoyando.model.pitch import Key, Pitch
from apoyando.model.sheet import Sheet
from apoyando.model.time import Quarters


@dataclass(frozen=True, slots=True, kw_only=True)
class ChordChange:
    """A chord that the player has named: from this beat on to the next chord, whatever the song says.

    ``bar`` is the printed number, ``beat`` counts the felt pulse from 1, ``symbol`` is as
    people type chords ("Am7", "G/B", "N.C."). ``str`` is how a player would say it.
    """

    bar: str
    symbol: str
    beat: Fraction = Fraction(1)

    def __str__(self) -> str:
        return f"bar {self.bar}, beat {name_count(self.beat)}: {self.symbol}"


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteChange:
    """A note of the tune as the player would have it, whatever the song says.

    ``bar`` and ``beat`` are where it begins, as for chords. ``pitch`` is as the song sounds,
    ``length`` in quarters; None where they stay as they are. ``is_rest``: no note begins there.
    Law: a pitch, a length or a rest is given, and a rest has neither of the others.
    """

    bar: str
    beat: Fraction = Fraction(1)
    pitch: Pitch | None = None
    length: Quarters | None = None
    is_rest: bool = False

    def __str__(self) -> str:
        pitch = str(self.pitch) if self.pitch else ""
        length = name_value(self.length) if self.length else ""
        what = "no note" if self.is_rest else ", ".join(filter(None, (pitch, length)))
        return f"bar {self.bar}, beat {name_count(self.beat)}: {what}"


ARPEGGIO = "arpeggio"
TEXTURES = (
    "running-eighths",
    ARPEGGIO,
    "block-chords",
    "bass-and-chord",
    "alternating-bass",
    "bare",
    "sustained",
)
"""The textures that can be asked for."""
HIGHEST_CAPO = 9
"""Farther up no hand has room beside the body (common practice, no source)."""
INTRODUCTIONS = ("", "last-phrase", "dominant")
"""What may stand before the song: nothing, its last phrase, or two bars on the dominant."""
ENDINGS = ("", "fermata", "rolled-chord", "harmonics")
"""What the last chord may be: as written, held, rolled, or on natural harmonics."""


MOST_STEPS_EASIER = 5
"""The steps by which a bar is made easier, as docs/levels.md lists them."""


class Melody(StrEnum):
    """How the tune is treated. By the level: simplified where the level's table asks for it."""

    BY_LEVEL = "by-level"
    AS_WRITTEN = "as-written"
    SIMPLER = "simpler"


class Treatment(StrEnum):
    """What can be made simpler in a melody; ``docs/simpler.md`` says how."""

    ORNAMENTS = "ornaments"
    TRIPLETS = "triplets"
    RUNS = "runs"
    DOTTED = "dotted"
    SYNCOPATIONS = "syncopations"


TREATMENTS: tuple[Treatment, ...] = tuple(Treatment)


@dataclass(frozen=True, slots=True)
class Section:
    """Bars by their printed numbers, both included, and what is special in them.

    ``to_bar`` is "" for a single bar, ``texture`` where it is that of the piece. ``easier``: by so
    many steps of docs/levels.md they are made easier than they would be.
    Law: a texture or steps are given.
    """

    bar: str
    texture: str = ""
    to_bar: str = ""
    easier: int = 0

    def __str__(self) -> str:
        bars = f"bars {self.bar} to {self.to_bar}" if self.to_bar else f"bar {self.bar}"
        steps = f"easier by {self.easier}" if self.easier else ""
        return f"{bars}: {', '.join(filter(None, (self.texture, steps)))}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """What the player has decided; "" or None where the program may choose.

    ``key`` is a tonic as written ("G", "F#", "Bb"), that of the page; the mode is the song's.
    ``sounding`` is the tonic in which the piece must sound, "" where that is free: then a
    ``capo`` of 0 may be chosen too. ``tuning`` is the name of one.
    ``texture`` is that of the whole piece, "" for what suits its meter, tempo and level;
    ``sections`` have their own, of several on a bar the last.
    ``melody_octave`` shifts the melody by octaves from the source after the key is set
    (None: where it sings best). ``hand_size`` scales every span limit (1.0 = the table).
    ``same_fingering``: bars that come again are played as the first time. ``prices`` turns
    named prices up or down by a factor. ``locks`` are law. ``simplify`` is what may be made
    simpler in the melody where ``melody`` asks for it. ``part`` names the part that is the
    melody, by its name or its number; ``chords`` stand in place of what is written or found.
    ``written_key``, ``pickup`` (quarters before the first full bar, 0 for none; None as in the
    song) and ``notes`` put the song right as it was read.
    ``page`` is how the piece is put on paper.

    The form: ``introduction`` and ``ending`` are of the lists above; ``spell_out`` writes
    repeats and jumps out; ``minutes`` is the wanted time, which is neared by whole sections.
    """

    key: str = ""
    sounding: str = ""
    level: str = "intermediate"
    texture: str = ""
    sections: tuple[Section, ...] = ()
    tuning: str = "standard"
    capo: int = 0
    melody: Melody = Melody.BY_LEVEL
    simplify: tuple[Treatment, ...] = TREATMENTS
    melody_octave: int | None = None
    hand_size: float = 1.0
    same_fingering: bool = True
    introduction: str = ""
    ending: str = ""
    spell_out: bool = False
    minutes: float | None = None
    prices: Mapping[str, float] = field(default_factory=dict)
    locks: tuple[Lock, ...] = ()
    page: Sheet = field(default_factory=Sheet)
    part: str = ""
    written_key: Key | None = None
    pickup: Quarters | None = None
    notes: tuple[NoteChange, ...] = ()
    chords: tuple[ChordChange, ...] = ()
