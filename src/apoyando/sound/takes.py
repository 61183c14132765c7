"""A take: what is played, from the first click of the count-in to the last note.

Conventions: playing time in quarters from the start of the take, as in ``performance``. A beat
is a felt pulse of the meter, counted from the barline.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from apoyando.model.beat import count_beat
from apoyando.model.song import Bar
from apoyando.model.time import Quarters, Span
from apoyando.sound.performance import Performance, PlayedBar


@dataclass(frozen=True, slots=True)
class Beat:
    """A felt beat; ``is_first``: the first of its bar."""

    onset: Quarters
    is_first: bool


@dataclass(frozen=True, slots=True)
class Take:
    """A performance, and the beats that are to be clicked. Law: beats are in order, and none comes after its end."""

    performance: Performance
    clicks: tuple[Beat, ...] = ()

    @property
    def duration(self) -> Quarters:
        return self.performance.duration

    @property
    def music_onset(self) -> Quarters:
        """Where the first bar begins: later than 0 after a count-in."""
        return self.performance.bars[0].onset


def find_beats(performance: Performance) -> tuple[Beat, ...]:
    """Every beat of every bar that is played."""
    return tuple(beat for played in performance.bars for beat in _beats_of(played))


def _beats_of(played: PlayedBar) -> Iterator[Beat]:
    bar = played.bar
    pulse = bar.meter.pulse
    beat = count_beat(bar, bar.onset)
    whole = -(-beat.numerator // beat.denominator)
    now = (whole - beat) * pulse
    while now < bar.duration:
        yield Beat(played.onset + now, whole == 1)
        now, whole = now + pulse, whole + 1


def with_clicks(take: Take) -> Take:
    """The beats of the music clicked too."""
    counted = tuple(beat for beat in take.clicks if beat.onset < take.music_onset)
    return replace(take, clicks=(*counted, *find_beats(take.performance)))


def with_count_in(take: Take) -> Take:
    """One bar counted before it; before a pickup also the beats that its bar lacks."""
    counted, length = _count_in(take.performance.bars[0].bar)
    return Take(
        _later(take.performance, length), (*counted, *(_beat_later(beat, length) for beat in take.clicks))
    )


def _count_in(bar: Bar) -> tuple[tuple[Beat, ...], Quarters]:
    length = bar.meter.bar_length + bar.meter_phase
    onsets = (step * bar.meter.pulse for step in range(-(-length // bar.meter.pulse)))
    return tuple(Beat(onset, onset % bar.meter.bar_length == 0) for onset in onsets), length


def repeat_take(take: Take, times: int) -> Take:
    """The same so many times, without a gap."""
    starts = [step * take.duration for step in range(times)]
    played = [_later(take.performance, start) for start in starts]
    return Take(
        Performance(
            tuple(bar for each in played for bar in each.bars),
            tuple(note for each in played for note in each.notes),
            times * take.duration,
        ),
        tuple(_beat_later(beat, start) for start in starts for beat in take.clicks),
    )


def _later(performance: Performance, shift: Quarters) -> Performance:
    return Performance(
        tuple(replace(played, onset=played.onset + shift) for played in performance.bars),
        tuple(
            replace(played, span=Span(played.onset + shift, played.offset + shift))
            for played in performance.notes
        ),
        performance.duration + shift,
    )


def _beat_later(beat: Beat, shift: Fraction) -> Beat:
    return replace(beat, onset=beat.onset + shift)
