"""What every format is first read into, before it is settled into a ``Song``.

Conventions: as in ``Song``: onsets in quarters from the start of the first bar, sounding
pitches. A draft may still hold tied notes, stacked notes, several voices, and several
chord symbols at one moment; its bars are written as they stand in the source. A bar
``number`` of "" is for the settling to count.
"""

from dataclasses import dataclass, field
from fractions import Fraction

from apoyando.model.arrangement import Role
from apoyando.model.dynamics import Dynamic
from apoyando.model.harmony import Chord, ChordOrigin
from apoyando.model.instrument import Tuning
from apoyando.model.pitch import Pitch
from apoyando.model.score import NOTHING_GIVEN, Given, WrittenBarre
from apoyando.model.song import Bar, Lyric, Meter, ReadingRemark
from apoyando.model.time import Quarters, Span, Spanned

MIDI_RANGE = range(128)
"""The notes that there are (MIDI 1.0)."""
LONGEST_NOTE_QUARTERS = 64
LONGEST_BAR_QUARTERS = 256
SLOWEST_TEMPO, FASTEST_TEMPO = Fraction(5), Fraction(1000)
"""Quarters per minute: slower or faster is no music."""
MOST_BARS = 5000
MOST_NOTES = 100_000
"""No song that a guitarist is asked for comes near these; beyond them a file is damaged or hostile."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DraftNote:
    """A written note head. ``ties_on``: a tie leaves it; ``ties_back``: a tie reaches it.

    ``is_tablature``: it stands in tablature, which may only repeat what another staff says.
    """

    onset: Quarters
    duration: Quarters
    pitch: Pitch
    voice: str = ""
    lyrics: tuple[Lyric, ...] = ()
    has_fermata: bool = False
    ties_on: bool = False
    ties_back: bool = False
    is_rolled: bool = False
    is_harmonic: bool = False
    lets_ring: bool = False
    is_tablature: bool = False
    role: Role | None = None
    given: Given = NOTHING_GIVEN

    @property
    def offset(self) -> Quarters:
        return self.onset + self.duration


@dataclass(frozen=True, slots=True)
class DraftChord:
    """A chord symbol at a moment; None for N.C. ``has_diagram``: its shape is drawn there."""

    onset: Quarters
    chord: Chord | None
    origin: ChordOrigin = ChordOrigin.WRITTEN
    has_diagram: bool = False


@dataclass(frozen=True, slots=True)
class WrittenHold(Spanned):
    """A line over a stretch of time; ``y_tenths``: so high over the top line of the staff, if that is said."""

    span: Span
    y_tenths: Fraction | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """``double_bars_bound_repeats``: a repeat without a start goes back to a double bar (ABC).

    ``tuning``, ``capo`` and ``arranger`` are those of a score for guitar; a song has none. ``has_tablature``,
    ``is_arranged`` and ``names_barres``: as in ``Score``.
    """

    title: str
    bars: tuple[Bar, ...]
    notes: tuple[DraftNote, ...]
    chords: tuple[DraftChord, ...]
    composer: str = ""
    lyricist: str = ""
    rights: str = ""
    tempo_quarters_per_minute: Fraction | None = None
    tempo_words: str = ""
    remarks: tuple[ReadingRemark, ...] = field(default=())
    double_bars_bound_repeats: bool = False
    tuning: Tuning | None = None
    capo: int = 0
    has_tablature: bool = False
    arranger: str = ""
    is_arranged: bool = False
    dynamics: tuple[Dynamic, ...] = field(default=())
    barres: tuple[WrittenBarre, ...] = field(default=())
    names_barres: bool = False
    hold_lines: tuple[WrittenHold, ...] = field(default=())


def is_meter(beats: int, unit: int | None) -> bool:
    """Whether a meter of so many beats, each the so many-th of a whole note, can be meant."""
    return 1 <= beats <= _MOST_BEATS and unit in _BEAT_UNITS


_MOST_BEATS = 64
_BEAT_UNITS = (1, 2, 4, 8, 16, 32, 64)
"""No meter has more beats or shorter ones."""


def plausible_tempo(tempo: Fraction | None) -> Fraction | None:
    """None for a tempo that nobody can mean."""
    return tempo if tempo is not None and SLOWEST_TEMPO <= tempo <= FASTEST_TEMPO else None


def tell_odd_tempo(text: str) -> str:
    """What is told of a tempo, as it is written, that cannot be read or meant."""
    return f"The tempo {text[:20]} cannot be meant and is left out."


def free_meter(length: Quarters) -> Meter:
    """The meter of a bar that has none: as many quarters (or shorter units) as it holds."""
    unit = 4
    while (length * unit / 4).denominator > 1 and unit < 64:  # noqa: PLR2004 - sixty-fourths
        unit *= 2
    return Meter(max(1, round(length * unit / 4)), unit)
