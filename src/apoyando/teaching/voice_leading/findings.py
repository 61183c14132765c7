"""What is found of the voices of a piece.

Conventions: onsets in quarters.
"""

from dataclasses import dataclass
from enum import StrEnum

from apoyando.model.arrangement import Note
from apoyando.model.ring import Ring
from apoyando.model.time import Quarters, Span


class ToneKind(StrEnum):
    """The non-chord tones. UNRESOLVED has no name of its own: it is left by leap or by a rest."""

    SUSPENSION = "suspension"
    RETARDATION = "retardation"
    PEDAL = "pedal"
    PASSING = "passing tone"
    NEIGHBOUR = "neighbour tone"
    APPOGGIATURA = "appoggiatura"
    ESCAPE = "escape tone"
    ANTICIPATION = "anticipation"
    UNRESOLVED = "unresolved"


class Stay(StrEnum):
    """Whether a dissonance lasts until it resolves."""

    WRITTEN = "as written"
    CAN_RING = "if it is let ring"
    BREAKS_OFF = "it breaks off before"


@dataclass(frozen=True, slots=True, kw_only=True)
class NonChordTone:
    """A dissonance: ``note`` sounds it (the last stroke of it, where it is struck again).

    ``preparation`` is the note that had its pitch before, ``resolution`` the one into which it
    moves; ``figure`` tells both as intervals over the bass, "4–3". It has to stay down for
    ``span``: from where it is dissonant until it resolves. ``stay`` tells whether it does (None
    where nothing resolves it); a suspended tone of the accompaniment may be let go where the
    chord begins that resolves it. ``ring`` is what is known of letting it ring.
    """

    kind: ToneKind
    note: Note
    span: Span
    bar: str
    preparation: Note | None
    resolution: Note | None
    figure: str
    stay: Stay | None
    ring: Ring | None = None

    @property
    def is_violated(self) -> bool:
        """Whether it is let go before it resolves, and cannot be kept down."""
        return self.stay is Stay.BREAKS_OFF


class MotionKind(StrEnum):
    """How an inner note goes on into the next chord."""

    COMMON_TONE = "common tone"
    STEP = "step"


@dataclass(frozen=True, slots=True, kw_only=True)
class VoiceMotion:
    """An inner note that is kept, or moves by step, into the next chord's inner voice or bass.

    ``onset`` is the change of harmony. ``sounds_on`` says that ``before`` lasts until then, as
    written or let ring.
    """

    kind: MotionKind
    bar: str
    onset: Quarters
    before: Note
    after: Note
    sounds_on: bool


@dataclass(frozen=True, slots=True)
class VoiceLeading:
    """All of a piece, in order of time. ``changes`` counts the changes of harmony under the inner voice."""

    tones: tuple[NonChordTone, ...] = ()
    motions: tuple[VoiceMotion, ...] = ()
    changes: int = 0
