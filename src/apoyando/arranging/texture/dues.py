"""What is due: which notes of the accompaniment are wanted when, before anybody knows which they are."""

from dataclasses import dataclass, replace
from enum import StrEnum

from apoyando.model.harmony import Chord
from apoyando.model.time import Quarters, Span


class Need(StrEnum):
    """What an inner note is wanted for."""

    MOTION = "nothing else is struck at that moment"
    CHORD = "the texture strikes a chord"
    FULLNESS = "a further note for a chord"
    CRAMPED = "it would move or fill on, but the tune leaves it no room"
    COLOUR = "only to tell the chord, where the texture needs no inner note"


class Lasting(StrEnum):
    """How long an inner note is held by its finger."""

    TO_ITS_END = "for all of its span"
    LET_GO = "for its span, but it may be let go at a price"
    RINGING = "written short, and let ring for its span if it can"


@dataclass(frozen=True, slots=True)
class BassDue:
    """A bass is wanted for the span. ``is_first`` in its harmony and bar.

    ``alternates``: not the note of the bass before. ``is_locked``: the player has locked it,
    and it may not be left out.
    """

    span: Span
    chord: Chord
    is_first: bool
    alternates: bool = False
    is_locked: bool = False


@dataclass(frozen=True, slots=True)
class InnerDue:
    """An inner note is wanted for the span. Of notes struck together the ``line`` counts from the lowest, 0.

    ``may_repeat``: the same note again is no hammer but the texture. ``written_until``: where
    it ends on the page, if that is before its span does. ``is_locked``: the player has
    locked it, and it may not be left out.
    """

    span: Span
    chord: Chord
    line: int = 0
    need: Need = Need.MOTION
    lasting: Lasting = Lasting.TO_ITS_END
    may_repeat: bool = False
    written_until: Quarters | None = None
    is_locked: bool = False

    @property
    def is_texture(self) -> bool:
        """Whether the texture lacks something where the note is missing."""
        return self.need in {Need.MOTION, Need.CHORD}

    @property
    def is_missed(self) -> bool:
        """Whether the texture is thinner where the note is missing."""
        return self.is_texture or self.need is Need.FULLNESS


@dataclass(frozen=True, slots=True)
class Window:
    """One harmony within one bar: the stretch in which its telling tones should be heard.

    ``is_told``: somebody there is to tell them, and it costs if nobody does.
    """

    span: Span
    chord: Chord
    bass: tuple[BassDue, ...]
    inner: tuple[InnerDue, ...]
    is_told: bool = True

    def transposed(self, fifths: int) -> "Window":
        """The same under another chord."""
        chord = self.chord.transposed(fifths)
        bass = tuple([replace(due, chord=chord) for due in self.bass])
        inner = tuple([replace(due, chord=chord) for due in self.inner])
        return replace(self, chord=chord, bass=bass, inner=inner)


@dataclass(frozen=True, slots=True)
class Laid:
    """What a texture strikes in a stretch of a window."""

    bass: tuple[BassDue, ...]
    inner: tuple[InnerDue, ...] = ()
