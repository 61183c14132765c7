"""One plucked note by what it is: which string, how tuned, stopped where, plucked how.

Conventions: samples are float32 between -1 and 1 at ``SAMPLE_RATE_HZ``, one row a channel.
"""

from dataclasses import dataclass
from enum import StrEnum
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

    ``is_open``: no finger lies on the string; with a capo the fret is not 0 then.
    """

    string: StringNumber
    open_note: MidiNote
    fret: int
    stroke: Stroke
    is_open: bool = False

    @property
    def pitch(self) -> MidiNote:
        return MidiNote(self.open_note + self.fret)

    @property
    def open_hz(self) -> float:
        return note_hz(self.open_note)

    @property
    def pitch_hz(self) -> float:
        return note_hz(self.pitch)

    @property
    def name(self) -> str:
        """For files and tables, told apart from all others: ``s2-f3-n62-rest``."""
        where = f"s{self.string}-f{self.fret}-n{self.pitch}-{self.stroke}"
        return f"{where}-open" if self.is_open and self.fret else where


def note_hz(note: float) -> float:
    """Equal temperament from the a' of ISO 16."""
    return float(CONCERT_A_HZ * 2.0 ** ((note - CONCERT_A) / 12.0))


def from_db(level_db: float) -> float:
    """A level as a factor."""
    return float(10.0 ** (level_db / 20.0))
