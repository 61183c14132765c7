"""One plucked note by what it is: which string, how tuned, stopped where, plucked how.

Conventions: samples are float32 between -1 and 1 at ``SAMPLE_RATE_HZ``, one row a channel.
"""

from dataclasses import dataclass
from enum import StrEnum
from math import log2
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from apoyando.model.instrument import StringNumber
from apoyando.model.pitch import MidiNote

Floats: TypeAlias = NDArray[np.float64]
Sound: TypeAlias = NDArray[np.float32]

SAMPLE_RATE_HZ = 48_000
"""The rate for which ITU-R BS.1770 tables its filters."""
CONCERT_A_HZ = 440.0
"""ISO 16."""
CONCERT_A = 69


class Stroke(StrEnum):
    """How the string is plucked.

    Rest stroke (apoyando): the finger goes through the string towards the soundboard and comes
    to rest on the next. Free stroke (tirando): it leaves over it. The thumb plucks freely with its
    flesh.
    """

    REST = "rest"
    FREE = "free"
    THUMB = "thumb"


@dataclass(frozen=True, slots=True, order=True)
class Sample:
    """A note to be plucked. ``fret`` counts from the nut: that of the capo is in it.

    ``is_open``: no finger lies on the string; with a capo the fret is not 0 then. ``parts``: a finger
    touches it where it is so divided, and goes; the fret is that of the open string then.
    """

    string: StringNumber
    open_note: MidiNote
    fret: int
    stroke: Stroke
    is_open: bool = False
    parts: int = 1

    @property
    def pitch(self) -> MidiNote:
        """The nearest note of equal temperament."""
        return MidiNote(self.open_note + self.fret + harmonic_interval(self.parts))

    @property
    def open_hz(self) -> float:
        return note_hz(self.open_note)

    @property
    def string_hz(self) -> float:
        """Of the first partial of the sounding length, whether it sounds or is touched away."""
        return note_hz(self.open_note + self.fret)

    @property
    def pitch_hz(self) -> float:
        """What is heard as its pitch: of a touched string so many times the first partial."""
        return self.string_hz * self.parts

    @property
    def name(self) -> str:
        """For files and tables, told apart from all others: ``s2-f3-n62-rest``."""
        where = f"s{self.string}-f{self.fret}-n{self.pitch}-{self.stroke}"
        where = f"{where}-open" if self.is_open and self.fret else where
        return where if self.parts == 1 else f"{where}-in{self.parts}"


def harmonic_interval(parts: int) -> int:
    """How many semitones a string that is touched into so many parts sounds above itself."""
    return round(12 * log2(parts))


def note_hz(note: float) -> float:
    """Equal temperament from the a' of ISO 16."""
    return float(CONCERT_A_HZ * 2.0 ** ((note - CONCERT_A) / 12.0))


def from_db(level_db: float) -> float:
    """A level as a factor."""
    return float(10.0 ** (level_db / 20.0))
