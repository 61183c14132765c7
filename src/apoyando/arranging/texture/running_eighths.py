"""Running eighths: an inner note wherever neither melody nor bass strikes, so that something always moves."""

from apoyando.arranging.texture.dues import InnerDue, Laid, Need
from apoyando.arranging.texture.ground import Ground, basses, strong_onsets
from apoyando.model.time import Quarters, Span


def lay_running_eighths(ground: Ground) -> Laid:
    """The eighths are kept whatever the level's shortest value; at a very fast tempo they are quarters."""
    onsets = strong_onsets(ground)
    bass = basses(ground, onsets)
    inner = tuple(
        InnerDue(slot, ground.chord)
        for slot in running_slots(ground, onsets, ground.pace.running)
        if not ground.tune.strikes(slot.onset)
        and slot.onset not in onsets
        and not ground.tune.is_in_triplets(slot.onset, ground.bar)
    )
    return Laid(bass, inner or (InnerDue(bass[0].span, ground.chord, need=Need.COLOUR),))


def running_slots(ground: Ground, onsets: list[Quarters], unit: Quarters) -> list[Span]:
    """The bar's grid within the stretch; a slot ends early where a bass is due."""
    ends = [*onsets, ground.span.offset]
    return [
        Span(point, min([point + unit, *(end for end in ends if end > point)])) for point in ground.grid(unit)
    ]
