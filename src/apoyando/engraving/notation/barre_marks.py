"""Which barre marks are printed: one for as long as finger 1 lies, or is laid again at once.

A barre that goes on over more strings, or is laid again with nothing struck in between, is one
mark for the player, with its hook at the end of the last; half barre and full barre keep their
own, for they are not the same to the hand (common practice, no source). A small barre of another
finger is told by its digits.
"""

from collections.abc import Sequence
from dataclasses import replace

from apoyando.model.arrangement import Arrangement, Barre, Note
from apoyando.model.hand import Finger
from apoyando.model.time import Quarters, Span


def list_barre_marks(arrangement: Arrangement) -> tuple[Barre, ...]:
    """The barres of finger 1 in order of time, those joined that have one mark."""
    marked: list[Barre] = []
    laid = (barre for barre in arrangement.barres if barre.finger is Finger.INDEX)
    for barre in sorted(laid, key=lambda barre: (barre.span.onset, barre.fret)):
        if marked and _is_one_mark(marked[-1], barre, arrangement.notes):
            marked[-1] = _joined(marked[-1], barre)
        else:
            marked.append(barre)
    return tuple(marked)


def _is_one_mark(before: Barre, barre: Barre, notes: Sequence[Note]) -> bool:
    is_alike = (before.fret, before.is_full) == (barre.fret, barre.is_full)
    end, start = before.span.offset, barre.span.onset
    return is_alike and (end == start or (end < start and not _is_anything_struck(notes, end, start)))


def _is_anything_struck(notes: Sequence[Note], start: Quarters, end: Quarters) -> bool:
    return any(start <= note.onset < end for note in notes)


def _joined(before: Barre, barre: Barre) -> Barre:
    return replace(
        before,
        lowest_string=max(before.lowest_string, barre.lowest_string),
        highest_string=min(before.highest_string, barre.highest_string),
        span=Span(before.span.onset, barre.span.offset),
    )
