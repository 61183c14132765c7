"""The guitar: strings, frets, tunings, and where things lie in millimetres.

Conventions: strings are numbered 1 (highest) to 6; fret 0 is the open string; with a
capo, frets are counted from the capo. Lengths are in millimetres, x along the strings
from the nut (or capo), y across them from string 6 towards string 1.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from math import log2
from types import MappingProxyType
from typing import NewType

from apoyando.model.pitch import MidiNote

StringNumber = NewType("StringNumber", int)
Fret = NewType("Fret", int)

STRINGS: tuple[StringNumber, ...] = tuple(StringNumber(number) for number in range(1, 7))
OPEN = Fret(0)
LAST_FRET = Fret(19)
"""Frets of a full-size classical guitar (common practice, no source)."""

SCALE_LENGTH_MM = 650.0
NUT_SPREAD_MM = 43.0
BRIDGE_SPREAD_MM = 58.0
"""Distance between the outer strings (typical of makers' tables; common practice, no source)."""

CONTACT_BEHIND_FRET = 0.25
"""A finger tip lies this share of the fret's width behind the wire (estimate, no source)."""


NODES: Mapping[Fret, int] = MappingProxyType(
    {Fret(fret): parts for fret, parts in ((12, 2), (7, 3), (19, 3), (5, 4), (9, 5), (4, 5), (16, 5))}
)
"""Where a touched string gives a natural harmonic: over the wire of this fret, or close by it, lies a node that
divides the string into so many parts, all of which sound as one (physics of the string; within 1 % of its length)."""


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """A place on the fingerboard."""

    string: StringNumber
    fret: Fret

    @property
    def is_open(self) -> bool:
        return self.fret == OPEN

    def __str__(self) -> str:
        where = "open" if self.is_open else f"fret {self.fret}"
        return f"string {self.string} {where}"


@dataclass(frozen=True, slots=True)
class Tuning:
    """Open strings as MIDI notes, string 1 first."""

    name: str
    open_strings: tuple[MidiNote, ...]

    def open_note(self, string: StringNumber) -> MidiNote:
        return self.open_strings[string - 1]

    def note_at(self, place: Place) -> MidiNote:
        return MidiNote(self.open_note(place.string) + place.fret)

    def harmonic_at(self, place: Place) -> MidiNote | None:
        """What sounds where the string is touched and not pressed; None where no harmonic lies.

        The nearest semitone: a third of the string sounds 2 cents above it, a fifth 14 below.
        """
        parts = NODES.get(place.fret)
        return None if parts is None else MidiNote(self.open_note(place.string) + round(12 * log2(parts)))

    def harmonic_places(self, note: MidiNote, highest_fret: int = LAST_FRET) -> tuple[Place, ...]:
        """Every place where a note can be touched: the surest harmonics first, then string 1 first."""
        places = (Place(string, fret) for fret in NODES for string in STRINGS if fret <= highest_fret)
        return tuple(place for place in places if self.harmonic_at(place) == note)

    @lru_cache  # noqa: B019 - tunings are few
    def places(self, note: MidiNote, highest_fret: int = LAST_FRET) -> tuple[Place, ...]:
        """Every place where a note can be stopped, string 1 first."""
        return tuple(
            Place(string, Fret(note - self.open_note(string)))
            for string in STRINGS
            if 0 <= note - self.open_note(string) <= highest_fret
        )


def _tuning(name: str, *notes: int) -> Tuning:
    return Tuning(name, tuple(MidiNote(note) for note in notes))


STANDARD_TUNING = _tuning("standard", 64, 59, 55, 50, 45, 40)
DROP_D_TUNING = _tuning("drop-d", 64, 59, 55, 50, 45, 38)
TUNINGS: dict[str, Tuning] = {t.name: t for t in (STANDARD_TUNING, DROP_D_TUNING)}


def fret_distance_mm(fret: int, scale_length_mm: float = SCALE_LENGTH_MM) -> float:
    """From the nut to a fret's wire by equal temperament: L (1 - 2^(-n/12))."""
    return float(scale_length_mm * (1.0 - 2.0 ** (-fret / 12.0)))


def contact_point_mm(place: Place) -> tuple[float, float]:
    """(x, y) of a finger tip at a stopped place."""
    wire = fret_distance_mm(place.fret)
    x = wire - CONTACT_BEHIND_FRET * (wire - fret_distance_mm(place.fret - 1))
    spread = NUT_SPREAD_MM + (BRIDGE_SPREAD_MM - NUT_SPREAD_MM) * x / SCALE_LENGTH_MM
    return x, spread * (3.5 - place.string) / 5.0


def touch_point_mm(place: Place) -> tuple[float, float]:
    """(x, y) of a finger tip that touches a node: over the wire, not behind it."""
    x = fret_distance_mm(place.fret)
    spread = NUT_SPREAD_MM + (BRIDGE_SPREAD_MM - NUT_SPREAD_MM) * x / SCALE_LENGTH_MM
    return x, spread * (3.5 - place.string) / 5.0


def distance_mm(one: Place, other: Place) -> float:
    """Between two finger tips, straight across the fingerboard."""
    (x1, y1), (x2, y2) = contact_point_mm(one), contact_point_mm(other)
    return float(((x1 - x2) ** 2 + (y1 - y2) ** 2) ** 0.5)
