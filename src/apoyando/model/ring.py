"""How long the accompaniment can ring: what a player may let sound beyond what is written.

Conventions: a ring ends at a point in score time, in quarters; it lies between the note's
written end and the next change of harmony. While a stopped note rings its finger stays down.
"""

from dataclasses import dataclass
from enum import StrEnum

from apoyando.model.arrangement import Barre, Note
from apoyando.model.time import Quarters


class Ending(StrEnum):
    """What ends a ring. Where several do at once, the first of these is told."""

    PIECE_ENDS = "the piece ends"
    FORM_TURNS = "the form goes on elsewhere"
    HARMONY_CHANGES = "the harmony changes"
    STRUCK_AGAIN = "the same note is struck again"
    STRING_STRUCK = "the string is struck"
    FINGER_MOVES = "the finger goes elsewhere"
    BARRE_LAID = "a barre is laid in its way"
    BARRE_LIFTED = "its barre has to be lifted"
    FINGERS_CROSS = "the fingers would cross"
    HAND_SHIFTS = "the hand shifts"
    OUT_OF_REACH = "another note is too far away"
    BARRE_TIRES = "its barre has lain for as long as the level allows"

    @property
    def is_loss(self) -> bool:
        """Whether a tone of the harmony is lost: the hand ends it, and not the music."""
        return self not in _MUSICAL


_MUSICAL = frozenset(
    {Ending.PIECE_ENDS, Ending.FORM_TURNS, Ending.HARMONY_CHANGES, Ending.STRUCK_AGAIN},
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Remedy:
    """One change with which the note would ring longer, tried and found to work.

    ``note`` is played as ``instead``, or left out (None); all else stays as it is written.
    """

    note: Note
    instead: Note | None
    rings_until: Quarters
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Ring:
    """How long one note of the accompaniment can ring, and what ends it.

    ``wanted_until`` is the next change of harmony (or turn of the form, or the end). ``taker``
    and ``barre`` are the witness where something played ends it: the note or the barre that does
    not go with a longer ring. ``carriers`` are the barres in which the note lies from its
    written end on, one after another, as they must be kept. The sentence follows "rings until".

    Laws: ``note.offset <= until <= wanted_until``; only where one of them is the witness is
    ``until < wanted_until``. All rings of an arrangement can be let ring at once.
    """

    note: Note
    until: Quarters
    wanted_until: Quarters
    ending: Ending
    sentence: str
    taker: Note | None = None
    barre: Barre | None = None
    carriers: tuple[Barre, ...] = ()
    remedy: Remedy | None = None
