"""A finished arrangement: every note with its place, its finger and its length.

Conventions: onsets in quarters from the start of the first bar, as in ``Song``. Pitches
are what the strings give without a capo: with a capo at fret n everything sounds n
semitones higher than ``pitch`` says. A note's span is its written length, and the string
and the finger stay for all of it.
"""

from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction

from apoyando.model.dynamics import Dynamic
from apoyando.model.form_steps import Form
from apoyando.model.hand import Finger, Pluck
from apoyando.model.harmony import HarmonySpan
from apoyando.model.instrument import STRINGS, Fret, Place, StringNumber, Tuning
from apoyando.model.pitch import Interval, Key, Pitch
from apoyando.model.song import Bar, Lyric
from apoyando.model.time import Quarters, Span, Spanned

AS_WRITTEN = "as written"
"""The texture of a piece that was fingered and not arranged."""

ARRANGED = "arr. for guitar"
"""What is printed of a piece that was arranged, where nobody is named for it."""


MELODY_ALONE = "melody alone"
"""The texture of a lead sheet that is drawn as it was read."""


class Role(StrEnum):
    """The three roles. Bass and inner voice together are the accompaniment."""

    MELODY = "melody"
    BASS = "bass"
    INNER = "inner"

    @property
    def is_accompaniment(self) -> bool:
        return self is not Role.MELODY


@dataclass(frozen=True, slots=True, kw_only=True)
class Note(Spanned):
    """One note to play.

    ``in_barre`` says that its finger stops it as part of a barre, for some of its span at
    least: a tip may be laid flat while its note lasts, or raised again.

    ``is_harmonic``: a natural harmonic. The finger does not press; it touches the string over the wire
    of ``place``, and ``pitch`` is what sounds then (``Tuning.harmonic_at``).

    ``lets_ring``: the source has an open tie after it, so that nobody ends it.

    ``is_guided``: its finger comes along the string, or does not, as the source says; None where it leaves
    that to the hand. ``has_hold_line``: the source prints a line that shows how long it is kept down, or
    does not; None where it leaves that to the page.

    ``source`` is the index of the melody note in the song it came from, laid out as the
    piece is, None for the accompaniment; in a score that was fingered, of any note among the
    score's notes. ``is_rolled``: it is struck with its chord one after another, from the lowest.
    """

    role: Role
    span: Span
    pitch: Pitch
    place: Place
    finger: Finger
    pluck: Pluck | None = None
    in_barre: bool = False
    source: int | None = None
    lyrics: tuple[Lyric, ...] = ()
    has_fermata: bool = False
    is_rolled: bool = False
    is_harmonic: bool = False
    lets_ring: bool = False
    is_guided: bool | None = None
    has_hold_line: bool | None = None

    def __hash__(self) -> int:
        """Of what tells notes apart: all of a note takes five times as long, and pages ask for it often."""
        onset, place = self.span.onset, self.place
        return hash((onset.numerator, onset.denominator, place.string, place.fret))


@dataclass(frozen=True, slots=True)
class Barre:
    """A finger laid flat at one fret, across the strings from the lowest-pitched to the highest.

    As a rule it is finger 1, and lies on up to string 1. A small barre is one of another
    finger, or of finger 1 short of string 1.
    """

    fret: Fret
    lowest_string: StringNumber
    span: Span
    highest_string: StringNumber = STRINGS[0]
    finger: Finger = Finger.INDEX

    @property
    def strings(self) -> range:
        """The strings that it covers."""
        return range(self.highest_string, self.lowest_string + 1)

    @property
    def is_full(self) -> bool:
        return len(self.strings) >= 5  # noqa: PLR2004 - five or six strings: written C, not half C

    @property
    def is_small(self) -> bool:
        return self.finger is not Finger.INDEX or self.highest_string > STRINGS[0]


