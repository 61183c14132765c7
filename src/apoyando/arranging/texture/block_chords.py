"""Block chords: bass and inner notes struck together and held, with the tune or under it.

They are struck on the strong pulses, and again on every pulse in which the tune holds still:
lighter where it moves, fuller on long notes.
"""

from apoyando.arranging.texture.dues import BassDue, InnerDue, Laid, Lasting, Need
from apoyando.arranging.texture.ground import Ground, basses, chord_notes, strong_onsets
from apoyando.model.time import Quarters, Span


def lay_block_chords(ground: Ground) -> Laid:
    bass = basses(ground, _onsets(ground))
    return Laid(bass, tuple(note for due in bass for note in _notes(ground, due)))


def _onsets(ground: Ground) -> list[Quarters]:
    strong = strong_onsets(ground)
    onsets = strong[:1]
    for moment in sorted({*strong, *ground.grid(ground.pulse)}):
        is_far = moment - onsets[-1] >= ground.pace.shortest
        if moment in strong[1:] or (is_far and _holds_still(ground, moment)):
            onsets.append(moment)
    return onsets


def _holds_still(ground: Ground, moment: Quarters) -> bool:
    """Whether the tune strikes nothing in the pulse of a moment."""
    pulse = Span(moment, moment + ground.pulse)
    return not ground.tune.strikes(moment) and not ground.tune.count_within(pulse)


def _notes(ground: Ground, bass: BassDue) -> tuple[InnerDue, ...]:
    room = ground.room(bass.span.onset, with_bass=True)
    count = min(ground.fullness(bass.span), room)
    return tuple(chord_notes(ground, bass.span, count, need=Need.CHORD, lasting=Lasting.LET_GO))
