"""Bass and chord: the bass on the strong pulses, chords on the others, as in a waltz or a march.

Three pulses are bass, chord, chord; two are bass, chord. In two-four and two-two, and in
compound meters, the same is played within each pulse, if the level strikes so short at the
tempo.
"""

from collections.abc import Iterator

from apoyando.arranging.texture.dues import InnerDue, Laid, Lasting, Need
from apoyando.arranging.texture.ground import Ground, basses, chord_notes, half_of
from apoyando.model.song import Bar
from apoyando.model.time import Quarters, Span

_TWO, _THREE = 2, 3


def lay_bass_and_chord(ground: Ground) -> Laid:
    step, strong = _pattern(ground)
    onsets = [ground.span.onset, *(moment for moment in strong if moment > ground.span.onset)]
    bass = basses(ground, onsets)
    steps = (moment for moment in ground.grid(step) if moment not in onsets)
    return Laid(bass, tuple(note for moment in steps for note in _chord(ground, moment, step, onsets)))


def _pattern(ground: Ground) -> tuple[Quarters, list[Quarters]]:
    """The step of the pattern, and the moments of the stretch at which the bass is due."""
    bar, pulse = ground.bar, ground.pulse
    parts = _THREE if bar.meter.is_compound else _TWO
    within = pulse / parts
    is_in_two = bar.meter.is_compound or bar.meter.beats == _TWO
    if is_in_two and within >= ground.pace.shortest:
        return within, ground.grid(pulse)
    return pulse, [moment for moment in _strong_pulses(bar) if ground.span.contains(moment)]


def _strong_pulses(bar: Bar) -> Iterator[Quarters]:
    """The first of every two or three pulses, half a bar at a time; of every group, where the source has groups."""
    if bar.meter.groups and bar.duration == bar.meter.bar_length:
        yield from (bar.onset + onset for onset in bar.meter.group_onsets)
        return
    half = half_of(bar) if bar.span.duration / bar.meter.pulse > _THREE else bar.span.duration
    for onset, offset in ((bar.onset, bar.onset + half), (bar.onset + half, bar.offset)):
        pulses = (offset - onset) / bar.meter.pulse
        size = _THREE if pulses % _THREE == 0 else _TWO
        moment = onset
        while moment < offset:
            yield moment
            moment += size * bar.meter.pulse


def _chord(
    ground: Ground, moment: Quarters, step: Quarters, bass_onsets: list[Quarters]
) -> Iterator[InnerDue]:
    """One chord, as long as a step; a single note where the tune is busy, none against triplets."""
    ends = [end for end in (*bass_onsets, ground.span.offset) if end > moment]
    span = Span(moment, min([moment + step, *ends]))
    is_pulse = (moment - ground.bar.onset) % ground.pulse == 0
    if not is_pulse and ground.tune.is_in_triplets(moment, ground.bar):
        return
    count = min(ground.fullness(span), ground.room(moment, with_bass=False))
    need = Need.CHORD if ground.tune.strikes(moment) else Need.MOTION
    yield from chord_notes(ground, span, count, need=need, lasting=Lasting.TO_ITS_END)
