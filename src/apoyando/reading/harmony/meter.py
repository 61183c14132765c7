"""Where in the meter a moment lies: its strength, and the cells in which harmony may change.

Conventions: a cell is the shortest stretch that may have a harmony of its own: half a
pulse, a third of a compound one, an eighth at least. Cells never cross a barline. The
strength of a moment is 3 on a downbeat, 2 in the middle of a bar of an even number of
pulses, 1 on the other pulses, 0 elsewhere (common practice, no source).
"""

from collections.abc import Iterator
from fractions import Fraction

from apoyando.model.song import Bar
from apoyando.model.time import Quarters, Span

DOWNBEAT, HALF_BAR, BEAT, OFF_BEAT = 3, 2, 1, 0
_SHORTEST_CELL = Fraction(1, 2)
_MOST_CELLS = 32
"""A bar of more is cut into longer ones, so that no file makes long work."""


def strength_of(bar: Bar, moment: Quarters) -> int:
    """The strength of a moment of the bar, or of one in a bar like it that follows."""
    length = bar.meter.bar_length
    place = (moment - bar.onset + bar.meter_phase) % length
    pulses = length / bar.meter.pulse
    if place == 0:
        return DOWNBEAT
    if (place in bar.meter.group_onsets) if bar.meter.groups else (place * 2 == length and pulses % 2 == 0):
        return HALF_BAR
    return BEAT if (place / bar.meter.pulse).denominator == 1 else OFF_BEAT


def strongest_within(bar: Bar, span: Span) -> Quarters | None:
    """The first moment inside a note that is stronger than where the note begins, if there is one."""
    pulse = bar.meter.pulse
    own = strength_of(bar, span.onset)
    moment = next_pulse(bar, span.onset)
    while moment < span.offset:
        if strength_of(bar, moment) > own:
            return moment
        moment += pulse
    return None


def next_pulse(bar: Bar, moment: Quarters) -> Quarters:
    """The first pulse after a moment."""
    pulses = (moment - bar.onset + bar.meter_phase) / bar.meter.pulse
    return bar.onset - bar.meter_phase + (pulses.numerator // pulses.denominator + 1) * bar.meter.pulse


def cut_cells(bar: Bar) -> Iterator[Span]:
    """The cells of a bar, in order and without gap."""
    length = _cell_length(bar)
    start = bar.onset - bar.meter_phase % length
    while start < bar.offset:
        yield Span(max(start, bar.onset), min(start + length, bar.offset))
        start += length


def _cell_length(bar: Bar) -> Quarters:
    pulse = bar.meter.pulse
    length = pulse / 3 if bar.meter.is_compound else max(pulse / 2, _SHORTEST_CELL)
    while bar.span.duration / length > _MOST_CELLS:
        length *= 2
    return length
