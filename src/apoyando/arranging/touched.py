"""Harmonics after the search, which took them for notes stopped at the same fret.

A finger that touches several strings lies flat without pressing: that is no barre. And it lies over
the wire, a little farther up than one that presses, which may be too far for the hand.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import combinations

from apoyando.model.arrangement import Barre, Note
from apoyando.model.hand import Finger
from apoyando.model.instrument import contact_point_mm, touch_point_mm
from apoyando.model.level import Level


def lift_touches(
    notes: Sequence[Note], barres: Sequence[Barre]
) -> tuple[tuple[Note, ...], tuple[Barre, ...]]:
    """Without the barres in which nothing is pressed."""
    pressed = tuple(barre for barre in barres if any(_lies_in(note, barre) for note in _stopped(notes)))
    lifted = tuple(
        replace(note, in_barre=note.in_barre and any(_lies_in(note, barre) for barre in pressed))
        if note.is_harmonic
        else note
        for note in notes
    )
    return lifted, pressed


def _stopped(notes: Iterable[Note]) -> Iterable[Note]:
    return (note for note in notes if not note.is_harmonic)


def _lies_in(note: Note, barre: Barre) -> bool:
    is_its_own = note.in_barre and note.finger is barre.finger and note.place.fret == barre.fret
    return is_its_own and note.place.string in barre.strings and note.span.overlaps(barre.span)


def find_too_far(notes: Sequence[Note], level: Level, hand_size: float) -> frozenset[Note]:
    """The harmonics whose nodes the hand does not reach from what it holds."""
    if not any(note.is_harmonic for note in notes):
        return frozenset()
    held = [note for note in notes if note.finger is not Finger.OPEN]
    return frozenset(
        one if one.is_harmonic else other
        for one, other in combinations(held, 2)
        if one.is_harmonic or other.is_harmonic
        if one.finger is not other.finger and one.span.overlaps(other.span)
        if _apart_mm(one, other) > _limit_mm(one, other, level) * hand_size
    )


def _limit_mm(one: Note, other: Note, level: Level) -> float:
    return level.spans[min(one.finger, other.finger), max(one.finger, other.finger)].outermost_mm


def _apart_mm(one: Note, other: Note) -> float:
    (x1, y1), (x2, y2) = _tip_mm(one), _tip_mm(other)
    return float(((x1 - x2) ** 2 + (y1 - y2) ** 2) ** 0.5)


def _tip_mm(note: Note) -> tuple[float, float]:
    return touch_point_mm(note.place) if note.is_harmonic else contact_point_mm(note.place)
