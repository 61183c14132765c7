"""Sustained: the bass and one inner note, both held for as long as the bass is."""

from apoyando.arranging.texture.dues import BassDue, InnerDue, Laid, Lasting, Need
from apoyando.arranging.texture.ground import Ground, basses, chord_notes, strong_onsets
from apoyando.model.time import Quarters, Span


def lay_sustained(ground: Ground) -> Laid:
    bass = basses(ground, strong_onsets(ground))
    return Laid(bass, tuple(note for due in bass for note in sustain_over(ground, due, 1)))


def sustain_over(ground: Ground, bass: BassDue, count: int) -> tuple[InnerDue, ...]:
    """Up to so many inner notes held over a bass: struck with it where the level strikes so many at once.

    Where it does not one of them enters alone, on the next pulse that is free for it.
    """
    room = ground.room(bass.span.onset, with_bass=True)
    if room:
        lasting = Lasting.LET_GO
        return tuple(chord_notes(ground, bass.span, min(count, room), need=Need.CHORD, lasting=lasting))
    entry = _free_pulse(ground, bass.span)
    if entry is None:
        return ()
    late = Span(entry, bass.span.offset)
    return tuple(chord_notes(ground, late, 1, need=Need.CHORD, lasting=Lasting.LET_GO))


def _free_pulse(ground: Ground, span: Span) -> Quarters | None:
    """The first pulse after the bass that leaves it, and the note itself, the level's shortest value."""
    shortest = ground.pace.shortest
    return next(
        (
            moment
            for moment in ground.grid(ground.pulse)
            if span.onset + shortest <= moment <= span.offset - shortest
            and ground.room(moment, with_bass=False)
        ),
        None,
    )
