"""Small things that a player does without being told: the same each time, and to be turned off.

The first of a bar a little heavier, what lies between the beats a little lighter; the end of a
phrase a little softer and later; a fermata held; a full chord not quite at once, the lowest
string first. Sizes are estimates, no source; they stay below what would disturb who plays along.
"""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby

from apoyando.model.arrangement import Role
from apoyando.model.beat import count_beat
from apoyando.model.phrase import split_phrases
from apoyando.model.song import Bar
from apoyando.model.time import Quarters, Span
from apoyando.sound.performance import Performance, PlayedBar, PlayedNote
from apoyando.sound.tempo import Easing

FIRST_BEAT_DB = 0.8
OFF_BEAT_DB = -0.8
ACCOMPANIMENT_SHARE = 0.5
"""The accompaniment is more even than the melody."""
PHRASE_END_DB = -1.5
PHRASE_END_FACTOR = 1.05
LAST_BAR_FACTOR = 1.15
FERMATA_FACTOR = 1.5
FEWEST_NOTES = 4
"""A phrase of fewer notes is not shaped by itself."""
SPREAD_S = 0.007
FEWEST_SPREAD = 3


@dataclass(frozen=True, slots=True)
class Shading:
    """How one note differs from an even one."""

    level_db: float = 0.0
    delay_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Phrasing:
    """Law: ``shadings`` are those of the performance's notes, in their order."""

    shadings: tuple[Shading, ...]
    easings: tuple[Easing, ...] = ()


def play_evenly(performance: Performance) -> Phrasing:
    return Phrasing((Shading(),) * len(performance.notes))


def shape(performance: Performance) -> Phrasing:
    """The phrasing of a performance."""
    ends = {end.span: end for end in _phrase_ends(performance)}
    delays = dict(_spread_chords(performance.notes))
    levels = [_weigh(played, performance.bars, ends) for played in performance.notes]
    shadings = (Shading(level, delays.get(place, 0.0)) for place, level in enumerate(levels))
    return Phrasing(tuple(shadings), tuple(_ease(performance, tuple(ends.values()))))


def _phrase_ends(performance: Performance) -> Iterator[PlayedNote]:
    """The last note of each phrase of the melody; short phrases are joined to the next."""
    melody = [played for played in performance.notes if played.note.role is Role.MELODY]
    length = 0
    for phrase in split_phrases(melody) if melody else ():
        length += len(phrase)
        if length >= FEWEST_NOTES:
            yield phrase[-1]
            length = 0


def _ease(performance: Performance, ends: Sequence[PlayedNote]) -> Iterator[Easing]:
    for played in ends:
        pulse = _bar_of(played.onset, performance.bars).bar.meter.pulse
        yield Easing(Span(max(played.onset, played.offset - pulse), played.offset), PHRASE_END_FACTOR)
    for played in performance.notes:
        if played.note.has_fermata:
            yield Easing(played.span, FERMATA_FACTOR)
    yield Easing(Span(performance.bars[-1].onset, performance.duration), LAST_BAR_FACTOR)


def _weigh(played: PlayedNote, bars: Sequence[PlayedBar], ends: dict[Span, PlayedNote]) -> float:
    level = _metric_level(played, bars)
    if played.note.role is not Role.MELODY:
        return ACCOMPANIMENT_SHARE * level
    return level + (PHRASE_END_DB if ends.get(played.span) is played else 0.0)


def _metric_level(played: PlayedNote, bars: Sequence[PlayedBar]) -> float:
    """By the written place in the bar, so that a rolled chord counts where it begins."""
    bar = _bar_of(played.onset, bars).bar
    beat = count_beat(bar, max(played.note.onset, bar.onset))
    if beat == 1:
        return FIRST_BEAT_DB
    is_on = beat.denominator == 1 if not bar.meter.is_uneven else _place(beat, bar) in bar.meter.group_onsets
    return 0.0 if is_on else OFF_BEAT_DB


def _place(beat: Fraction, bar: Bar) -> Quarters:
    return (beat - 1) * bar.meter.pulse % bar.meter.bar_length


def _bar_of(moment: Quarters, bars: Sequence[PlayedBar]) -> PlayedBar:
    return bars[bisect_right(bars, moment, key=lambda played: played.onset) - 1]


def _spread_chords(notes: Sequence[PlayedNote]) -> Iterator[tuple[int, float]]:
    """How much later than the lowest each note of a full chord is struck, by its place."""
    for _, struck in groupby(enumerate(notes), key=lambda entry: entry[1].onset):
        chord = sorted(struck, key=lambda entry: entry[1].note.pitch.midi)
        if len(chord) >= FEWEST_SPREAD:
            yield from ((place, step * SPREAD_S) for step, (place, _) in enumerate(chord))
