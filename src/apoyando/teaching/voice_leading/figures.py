"""The intervals over the bass of a tone and of what it resolves into."""

from apoyando.model.arrangement import Note, Role
from apoyando.model.pitch import STEPS, PitchName
from apoyando.model.time import Quarters
from apoyando.teaching.voice_leading.harmonies import Score

_OCTAVE_STEPS = 7


def figure(score: Score, tone: Note, onset: Quarters, resolution: Note | None) -> str:
    """Both intervals over the bass: "4–3", "9–8"; "" where the bass itself moves or nothing resolves."""
    if not resolution or Role.BASS in {tone.role, resolution.role}:
        return ""
    low, high = _bass_name(score, onset), _bass_name(score, resolution.onset)
    if low is None or high is None:
        return ""
    one, other = _interval(low, tone.pitch.name), _interval(high, resolution.pitch.name)
    return "9–8" if (one, other) == (2, 1) else f"{one}–{8 if other == 1 else other}"


def _bass_name(score: Score, moment: Quarters) -> PitchName | None:
    """What sounds in the bass, or else what the chord symbol has there."""
    for note in score.bass:
        if note.span.contains(moment):
            return note.pitch.name
    chords = (each.chord for each in score.arrangement.harmony if each.span.contains(moment))
    chord = next(chords, None)
    return (chord.bass or chord.root) if chord else None


def _interval(low: PitchName, high: PitchName) -> int:
    """Within the octave: a third is 3."""
    return (STEPS.index(high.step) - STEPS.index(low.step)) % _OCTAVE_STEPS + 1
