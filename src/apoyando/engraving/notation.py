"""The piece as written signs: values, dots, ties, tuplets, beams.

An arrangement knows exact lengths; a page knows note values. ``notate`` goes from one to
the other, once, for MusicXML and for the printed page alike.

Conventions: three voices on one staff. Voice 1 melody, stems up; voice 2 the bass and
voice 3 the inner voice, stems down. In each bar the events of a voice follow each other
without gap and fill the bar. A ``Silence`` that is not ``is_shown`` takes its time but is
not printed.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from apoyando.model.arrangement import Arrangement, Note
from apoyando.model.song import Bar
from apoyando.model.time import Quarters


@dataclass(frozen=True, slots=True)
class NoteValue:
    """A written value: ``base`` is quarters of the undotted sign (4 = whole, 1/4 = sixteenth)."""

    base: Fraction
    dots: int = 0

    @property
    def quarters(self) -> Quarters:
        return self.base * (2 - Fraction(1, 2**self.dots))


@dataclass(frozen=True, slots=True)
class Tuplet:
    """``actual`` notes in the time of ``normal``: a triplet is 3:2. ``starts``/``stops``: bracket."""

    actual: int
    normal: int
    starts: bool = False
    stops: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Sounding:
    """One written note head. A long note may take several, tied together."""

    id: str
    note: Note
    onset: Quarters
    value: NoteValue
    tuplet: Tuplet | None
    is_tied_from_before: bool
    is_tied_to_next: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Silence:
    """A written rest, or a hidden one that only takes time."""

    id: str
    onset: Quarters
    value: NoteValue
    tuplet: Tuplet | None
    is_shown: bool


Event = Sounding | Silence


@dataclass(frozen=True, slots=True)
class NotatedBar:
    """One bar: for each voice number its events, and groups of event ids under one beam."""

    bar: Bar
    voices: Mapping[int, tuple[Event, ...]]
    beams: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class NotatedScore:
    arrangement: Arrangement
    bars: tuple[NotatedBar, ...]
