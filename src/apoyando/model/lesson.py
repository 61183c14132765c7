"""A lesson sheet: words, cuttings of the music, and shapes of the hand, in order.

Conventions: bars by their index in the piece, moments in quarters from its start; so a sheet
belongs to the arrangement that it was made for.
"""

from dataclasses import dataclass
from enum import StrEnum

from apoyando.model.time import Quarters

MOST_BARS_CUT = 4
"""A cutting of more bars would be too small to read beside the words (estimate)."""


class Style(StrEnum):
    """What a stretch of words is on the sheet. A STEP is an item with a number."""

    TITLE = "title"
    HEADING = "heading"
    SUBHEADING = "subheading"
    PARAGRAPH = "paragraph"
    ITEM = "item"
    STEP = "step"


@dataclass(frozen=True, slots=True)
class Words:
    """Law: ``text`` is one line, without white space at its ends."""

    style: Style
    text: str


@dataclass(frozen=True, slots=True)
class Cutting:
    """A picture of the bars from ``first`` to ``last``, both included.

    Law: ``0 <= first <= last < first + MOST_BARS_CUT``.
    """

    first: int
    last: int


@dataclass(frozen=True, slots=True)
class ShapePicture:
    """A chord diagram of what the hand holds at a moment."""

    moment: Quarters


Block = Words | Cutting | ShapePicture
