"""Alternating bass: the thumb on every pulse, on two notes in turn, and an inner note between its strokes."""

from apoyando.arranging.texture.dues import InnerDue, Laid
from apoyando.arranging.texture.ground import Ground, basses, colour
from apoyando.arranging.texture.running_eighths import running_slots
from apoyando.model.time import Quarters


def lay_alternating_bass(ground: Ground) -> Laid:
    onsets = _onsets(ground)
    bass = basses(ground, onsets, alternates=True)
    inner = tuple(
        InnerDue(slot, ground.chord)
        for slot in running_slots(ground, onsets, _between(ground))
        if not ground.tune.strikes(slot.onset)
        and slot.onset not in onsets
        and not ground.tune.is_in_triplets(slot.onset, ground.bar)
    )
    return Laid(bass, inner or colour(ground, bass))


def _between(ground: Ground) -> Quarters:
    """The value in which bass and inner notes change places; a whole pulse where shorter ones are too quick."""
    part = ground.pulse / (3 if ground.bar.meter.is_compound else 2)
    return part if part >= ground.pace.shortest else ground.pulse


def _onsets(ground: Ground) -> list[Quarters]:
    """Every pulse, as far as each bass lasts as long as the level's shortest value."""
    onsets = [ground.span.onset]
    for moment in ground.grid(ground.pulse):
        if moment - onsets[-1] >= ground.pace.shortest:
            onsets.append(moment)
    return onsets
