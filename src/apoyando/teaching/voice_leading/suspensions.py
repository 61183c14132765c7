"""Suspended chords in the accompaniment, and how they resolve."""

from collections.abc import Iterator, Sequence

from apoyando.model.arrangement import Note
from apoyando.model.ring import Ring
from apoyando.model.time import Quarters, Span
from apoyando.teaching.voice_leading.figures import figure
from apoyando.teaching.voice_leading.findings import NonChordTone, Stay
from apoyando.teaching.voice_leading.harmonies import Harmony, Score, onset
from apoyando.teaching.voice_leading.kinds import BY_STEP, Move, name_tone, tell_move


def suspended_tones(score: Score) -> Iterator[NonChordTone]:
    harmonies = score.harmonies
    for before, now, after in zip([None, *harmonies], harmonies, [*harmonies[1:], None], strict=False):
        for strokes in _suspended_strokes(now):
            preparation = _last_of_pitch(score, before, strokes[0]) if before else None
            resolution = _find_resolution(after, strokes[-1]) if after else None
            yield _suspended_tone(score, now, strokes, preparation, resolution)


def _suspended_strokes(harmony: Harmony) -> list[list[Note]]:
    """The suspended tones of a chord in the accompaniment, each with all its strokes in order."""
    found: dict[int, list[Note]] = {}
    for note in harmony.strokes:
        if note.pitch.name.pitch_class in harmony.suspended:
            found.setdefault(note.pitch.midi, []).append(note)
    return list(found.values())


def _last_of_pitch(score: Score, harmony: Harmony, tone: Note) -> Note | None:
    """The last note of a harmony, in any voice, that has the pitch of a tone."""
    alike = (
        note
        for note in score.arrangement.notes
        if harmony.span.contains(note.onset) and note.pitch.midi == tone.pitch.midi
    )
    return max(alike, key=onset, default=None)


def _find_resolution(harmony: Harmony, tone: Note) -> Note | None:
    """The first step from a tone into the next harmony, its own voice first; or else the tone kept."""
    moves = [(tell_move(tone.pitch, note.pitch), note) for note in harmony.strokes]
    steps = [note for move, note in moves if move in BY_STEP]
    kept = [note for move, note in moves if move is Move.SAME]
    return min(steps or kept, key=lambda note: (note.role is not tone.role, note.onset), default=None)


def _suspended_tone(
    score: Score,
    harmony: Harmony,
    strokes: Sequence[Note],
    preparation: Note | None,
    resolution: Note | None,
) -> NonChordTone:
    onset, last = strokes[0].onset, strokes[-1]
    before, after = (each.pitch if each else None for each in (preparation, resolution))
    return NonChordTone(
        kind=name_tone(before, last.pitch, after),
        note=last,
        span=Span(onset, resolution.onset if resolution else harmony.span.offset),
        bar=score.bar(onset),
        preparation=preparation,
        resolution=resolution,
        figure=figure(score, last, onset, resolution),
        stay=_stay(last, score.ring(last), harmony.span.offset) if resolution else None,
        ring=score.ring(last),
    )


def _stay(tone: Note, ring: Ring | None, due: Quarters) -> Stay:
    if tone.offset >= due:
        return Stay.WRITTEN
    return Stay.CAN_RING if ring and ring.until >= due else Stay.BREAKS_OFF
