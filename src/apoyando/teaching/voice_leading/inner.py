"""The inner voice at a change of harmony."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from apoyando.model.arrangement import Note, Role
from apoyando.model.time import Quarters
from apoyando.teaching.voice_leading.findings import MotionKind, VoiceMotion
from apoyando.teaching.voice_leading.harmonies import Score
from apoyando.teaching.voice_leading.kinds import BY_STEP, Move, tell_move


@dataclass(frozen=True, slots=True)
class _Change:
    """The inner notes before a change of harmony, and the first inner notes and bass after it."""

    onset: Quarters
    before: tuple[Note, ...]
    after: tuple[Note, ...]


def inner_changes(score: Score) -> Iterator[_Change]:
    """Every change of harmony with inner notes on both sides."""
    for one, other in pairwise(score.harmonies):
        before = tuple(note for note in one.strokes if note.role is Role.INNER)
        inner = [note for note in other.strokes if note.role is Role.INNER]
        bass = [note for note in other.strokes if note.role is Role.BASS]
        if before and inner and one.span.offset == other.span.onset:
            first = [note for note in inner if note.onset == inner[0].onset]
            yield _Change(other.span.onset, before, (*first, *bass[:1]))


def motions(score: Score, change: _Change) -> Iterator[VoiceMotion]:
    """Of the last inner note, and of those that sound on until the change."""
    for note in change.before:
        ring = score.ring(note)
        sounds_on = max(note.offset, ring.until if ring else note.offset) >= change.onset
        going = [(kind, after) for after in change.after for kind in _goes_on(note, after)]
        if going and (sounds_on or note is change.before[-1]):
            yield VoiceMotion(
                kind=going[0][0],
                bar=score.bar(change.onset),
                onset=change.onset,
                before=note,
                after=going[0][1],
                sounds_on=sounds_on,
            )


def _goes_on(note: Note, after: Note) -> Iterator[MotionKind]:
    move = tell_move(note.pitch, after.pitch)
    if move in BY_STEP:
        yield MotionKind.STEP
    elif move is Move.SAME:
        yield MotionKind.COMMON_TONE
