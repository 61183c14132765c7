"""What the search is asked: slices of time, and for each voice what may sound in them.

Conventions: a slice is a stretch of time in which nothing begins or ends but at its
start. The voices are the same in every slice of a problem, in the same order. In each
slice each voice is either silent (no candidates), struck (a candidate is chosen, or none
at ``none_price``), or held (the choice of the slice before stays, or is let go at
``release_price``). All prices are those of ``model.prices``.
"""

from dataclasses import dataclass, field

from apoyando.model.hand import Finger
from apoyando.model.pitch import MidiNote

FORBIDDEN = 1 << 28
"""A price that no sum of real prices reaches: what carries it cannot be chosen."""
NOWHERE = -1
"""A highest fret: what may lie on none cannot be chosen either."""

Table = tuple[tuple[int, ...], ...]


class NoWayError(ValueError):
    """Nothing the hand can do sounds all that must sound: the problem leaves it no choice."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """A note that a voice may sound.

    ``fills`` are the bits of the slice's wants it meets. ``strings`` and ``fingers`` are the
    only ones allowed (0 is the finger of an open string); empty, any may be taken.
    """

    note: MidiNote
    price: int = 0
    fills: int = 0
    highest_fret: int = 19
    strings: tuple[int, ...] = ()
    fingers: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class VoiceSlice:
    """One voice in one slice.

    Law: while a voice is held its candidates are those of the slice in which it was struck.
    ``none_price`` (struck) and ``release_price`` (held) are None where the voice must sound.
    A struck note also pays ``string_prices[string - 1]`` and ``fret_prices[fret]``, where
    given, and ``steps[p][c]`` where candidate p of the voice's note before ends at the very
    moment at which candidate c is struck. ``sings`` marks a line that should not break off.
    """

    candidates: tuple[Candidate, ...] = ()
    is_struck: bool = False
    none_price: int | None = None
    release_price: int | None = None
    string_prices: tuple[int, ...] = ()
    fret_prices: tuple[int, ...] = ()
    steps: Table = ()
    sings: bool = False

    @property
    def is_silent(self) -> bool:
        return not self.candidates

    @property
    def is_held(self) -> bool:
        return bool(self.candidates) and not self.is_struck

    @property
    def may_be_silent(self) -> bool:
        let_go = self.is_held and self.release_price is not None
        return self.is_silent or self.none_price is not None or let_go


SILENT = VoiceSlice()


@dataclass(frozen=True, slots=True)
class Interplay:
    """``prices[a][b]`` is paid while candidate a of one voice sounds with candidate b of another.

    ``one`` and ``other`` are indices of voices, ``one < other``.
    """

    one: int
    other: int
    prices: Table


@dataclass(frozen=True, slots=True)
class Succession:
    """``prices[a][b]`` is paid where candidate a of one voice ends and candidate b of another is struck then.

    Law: voice ``one`` is not held in the slice, and voice ``other`` is struck in it.
    """

    one: int
    other: int
    prices: Table


@dataclass(frozen=True, slots=True, kw_only=True)
class Restriction:
    """What the hand is held to in a slice.

    ``position``: finger 1 lies at this fret, or would lie there. ``free_fingers`` press nothing.
    ``barre_fret``: finger 1 lies flat at this fret; 0: it does not lie flat.
    """

    position: int | None = None
    allows_barre: bool = True
    free_fingers: tuple[Finger, ...] = ()
    barre_fret: int | None = None


UNRESTRICTED = Restriction()


@dataclass(frozen=True, slots=True, kw_only=True)
class Slice:
    """One slice. ``quarters`` and ``seconds`` are its length; ``successions`` lead into it.

    Where ``opens_window`` is set the wants of the window before are settled, and a new set
    of wants begins: ``wanted[bit]`` is what it costs if no chosen candidate fills the bit.
    """

    quarters: float
    seconds: float
    voices: tuple[VoiceSlice, ...]
    interplay: tuple[Interplay, ...] = ()
    successions: tuple[Succession, ...] = ()
    opens_window: bool = False
    wanted: tuple[int, ...] = ()
    restriction: Restriction = UNRESTRICTED


@dataclass(frozen=True, slots=True)
class Problem:
    """The slices in order. The stretches of each group in ``alike`` are to be played alike.

    Law: all stretches of a group are of one length, and their slices have the same candidates.
    """

    slices: tuple[Slice, ...] = field(default=())
    alike: tuple[tuple[range, ...], ...] = ()
