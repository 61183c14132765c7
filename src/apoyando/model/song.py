"""A song as it was read: melody, harmony, form.

Conventions: onsets are counted from the start of the first written bar (which may be a
pickup), in quarters; the form (repeats, endings, jumps) is kept as written, not played
out. The melody has no ties: a tied note is one note. Rests are where no note sounds.
"""

from bisect import bisect_right
from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction
from itertools import accumulate
from operator import attrgetter

from apoyando.model.harmony import HarmonySpan
from apoyando.model.pitch import Key, Pitch
from apoyando.model.time import Quarters, Span, Spanned


@dataclass(frozen=True, slots=True)
class Meter:
    """A time signature. ``symbol`` is "common", "cut" or "" (plain figures).

    ``groups``: how the source says that the beats fall into groups, as in 3+2; () where it does not.
    Law: at least two, none empty, ``beats`` in all.
    """

    beats: int
    beat_unit: int
    symbol: str = ""
    groups: tuple[int, ...] = ()

    @property
    def bar_length(self) -> Quarters:
        return Fraction(4 * self.beats, self.beat_unit)

    @property
    def is_compound(self) -> bool:
        """6/8, 9/8, 12/8 …: the pulse is three of the written unit."""
        return self.beat_unit >= 8 and self.beats % 3 == 0 and self.beats > 3  # noqa: PLR2004

    @property
    def pulse(self) -> Quarters:
        """The length of one felt pulse: a dotted unit in compound meters."""
        unit = Fraction(4, self.beat_unit)
        return 3 * unit if self.is_compound else unit

    @property
    def is_uneven(self) -> bool:
        """5/8, 7/8, 11/8 …: what is felt are groups of twos and threes of a short unit."""
        return self.beat_unit >= 8 and self.beats > 3 and self.beats % 2 == 1 and not self.is_compound  # noqa: PLR2004

    @property
    def group_onsets(self) -> tuple[Quarters, ...]:
        """Where its groups begin, in quarters from the downbeat; as the source has them, else as is usual."""
        counts = self.groups or group_beats(self.beats)
        starts = accumulate(counts, initial=0)
        return tuple(Fraction(4 * start, self.beat_unit) for start, _ in zip(starts, counts, strict=False))

    def __str__(self) -> str:
        return f"{self.beats}/{self.beat_unit}"


def group_beats(count: int) -> tuple[int, ...]:
    """How so many beats fall into groups where nothing says it: 4 -> 2 2, 6 -> 3 3, 5 -> 3 2, 7 -> 2 2 3.

    Odd counts fall into twos and a three, which comes last but in five (common practice, no source).
    """
    if count <= 3:  # noqa: PLR2004
        return (1,) * count
    if count % 3 == 0:
        threes = count // 3
        return (count // 2,) * 2 if threes % 2 == 0 else (3,) * threes
    if count & (count - 1) == 0:
        return (count // 2,) * 2
    if count == 5:  # noqa: PLR2004
        return (3, 2)
    return (2,) * (count // 2) if count % 2 == 0 else (*(2,) * ((count - 3) // 2), 3)


class Barline(StrEnum):
    """What stands at the end of a bar, besides a repeat."""

    REGULAR = "regular"
    DOUBLE = "double"
    FINAL = "final"


class Jump(StrEnum):
    """Marks of the form that are not repeats."""

    SEGNO = "segno"
    CODA = "coda"
    TO_CODA = "to coda"
    FINE = "fine"
    DA_CAPO = "da capo"
    DAL_SEGNO = "dal segno"


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar(Spanned):
    """One written bar. Its span is what it really holds (a pickup holds less).

    ``number`` is the printed number ("0" for a pickup). ``endings`` are the passes for
    which the bar is played, empty if for all; ``ending_stops`` closes the bracket here.
    ``repeat_times`` is how often the repeated stretch that ends here is played in all
    (0: no repeat ends here); ``repeats_after_jump``: after D.C. and D.S. too. SEGNO and CODA
    stand at the bar's start, the other jumps at its end; ``jump_words`` is how the source words
    them, if it does.
    """

    index: int
    number: str
    span: Span
    meter: Meter
    key: Key
    is_pickup: bool = False
    starts_repeat: bool = False
    repeat_times: int = 0
    repeats_after_jump: bool = False
    endings: tuple[int, ...] = ()
    ending_stops: bool = False
    barline: Barline = Barline.REGULAR
    jumps: tuple[Jump, ...] = ()
    jump_words: str = ""
    section: str = ""

    @property
    def meter_phase(self) -> Quarters:
        """Where in the meter the bar begins: 0, or later for a pickup."""
        return self.meter.bar_length - self.span.duration if self.is_pickup else Fraction(0)


@dataclass(frozen=True, slots=True)
class Lyric:
    """A syllable. ``syllabic`` is MusicXML's: single, begin, middle or end.

    ``is_held``: the source says that it is sung on over the notes after its own.
    """

    verse: int
    text: str
    syllabic: str = "single"
    is_held: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class MelodyNote(Spanned):
    """One sung note, sounding pitch, ties merged."""

    span: Span
    pitch: Pitch
    lyrics: tuple[Lyric, ...] = ()
    has_fermata: bool = False


@dataclass(frozen=True, slots=True)
class ReadingRemark:
    """Something the reader set right or left out; never silent. ``bar`` is a printed number."""

    bar: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MelodySource:
    """From where in the source the melody was taken: ``name`` is one of ``choices``, ``reason`` says why."""

    name: str
    reason: str
    choices: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Song:
    """A lead sheet, understood.

    Laws: bars follow each other without gap from 0; melody notes are in order, do not
    overlap and lie within the bars; harmony spans are in order, do not overlap, and may
    leave gaps (nothing is said there). ``melody_source`` is None where there was nothing
    to choose from.
    """

    title: str
    bars: tuple[Bar, ...]
    melody: tuple[MelodyNote, ...]
    harmony: tuple[HarmonySpan, ...]
    composer: str = ""
    lyricist: str = ""
    rights: str = ""
    tempo_quarters_per_minute: Fraction | None = None
    tempo_words: str = ""
    remarks: tuple[ReadingRemark, ...] = field(default=())
    melody_source: MelodySource | None = None

    @property
    def key(self) -> Key:
        return self.bars[0].key

    @property
    def duration(self) -> Quarters:
        return self.bars[-1].offset

    def bar_at(self, moment: Quarters) -> Bar:
        """The bar in which a moment lies; the last one for the very end."""
        return bar_at(self.bars, moment)


_onset = attrgetter("onset")


def bar_at(bars: tuple[Bar, ...], moment: Quarters) -> Bar:
    """The bar in which a moment lies; the last one for the very end."""
    return bars[bisect_right(bars, moment, lo=1, key=_onset) - 1]


DEFAULT_TEMPO_QUARTERS_PER_MINUTE = Fraction(96)
"""Where a source names no tempo (common practice, no source)."""
