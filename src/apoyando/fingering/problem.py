"""What the search is asked: slices of time, and for each role what may sound in them.

Conventions: a slice is a stretch of time in which nothing begins or ends but at its
start. In each slice each role is either silent (no candidates), struck (a candidate is
chosen, or none at ``none_price``), or held (the choice of the slice before stays, or is
let go at ``release_price``). All prices are those of ``model.prices``.
"""

from dataclasses import dataclass, field

from apoyando.model.pitch import MidiNote

FORBIDDEN = 1 << 28
"""A price that no sum of real prices reaches: what carries it cannot be chosen."""


class NoWayError(ValueError):
    """Nothing the hand can do sounds all that must sound: the problem leaves it no choice."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """A note that a role may sound. ``fills`` are the bits of the slice's wants it meets."""

    note: MidiNote
    price: int = 0
    fills: int = 0
    highest_fret: int = 19


@dataclass(frozen=True, slots=True, kw_only=True)
class RoleSlice:
    """One role in one slice.

    Law: while a role is held its candidates are those of the slice in which it was struck.
    ``none_price`` (struck) and ``release_price`` (held) are None where the role must sound.
    A struck note also pays ``string_prices[string - 1]`` and ``fret_prices[fret]``, where given.
    """

    candidates: tuple[Candidate, ...] = ()
    is_struck: bool = False
    none_price: int | None = None
    release_price: int | None = None
    string_prices: tuple[int, ...] = ()
    fret_prices: tuple[int, ...] = ()

    @property
    def is_silent(self) -> bool:
        return not self.candidates

    @property
    def is_held(self) -> bool:
        return bool(self.candidates) and not self.is_struck


SILENT = RoleSlice()


@dataclass(frozen=True, slots=True, kw_only=True)
class Slice:
    """One slice. ``quarters`` and ``seconds`` are its length.

    ``bass_inner_prices[b][i]`` is paid while bass candidate b and inner candidate i sound
    together. ``bass_motion[p][b]`` is paid where bass candidate b is struck at the moment
    candidate p of the bass before ends, ``inner_motion`` likewise (empty: nothing to pay).
    Where ``opens_window`` is set the wants of the window before are settled, and a new set
    of wants begins: ``wanted[bit]`` is what it costs if no chosen candidate fills the bit.
    """

    quarters: float
    seconds: float
    melody: RoleSlice = SILENT
    bass: RoleSlice = SILENT
    inner: RoleSlice = SILENT
    bass_inner_prices: tuple[tuple[int, ...], ...] = ()
    bass_motion: tuple[tuple[int, ...], ...] = ()
    inner_motion: tuple[tuple[int, ...], ...] = ()
    opens_window: bool = False
    wanted: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Problem:
    slices: tuple[Slice, ...] = field(default=())
