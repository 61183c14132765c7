"""Plucking letters that are written, kept among those that were chosen."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import groupby, pairwise, product

from apoyando.model.arrangement import Note
from apoyando.model.hand import Pluck

Hand = tuple[Pluck | None, ...]
_ORDER = {pluck: place for place, pluck in enumerate(Pluck)}


def keep_plucks(notes: Sequence[Note], written: Mapping[int, Pluck]) -> tuple[Note, ...]:
    """The notes with the written letters, by ``Note.source``; the letters beside them make room.

    ``notes`` are in order of onset, from the lowest-pitched string up. Of the ways to fill a
    stroke in the order p i m a the one that changes the fewest chosen letters is taken.
    """
    strokes = (list(group) for _, group in groupby(notes, key=lambda note: note.onset))
    return tuple(note for stroke in strokes for note in _keep_in_stroke(stroke, written))


def _keep_in_stroke(stroke: Sequence[Note], written: Mapping[int, Pluck]) -> list[Note]:
    fixed = [written.get(note.source) if note.source is not None else None for note in stroke]
    if not any(fixed):
        return list(stroke)
    chosen = tuple(note.pluck for note in stroke)
    hands = product(*([pluck] if pluck else list(Pluck) for pluck in fixed))
    fitting = [hand for hand in hands if _is_in_order(hand)]
    merged = tuple(pluck or other for pluck, other in zip(fixed, chosen, strict=True))
    best: Hand = min(fitting, key=lambda hand: _changes(hand, chosen)) if fitting else merged
    return [replace(note, pluck=pluck) for note, pluck in zip(stroke, best, strict=True)]


def _is_in_order(hand: Sequence[Pluck]) -> bool:
    """From the lowest string up p i m a; only the thumb takes several strings, in one sweep."""
    return all(_ORDER[low] < _ORDER[high] or low is high is Pluck.P for low, high in pairwise(hand))


def _changes(hand: Hand, chosen: Hand) -> int:
    """How many letters are changed; a thumb for two strings only where nothing else will do."""
    thumbs = sum(one is other is Pluck.P for one, other in pairwise(hand))
    return len(hand) * thumbs + sum(one is not other for one, other in zip(hand, chosen, strict=True))
