"""What a proof and a refutation look like.

Every answer comes with its witness (McConnell, Mehlhorn, Näher & Schweitzer, "Certifying
algorithms", Computer Science Review 5, 2011): a proof says what was looked at, a
refutation shows the notes at fault, so that neither has to be believed.

Conventions: onsets and offsets in quarters from the start of the piece; ``bar`` is a
printed bar number.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from apoyando.model.arrangement import Barre, Note
from apoyando.model.instrument import StringNumber
from apoyando.model.time import Quarters


class Rule(StrEnum):
    """What is proven, one function each."""

    PITCHES = "pitches"
    HOLDS = "holds"
    REACH = "reach"
    BARRES = "barres"
    MELODY = "melody"
    BARS = "bars"
    FORM = "form"
    HARMONY = "harmony"
    REPORT = "report"
    SCORE = "score"


SONG_RULES: tuple[Rule, ...] = tuple(rule for rule in Rule if rule is not Rule.SCORE)
"""The rules for an arrangement of a song."""
SCORE_RULES: tuple[Rule, ...] = tuple(
    rule for rule in Rule if rule not in {Rule.MELODY, Rule.FORM, Rule.HARMONY}
)
"""The rules for a score that was fingered."""


class Breach(StrEnum):
    """The ways in which a rule can be broken."""

    WRONG_PITCH = "the place gives another pitch"
    NO_NODE = "no harmonic lies where the string is touched"
    NO_SUCH_PLACE = "no such place on the guitar"
    FINGER_AND_PLACE = "an open string takes no finger, a stopped one takes one"
    STRING_TAKEN = "the string is needed twice at once"
    FINGER_TAKEN = "the finger is needed in two places at once"
    STRING_DAMPED = "a string is damped by the finger that touches beside it"
    FINGER_ORDER = "the fingers cross"
    TOO_WIDE = "two fingers too far apart"
    NO_BARRE = "a note of a barre where no barre lies"
    BARRE_UNUSED = "a barre that stops no note"
    BARRE_IMPOSSIBLE = "no such barre on the guitar"
    BARRES_CLASH = "two barres at once"
    FINGER_LEAVES_BARRE = "a finger is needed outside its barre"
    OPEN_UNDER_BARRE = "an open string sounds under a barre"
    BESIDE_BARRE = "a finger that cannot press beside the barre"
    MELODY_MISSING = "a note of the melody is missing"
    MELODY_ADDED = "a melody note that is not in the song"
    MELODY_PITCH = "a melody note at another pitch"
    MELODY_LENGTH = "a melody note of another length"
    MELODY_SOURCE = "a melody note that names another note of the song as its source"
    MELODY_CHANGE = "a change to the melody that is not as it is listed"
    MELODY_CARRIED = "a change to the melody that takes what must stay"
    MELODY_COVERED = "the accompaniment is not below the melody"
    VOICES_CROSSED = "the bass is not below the inner voice"
    BARS_BROKEN = "the bars do not follow each other"
    BARS_DIFFER = "the bars are not those of the song"
    FORM_SOURCE = "a bar that is not the song's"
    FORM_ORDER = "bars in another order than the song and the listed steps have it"
    FORM_CUT = "a section is left out or begun under a note that is held on"
    FORM_UPBEAT = "a bar is shortened without need"
    FORM_ENDING = "the ending that is told is not there"
    OUTSIDE_PIECE = "a note outside the piece"
    VOICE_OVERLAP = "two notes of one voice overlap"
    NO_CHORD = "accompaniment where no chord is given"
    NOT_A_TONE = "not a tone of the chord"
    RUNS_INTO_CHORD = "held into a chord that has no such tone"
    CHORDS_DIFFER = "the chords are not those of the song"
    SCORE_NOTE_MISSING = "a note of the score is missing"
    SCORE_NOTE_ADDED = "a note that is not in the score"
    SCORE_NOTE_LENGTH = "a note of another length than in the score"
    FINGERING_CHANGED = "what is written of the fingering is not kept"
    BASS_UNTOLD = "a bass that is not its chord's own, and is not told as it is"
    REPORT_NOWHERE = "the report speaks of a place that is not there"


@dataclass(frozen=True, slots=True, kw_only=True)
class Witness:
    """One breach, shown: which notes (and barres), from when to when, and in words.

    ``onset == offset`` for a fault at a single point. ``notes`` may be empty where the
    fault is that a note is missing.
    """

    breach: Breach
    bar: str
    onset: Quarters
    offset: Quarters
    sentence: str
    notes: tuple[Note, ...] = ()
    barres: tuple[Barre, ...] = ()

    @property
    def strings(self) -> tuple[StringNumber, ...]:
        return tuple(note.place.string for note in self.notes)


@dataclass(frozen=True, slots=True, kw_only=True)
class WidestSpan:
    """The two notes whose finger tips lie farthest apart, and when they first do."""

    span_mm: float
    notes: tuple[Note, Note]
    bar: str
    onset: Quarters


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """The rule holds. ``moments_checked`` counts stretches between neighbouring edges of notes."""

    rule: Rule
    notes_checked: int
    moments_checked: int = 0
    widest: WidestSpan | None = None


@dataclass(frozen=True, slots=True)
class Refutation:
    """The rule is broken. Law: at least one witness; they are in order of time."""

    rule: Rule
    witnesses: tuple[Witness, ...]


@dataclass(frozen=True, slots=True)
class Certificate:
    """The answers for all rules that apply, in the order of ``Rule``."""

    answers: tuple[Proof | Refutation, ...]

    @property
    def is_proven(self) -> bool:
        return not self.refutations

    @property
    def proofs(self) -> tuple[Proof, ...]:
        return tuple(answer for answer in self.answers if isinstance(answer, Proof))

    @property
    def refutations(self) -> tuple[Refutation, ...]:
        return tuple(answer for answer in self.answers if isinstance(answer, Refutation))

    @property
    def witnesses(self) -> tuple[Witness, ...]:
        return tuple(witness for refutation in self.refutations for witness in refutation.witnesses)

    @property
    def widest(self) -> WidestSpan | None:
        return next((proof.widest for proof in self.proofs if proof.widest), None)


def decide(proof: Proof, witnesses: Iterable[Witness]) -> Proof | Refutation:
    """The proof as it stands, or its refutation if there is any witness against it."""
    found = tuple(sorted(witnesses, key=lambda witness: (witness.onset, witness.offset)))
    return Refutation(proof.rule, found) if found else proof
