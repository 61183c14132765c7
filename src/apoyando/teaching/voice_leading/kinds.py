"""The kind of a non-chord tone: by how it is approached and how it is left.

Names as in any harmony text (Kostka & Payne, *Tonal Harmony*, the chapters on non-chord tones, from
memory). A step is a second, or a semitone on one letter; a rest or a wider interval is no step.
"""

from enum import StrEnum

from apoyando.model.pitch import Pitch
from apoyando.teaching.voice_leading.findings import ToneKind

_WHOLE_TONE = 2


class Move(StrEnum):
    SAME = "same"
    UP = "step up"
    DOWN = "step down"
    LEAP = "leap"
    NONE = "rest"


BY_STEP = frozenset({Move.UP, Move.DOWN})
_KEPT = {
    Move.DOWN: ToneKind.SUSPENSION,
    Move.UP: ToneKind.RETARDATION,
    Move.SAME: ToneKind.PEDAL,
}


def name_tone(before: Pitch | None, tone: Pitch, after: Pitch | None) -> ToneKind:
    """The kind of a dissonance by the pitches before and after it, None where there is a rest."""
    approach, departure = tell_move(before, tone), tell_move(tone, after)
    if approach is Move.SAME:
        return _KEPT.get(departure, ToneKind.UNRESOLVED)
    if departure is Move.SAME:
        return ToneKind.ANTICIPATION
    if departure in BY_STEP:
        if approach not in BY_STEP:
            return ToneKind.APPOGGIATURA
        return ToneKind.PASSING if approach is departure else ToneKind.NEIGHBOUR
    is_escape = approach in BY_STEP and departure is Move.LEAP
    return ToneKind.ESCAPE if is_escape else ToneKind.UNRESOLVED


def tell_move(one: Pitch | None, other: Pitch | None) -> Move:
    if one is None or other is None:
        return Move.NONE
    semitones, letters = other.midi - one.midi, other.staff_height - one.staff_height
    if semitones == 0:
        return Move.SAME
    if abs(semitones) > _WHOLE_TONE or abs(letters) > 1:
        return Move.LEAP
    return Move.UP if semitones > 0 else Move.DOWN
