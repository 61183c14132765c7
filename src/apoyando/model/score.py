"""A guitar score as it was read: every note in its voice, and what of its fingering is written.

Conventions: as in ``Song``: onsets in quarters from the start of the first written bar,
the form as written, ties merged. Pitches are those that the strings give without a capo,
as in ``Arrangement``.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction

from apoyando.model.arrangement import Role
from apoyando.model.dynamics import Dynamic
from apoyando.model.hand import Finger, Pluck
from apoyando.model.harmony import HarmonySpan
from apoyando.model.instrument import Fret, StringNumber, Tuning
from apoyando.model.pitch import Key, Pitch
from apoyando.model.song import Bar, Lyric, ReadingRemark
from apoyando.model.time import Quarters, Span, Spanned


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """What a score says of the hands for one note; None where it says nothing.

    ``is_guided``: its finger comes along the string, or does not.
    """

    string: StringNumber | None = None
    fret: Fret | None = None
    finger: Finger | None = None
    pluck: Pluck | None = None
    is_guided: bool | None = None

    @property
    def says_left_hand(self) -> bool:
        return (self.string, self.fret, self.finger) != (None, None, None)


NOTHING_GIVEN = Given()


@dataclass(frozen=True, slots=True, kw_only=True)
class ScoreNote(Spanned):
    """One note to be fingered. ``voice`` counts from 1 in the order of the source.

    ``is_harmonic``: a natural harmonic; ``pitch`` is what sounds, ``given.fret`` where the string is touched.
    ``role`` is the part that the source names for it, None where it leaves that to the voices.
    ``lets_ring`` and ``has_hold_line``: as in ``Note``.
    """

    span: Span
    pitch: Pitch
    voice: int = 1
    given: Given = NOTHING_GIVEN
    lyrics: tuple[Lyric, ...] = ()
    has_fermata: bool = False
    is_rolled: bool = False
    is_harmonic: bool = False
    lets_ring: bool = False
    role: Role | None = None
    has_hold_line: bool | None = None


@dataclass(frozen=True, slots=True)
class WrittenBarre(Spanned):
    """A barre of finger 1 that the score names, from where it is laid until it is lifted."""

    fret: Fret
    span: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """Music for one guitar, understood.

    Laws: bars follow each other without gap from 0; notes are in order of onset, from the
    highest down, and lie within the bars; harmony spans are in order and may leave gaps.
    Two notes may begin together at one pitch: a unison written in two voices, which the
    guitar plays once. ``tuning`` is None where the score does not say it. ``barres`` are those that it names;
    where ``names_barres`` says so it names all that it means. ``diagrams`` are the moments of the chords whose
    shapes it draws. ``has_tablature``: some of it, or all, is written in tablature.
    """

    title: str
    bars: tuple[Bar, ...]
    notes: tuple[ScoreNote, ...]
    harmony: tuple[HarmonySpan, ...] = ()
    composer: str = ""
    lyricist: str = ""
    arranger: str = ""
    is_arranged: bool = False
    rights: str = ""
    tempo_quarters_per_minute: Fraction | None = None
    tempo_words: str = ""
    tuning: Tuning | None = None
    capo: int = 0
    has_tablature: bool = False
    dynamics: tuple[Dynamic, ...] = field(default=())
    barres: tuple[WrittenBarre, ...] = field(default=())
    names_barres: bool = False
    diagrams: tuple[Quarters, ...] = field(default=())
    remarks: tuple[ReadingRemark, ...] = field(default=())

    @property
    def key(self) -> Key:
        return self.bars[0].key

    @property
    def duration(self) -> Quarters:
        return self.bars[-1].offset

    @property
    def voices(self) -> tuple[int, ...]:
        """The numbers of the voices that have notes, in order."""
        return tuple(sorted({note.voice for note in self.notes}))

    def in_voice(self, voice: int) -> Iterator[ScoreNote]:
        return (note for note in self.notes if note.voice == voice)

    def without_fingering(self) -> "Score":
        """The notes alone, to be fingered anew."""
        bare = tuple(replace(note, given=NOTHING_GIVEN) for note in self.notes)
        return replace(self, notes=bare, barres=(), names_barres=False)