@dataclass(frozen=True, slots=True)
class MelodyChange:
    """A change made to the melody, never silent. ``old`` and ``new`` in words for the player.

    Their pitches are those of the page, before a phrase is moved by octaves. ``until`` is None
    where one note has another octave and nothing else is changed; else all notes of the song
    that begin from ``onset`` to ``until`` are replaced by those of the arrangement.
    """

    bar: str
    onset: Quarters
    old: str
    new: str
    reason: str
    until: Quarters | None = None

    def covers(self, onset: Quarters) -> bool:
        """Whether a note that begins at a moment, in the song or in the piece, is changed by it."""
        return onset == self.onset if self.until is None else self.onset <= onset < self.until


class RelaxationStep(StrEnum):
    """What was given up, in the order in which it is given up.

    Two are nothing given up. BASS_LINE: another tone is in the bass because the line wants it there
    (a step, a pedal; ``docs/objective.md`` has the rules). LEVEL_KEPT: a stretch is played otherwise so
    that a limit of the level is kept; what was given up for it is listed by itself.
    """

    BAR_EASED = "bar made easier"
    LEVEL_KEPT = "played otherwise to keep to the level"
    INNER_DROPPED = "inner note left out"
    BASS_LINE = "other chord tone in the bass for the line"
    BASS_SHORTENED = "bass shortened"
    BASS_INVERSION = "other chord tone in the bass"
    BASS_OCTAVE = "bass in another octave"
    BASS_DROPPED = "bass left out"
    MELODY_OCTAVE = "melody phrase in another octave"
    MELODY_SHORTENED = "melody note shortened"
    FINGERING_LET_GO = "written fingering let go"
    OVER_LEVEL = "bar beyond the level"
    PLAYER_DECIDES = "for the player to decide"

    @property
    def is_given_up(self) -> bool:
        return self not in {RelaxationStep.BASS_LINE, RelaxationStep.LEVEL_KEPT}


@dataclass(frozen=True, slots=True)
class Relaxation:
    step: RelaxationStep
    bar: str
    onset: Quarters
    reason: str


@dataclass(frozen=True, slots=True)
class GivenUpHold:
    """A note written shorter than the music would have it, and who needed its finger or string."""

    bar: str
    onset: Quarters
    pitch: Pitch
    wanted_until: Quarters
    held_until: Quarters
    reason: str


@dataclass(frozen=True, slots=True)
class SearchSummary:
    """What the search can say of its own answer. Law: ``lower_bound <= price``."""

    price: float
    lower_bound: float
    is_optimal: bool


@dataclass(frozen=True, slots=True)
class TexturedBars:
    """Neighbouring bars in one texture, by their printed numbers, both included."""

    bar: str
    to_bar: str
    texture: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrangement:
    """The piece for one guitar.

    ``texture`` is that of the piece as a whole, ``sections`` tell it bar by bar; there are none
    of a score that was fingered. ``arranger`` is whom such a score names, ``diagrams``
    are the moments of the chords whose shapes it draws. ``is_arranged``: it was a song, or is a score that
    says so. ``form`` is None where the song's own form is kept as written.
    """

    title: str
    composer: str
    lyricist: str
    rights: str
    key: Key
    transposition: Interval
    tuning: Tuning
    capo: int
    level: str
    texture: str
    tempo_quarters_per_minute: Fraction
    tempo_words: str
    bars: tuple[Bar, ...]
    notes: tuple[Note, ...]
    barres: tuple[Barre, ...]
    harmony: tuple[HarmonySpan, ...]
    search: SearchSummary
    sections: tuple[TexturedBars, ...] = field(default=())
    melody_changes: tuple[MelodyChange, ...] = field(default=())
    relaxations: tuple[Relaxation, ...] = field(default=())
    given_up_holds: tuple[GivenUpHold, ...] = field(default=())
    form: Form | None = None
    dynamics: tuple[Dynamic, ...] = field(default=())
    arranger: str = ""
    is_arranged: bool = False
    diagrams: tuple[Quarters, ...] = field(default=())

    def voice(self, *roles: Role) -> tuple[Note, ...]:
        return tuple(note for note in self.notes if note.role in roles)
