"""The ground that a texture is laid on: a stretch of one harmony within one bar, and the tune over it."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from apoyando.arranging.texture.dues import BassDue, InnerDue, Lasting, Need
from apoyando.model.harmony import Chord
from apoyando.model.level import Level
from apoyando.model.song import Bar, MelodyNote, bar_at
from apoyando.model.time import Moments, Quarters, Span

EIGHTH = Fraction(1, 2)
_LONG_BAR = Fraction(4)
_SHORTEST_BASS = Fraction(1)
"""A bass that has just entered with its harmony is not struck again at the half of the bar."""
MOST_INNER = 3
"""Inner notes at once: with bass and tune that is five strings."""
_VALUES = (EIGHTH, Fraction(1), Fraction(2), Fraction(4))
_FASTEST_QUARTERS_PER_MINUTE = 168
"""Above this tempo the running motion is in quarters: 5.6 eighths a second is past intermediate hands."""


@dataclass(frozen=True, slots=True)
class Pace:
    """How quick and how thick an accompaniment may be at a level and a tempo.

    ``shortest`` is the shortest value of the level at this tempo, ``running`` that of running
    eighths, which are asked for by name; ``struck_together`` counts the notes of one moment,
    the melody's too.
    """

    shortest: Quarters
    running: Quarters
    struck_together: int


def find_pace(level: Level, tempo_quarters_per_minute: Fraction) -> Pace:
    shortest = level.at_tempo(level.accompaniment_shortest, tempo_quarters_per_minute)
    return Pace(
        shortest=next((value for value in _VALUES if value >= shortest), _VALUES[-1]),
        running=EIGHTH if tempo_quarters_per_minute <= _FASTEST_QUARTERS_PER_MINUTE else Fraction(1),
        struck_together=level.struck_together,
    )


class Tune:
    """When the melody strikes, and where it moves in triplets."""

    def __init__(self, bars: tuple[Bar, ...], melody: Sequence[MelodyNote]) -> None:
        onsets = [note.onset for note in melody]
        self._struck = frozenset(onsets)
        self._strikes = Moments(onsets)
        self._offsets = Moments([note.offset for note in melody])
        self._crossed = _crossed_pulses(bars, melody)

    def strikes(self, moment: Quarters) -> bool:
        return moment in self._struck

    def count_within(self, span: Span) -> int:
        """How often it strikes after the beginning of a span and before its end."""
        return max(self._strikes.count_before(span.offset) - self._strikes.count_until(span.onset), 0)

    def sounds_in(self, span: Span) -> bool:
        return self._offsets.count_until(span.onset) < self._strikes.count_before(span.offset)

    def is_in_triplets(self, moment: Quarters, bar: Bar) -> bool:
        """Whether it moves in triplets in the pulse of a moment: nothing runs against them."""
        if not self._crossed:
            return False
        pulse = bar.meter.pulse
        start = bar.onset + (moment - bar.onset) // pulse * pulse
        return any(start <= crossed < start + pulse for crossed in self._crossed)


def _crossed_pulses(bars: tuple[Bar, ...], melody: Sequence[MelodyNote]) -> set[Quarters]:
    """Starts of the pulses in which the melody moves in triplets."""
    crossed: set[Quarters] = set()
    for note in melody:
        bar = bar_at(bars, note.onset)
        within = note.onset - bar.onset
        if _is_tuplet(within):
            crossed.add(bar.onset + within // bar.meter.pulse * bar.meter.pulse)
    return crossed


def _is_tuplet(onset: Quarters) -> bool:
    return onset.denominator & (onset.denominator - 1) != 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """A stretch of one harmony within one bar.

    ``is_entry``: the harmony enters here, in this bar.
    """

    bar: Bar
    span: Span
    chord: Chord
    tune: Tune
    pace: Pace
    is_entry: bool = True

    @property
    def pulse(self) -> Quarters:
        return self.bar.meter.pulse

    def room(self, moment: Quarters, *, with_bass: bool) -> int:
        """How many inner notes may be struck at a moment."""
        others = self.tune.strikes(moment) + with_bass
        return min(max(self.pace.struck_together - others, 0), MOST_INNER)

    def fullness(self, span: Span) -> int:
        """Of how many inner notes a chord is made: lighter where the tune moves on over it."""
        return 1 if self.tune.count_within(span) else 2

    def grid(self, step: Quarters) -> list[Quarters]:
        """The moments of the bar's grid that lie in the stretch."""
        count = int(self.bar.span.duration / step) + 1
        points = (self.bar.onset + step * number for number in range(count))
        return [point for point in points if self.span.contains(point)]


def strong_onsets(ground: Ground) -> list[Quarters]:
    """The stretch's start, and the half of a long bar if the stretch spans it."""
    bar, span = ground.bar, ground.span
    half = bar.onset + half_of(bar)
    if bar.span.duration >= _LONG_BAR and span.onset + _SHORTEST_BASS <= half < span.offset:
        return [span.onset, half]
    return [span.onset]


def half_of(bar: Bar) -> Quarters:
    """Where the second strong pulse of a bar falls: the middle, or the later side of it.

    Where the source groups the beats of a whole bar it is the group that begins next to the middle.
    """
    if bar.meter.groups and bar.duration == bar.meter.bar_length:
        return min(bar.meter.group_onsets[1:], key=lambda onset: (abs(2 * onset - bar.duration), -onset))
    pulses = bar.span.duration / bar.meter.pulse
    return bar.meter.pulse * -(-pulses // 2)


def spans_between(onsets: Sequence[Quarters], offset: Quarters) -> list[Span]:
    return [Span(one, other) for one, other in pairwise([*onsets, offset])]


def basses(ground: Ground, onsets: Sequence[Quarters], *, alternates: bool = False) -> tuple[BassDue, ...]:
    """A bass at each of the moments, held until the next; the first tells the harmony where it enters."""
    return tuple(
        BassDue(span, ground.chord, ground.is_entry and span.onset == ground.span.onset, alternates)
        for span in spans_between(onsets, ground.span.offset)
    )


def chord_notes(
    ground: Ground, span: Span, count: int, *, need: Need, lasting: Lasting
) -> Iterable[InnerDue]:
    """Inner notes struck together; the further ones only make the chord fuller."""
    for line in range(count):
        of_line = Need.FULLNESS if line else need
        yield InnerDue(span, ground.chord, line, of_line, lasting, may_repeat=True)


def colour(ground: Ground, bass: Sequence[BassDue]) -> tuple[InnerDue, ...]:
    """One inner note over the first bass, to tell the chord where it is not told, if there is room for it."""
    first = bass[0].span
    room = ground.room(first.onset, with_bass=True)
    return (InnerDue(first, ground.chord, need=Need.COLOUR),) if room else ()
