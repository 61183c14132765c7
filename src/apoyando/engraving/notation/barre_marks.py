"""Which barre marks are printed: one for as long as finger 1 lies, or is laid again at once.

A barre that goes on over more strings, or is laid again with nothing struck in between, is one
mark for the player, with its hook at the end of the last. Half barre and full barre keep their
names, for they are not the same to the hand; where one becomes the other at the same fret the line
goes on, and only the last has a hook (common practice, no source). A small barre of another finger
is told by its digits.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from apoyando.model.arrangement import Arrangement, Barre, Note
from apoyando.model.hand import Finger, roman
from apoyando.model.time import Quarters, Span, Spanned


@dataclass(frozen=True, slots=True)
class BarreMark(Spanned):
    """``goes_on``: the mark after it is of the other kind at the same fret, and finger 1 stays there."""

    barre: Barre
    span: Span
    goes_on: bool = False

    @property
    def kind(self) -> str:
        """``C``, or ``½C`` up to four strings."""
        return "C" if self.barre.is_full else "½C"

    @property
    def name(self) -> str:
        """``C VII``, ``½C II``."""
        return f"{self.kind} {roman(self.barre.fret)}"


def list_barre_marks(arrangement: Arrangement) -> tuple[BarreMark, ...]:
    """The barres of finger 1 in order of time, those joined that have one mark."""
    marked: list[Barre] = []
    laid = (barre for barre in arrangement.barres if barre.finger is Finger.INDEX)
    for barre in sorted(laid, key=lambda barre: (barre.span.onset, barre.fret)):
        if marked and marked[-1].is_full is barre.is_full and _stays(marked[-1], barre, arrangement.notes):
            marked[-1] = _joined(marked[-1], barre)
        else:
            marked.append(barre)
    return tuple(
        BarreMark(barre, barre.span, following is not None and _stays(barre, following, arrangement.notes))
        for barre, following in pairwise([*marked, None])
        if barre is not None
    )


def _stays(before: Barre, barre: Barre, notes: Sequence[Note]) -> bool:
    """Whether finger 1 lies on at the fret, or is laid there again with nothing struck in between."""
    end, start = before.span.offset, barre.span.onset
    is_at_once = end == start or (end < start and not _is_anything_struck(notes, end, start))
    return before.fret == barre.fret and is_at_once


def _is_anything_struck(notes: Sequence[Note], start: Quarters, end: Quarters) -> bool:
    return any(start <= note.onset < end for note in notes)


def _joined(before: Barre, barre: Barre) -> Barre:
    return replace(
        before,
        lowest_string=max(before.lowest_string, barre.lowest_string),
        highest_string=min(before.highest_string, barre.highest_string),
        span=Span(before.span.onset, barre.span.offset),
    )
