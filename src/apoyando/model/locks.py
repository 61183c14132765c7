"""Locks: what the player has settled for the hands. They are law; the rest is solved around them.

Conventions: bars by their printed numbers; beats counted from 1 by the felt pulse, as in
``model.beat``; frets and positions as on the page, with a capo counted from the capo.
``str`` of a lock is how a player would say it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from apoyando.model.arrangement import Role
from apoyando.model.beat import name_count
from apoyando.model.hand import Finger, roman
from apoyando.model.instrument import STRINGS, Fret, Place, StringNumber

MUTED = "x"
"""A string that a chord shape does not sound."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """From bar to bar, both included; from ``beat``, and until ``until_beat``, which is not included.

    Without ``to_bar`` one bar, without beats whole bars, without ``bar`` the whole piece.
    """

    bar: str = ""
    to_bar: str = ""
    beat: Fraction | None = None
    until_beat: Fraction | None = None

    def __str__(self) -> str:
        if not self.bar:
            return "the whole piece"
        since = "" if self.beat is None else f" from beat {name_count(self.beat)}"
        until = "" if self.until_beat is None else f" until beat {name_count(self.until_beat)}"
        if not self.to_bar:
            return f"bar {self.bar}{since}{until}"
        if not since and not until:
            return f"bars {self.bar} to {self.to_bar}"
        return f"bar {self.bar}{since} to bar {self.to_bar}{until}"


WHOLE_PIECE = Stretch()


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteLock:
    """The note of a voice that begins there is struck, and so; or, ``is_silent``, none is struck.

    Law: in a plan one of the last four is given, ``is_silent`` alone and not for the melody. With
    none of them it only names the note.
    """

    bar: str
    beat: Fraction
    voice: Role = Role.MELODY
    string: StringNumber | None = None
    fret: Fret | None = None
    finger: Finger | None = None
    is_silent: bool = False

    def shares_note(self, other: "NoteLock") -> bool:
        """Whether both are on one note; inner notes that are struck together count as one."""
        return (self.bar, self.beat, self.voice) == (other.bar, other.beat, other.voice)

    def __str__(self) -> str:
        voice = "inner voice" if self.voice is Role.INNER else self.voice
        return f"bar {self.bar}, beat {name_count(self.beat)}: the {voice} {self._way}".rstrip()

    @property
    def _way(self) -> str:
        """Where and with which finger: "on string 2, open", "with finger 4"; or that it is left out."""
        if self.is_silent:
            return "left out"
        fret = "open" if self.fret == 0 else f"fret {self.fret}"
        places = [f"string {self.string}"] * (self.string is not None) + [fret] * (self.fret is not None)
        finger = [f"finger {self.finger:d}"] if self.finger is not None else []
        if places == ["open"] or (not places and self.finger is Finger.OPEN):
            return "on an open string"
        if places:
            return f"on {', '.join([*places, *finger])}"
        return f"with {finger[0]}" if finger else ""


@dataclass(frozen=True, slots=True)
class PositionLock:
    """Finger 1 lies at this fret, or would lie there."""

    stretch: Stretch
    position: int

    def __str__(self) -> str:
        return f"{self.stretch}: in position {roman(self.position)}"


@dataclass(frozen=True, slots=True)
class ShapeLock:
    """A chord shape, string 6 first; None for a string that does not sound.

    The accompaniment comes from it, and the melody where its pitch is in it. Laws: six
    ``frets``; as many ``fingers``, None exactly where no string sounds, or none at all.
    """

    stretch: Stretch
    frets: tuple[Fret | None, ...]
    fingers: tuple[Finger | None, ...] = ()

    @property
    def stops(self) -> tuple[tuple[Place, Finger | None], ...]:
        """Each place of the shape, with its finger if the player has named it."""
        fingers = self.fingers or (None,) * len(STRINGS)
        return tuple(
            (Place(string, fret), finger)
            for string, fret, finger in zip(reversed(STRINGS), self.frets, fingers, strict=True)
            if fret is not None
        )

    def __str__(self) -> str:
        fingers = f", fingers {write_shape(self.fingers)}" if self.fingers else ""
        return f"{self.stretch}: the chord shape {write_shape(self.frets)}{fingers}"


@dataclass(frozen=True, slots=True)
class NoBarreLock:
    """No barre is laid or kept there."""

    stretch: Stretch

    def __str__(self) -> str:
        return f"{self.stretch}: no barre"


@dataclass(frozen=True, slots=True)
class FreeFingerLock:
    """The finger presses nothing there: it is wanted for something that the page does not say."""

    stretch: Stretch
    finger: Finger

    def __str__(self) -> str:
        return f"{self.stretch}: finger {self.finger:d} free"


@dataclass(frozen=True, slots=True)
class AvoidFingerLock:
    """The player would not use the finger."""

    stretch: Stretch
    finger: Finger

    def __str__(self) -> str:
        return f"{self.stretch}: without finger {self.finger:d}"


Lock = NoteLock | PositionLock | ShapeLock | NoBarreLock | FreeFingerLock | AvoidFingerLock


def is_of_one_key(lock: Lock) -> bool:
    """Whether it speaks of notes and places, which lie elsewhere in another key."""
    if isinstance(lock, NoteLock):
        return not lock.is_silent
    return isinstance(lock, PositionLock | ShapeLock)


def write_shape(numbers: Sequence[int | None]) -> str:
    """Frets or fingers from string 6 to string 1: "x32010", or "x 10 12 12 12 10" where one has two digits."""
    signs = [MUTED if number is None else f"{number:d}" for number in numbers]
    return (" " if any(len(sign) > 1 for sign in signs) else "").join(signs)
