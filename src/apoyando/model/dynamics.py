"""How loud: the dynamics that are written in a piece.

Conventions: onsets in quarters from the start of the first bar, as in ``Song``.
"""

from dataclasses import dataclass
from enum import StrEnum

from apoyando.model.time import Quarters


class Loudness(StrEnum):
    """What a dynamic mark says, by its letters, from softest to loudest; then the accents."""

    PPPP = "pppp"
    PPP = "ppp"
    PP = "pp"
    P = "p"
    MP = "mp"
    MF = "mf"
    F = "f"
    FF = "ff"
    FFF = "fff"
    FFFF = "ffff"
    FP = "fp"
    SF = "sf"
    SFZ = "sfz"
    FZ = "fz"
    RF = "rf"


class Layer(StrEnum):
    """Whom a mark tells: one layer of the music or all of it."""

    MELODY = "melody"
    ACCOMPANIMENT = "accompaniment"
    ALL = "all"


@dataclass(frozen=True, slots=True)
class Dynamic:
    """One dynamic mark. That of the melody stands above the staff, any other below."""

    onset: Quarters
    loudness: Loudness
    layer: Layer = Layer.ALL

    @property
    def is_above(self) -> bool:
        return self.layer is Layer.MELODY
