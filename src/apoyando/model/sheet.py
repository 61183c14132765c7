"""How a piece is to be put on paper: the player's decisions about the page.

Conventions: lengths in millimetres of the printed sheet.
"""

from dataclasses import dataclass
from enum import StrEnum

USUAL_STAFF_MM = 7.0
LEAST_STAFF_MM = 6.0
"""Still easily read from a stand: sizes 3 and 5 of the engraver's eight (Ross, 1970, from memory)."""


class Paper(StrEnum):
    """Sizes of paper (ISO 216; ANSI/ASME Y14.1)."""

    A4 = "a4"
    LETTER = "letter"

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height, upright."""
        return (210.0, 297.0) if self is Paper.A4 else (215.9, 279.4)


class Marking(StrEnum):
    """How much fingering is printed: for who needs none, for who reads, for who is taught."""

    CLEAN = "clean"
    NORMAL = "normal"
    FULL = "full"


class Staves(StrEnum):
    """What the notes are written in; the tablature of the second has no rhythm, that of the third has stems."""

    NOTATION = "notation"
    NOTATION_AND_TABLATURE = "notation-and-tablature"
    TABLATURE = "tablature"


class Variant(StrEnum):
    """Which of the pages that one plan gives: the piece, one of its layers, or what has to be held."""

    SCORE = "score"
    MELODY = "melody"
    ACCOMPANIMENT = "accompaniment"
    HOLDS = "holds"


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """The page that is wanted.

    ``margin_mm`` is left free on all sides; ``staff_mm`` is the height of the five lines, and
    everything else grows and shrinks with it. 0 leaves it to the program: ``USUAL_STAFF_MM``,
    or a little less where that saves a page or a turn. ``lyrics``, ``chord_symbols``, ``chord_diagrams``,
    ``dynamics`` and ``hold_lines`` say whether they are printed.
    """

    paper: Paper = Paper.A4
    margin_mm: float = 15.0
    staff_mm: float = 0.0
    marking: Marking = Marking.NORMAL
    staves: Staves = Staves.NOTATION
    lyrics: bool = False
    chord_symbols: bool = True
    chord_diagrams: bool = False
    dynamics: bool = True
    hold_lines: bool = False
