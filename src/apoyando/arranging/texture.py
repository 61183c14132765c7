"""Texture: when the accompaniment is struck.

A bass is due at the start of every bar and of every harmony, and at the half of a long bar.
In running eighths an inner note is due wherever neither melody nor bass strikes, so that
something moves on every eighth.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from apoyando.model.harmony import Chord, HarmonySpan
from apoyando.model.song import Bar, MelodyNote, Song, bar_at
from apoyando.model.time import Quarters, Span

EIGHTH = Fraction(1, 2)
_LONG_BAR = Fraction(4)
_SHORTEST_BASS = Fraction(1)
"""A bass that has just entered with its harmony is not struck again at the half of the bar."""
_FASTEST_QUARTERS_PER_MINUTE = 168
"""Above this tempo the motion runs in quarters: 5.6 eighths a second is past intermediate hands."""


@dataclass(frozen=True, slots=True)
class BassDue:
    """A bass is wanted for the span. ``is_first`` in its harmony and bar.

    ``is_locked``: the player has locked it, and it may not be left out.
    """

    span: Span
    chord: Chord
    is_first: bool
    is_locked: bool = False


@dataclass(frozen=True, slots=True)
class InnerDue:
    """An inner note is wanted for the span; without ``keeps_motion`` it only fills the chord.

    ``is_locked``: the player has locked it, and it may not be left out.
    """

    span: Span
    chord: Chord
    keeps_motion: bool = True
    is_locked: bool = False


@dataclass(frozen=True, slots=True)
class Window:
    """One harmony within one bar: the stretch in which its telling tones should be heard."""

    span: Span
    chord: Chord
    bass: tuple[BassDue, ...]
    inner: tuple[InnerDue, ...]


def motion_unit(tempo_quarters_per_minute: Fraction) -> Quarters:
    """The value in which the texture runs."""
    return EIGHTH if tempo_quarters_per_minute <= _FASTEST_QUARTERS_PER_MINUTE else Fraction(1)


def lay_texture(song: Song, melody: Sequence[MelodyNote], unit: Quarters) -> tuple[Window, ...]:
    """Every window of the song with what is due in it, running eighths (or ``unit``)."""
    strikes = {note.onset for note in melody}
    crossed = _crossed_pulses(song.bars, melody)
    return tuple(
        _lay_window(bar, Span(onset, offset), chord, strikes, crossed, unit)
        for bar in song.bars
        if not bar.is_pickup
        for onset, offset, chord in _chords_in(bar, song.harmony)
    )


def _chords_in(bar: Bar, harmony: Sequence[HarmonySpan]) -> list[tuple[Quarters, Quarters, Chord]]:
    """The bar's chords from when to when; a chord that is written again goes on."""
    chords: list[tuple[Quarters, Quarters, Chord]] = []
    first = bisect_right(harmony, bar.onset, key=lambda h: h.offset)
    for h in harmony[first : bisect_left(harmony, bar.offset, key=lambda h: h.onset)]:
        if not h.chord:
            continue
        onset, offset = max(bar.onset, h.onset), min(bar.offset, h.offset)
        if chords and chords[-1][1] == onset and replace(chords[-1][2], text="") == replace(h.chord, text=""):
            onset = chords.pop()[0]
        chords.append((onset, offset, h.chord))
    return chords


def _lay_window(
    bar: Bar, span: Span, chord: Chord, strikes: set[Quarters], crossed: set[Quarters], unit: Quarters
) -> Window:
    onsets = _bass_onsets(bar, span)
    bass = tuple(
        BassDue(Span(onset, offset), chord, onset == span.onset)
        for onset, offset in zip(onsets, [*onsets[1:], span.offset], strict=True)
    )
    inner = tuple(
        InnerDue(slot, chord)
        for slot in _slots(bar, span, onsets, unit)
        if slot.onset not in strikes and slot.onset not in onsets and not _in_pulse(slot, bar, crossed)
    )
    if not inner:
        first = Span(span.onset, min([*onsets[1:], span.offset]))
        inner = (InnerDue(first, chord, keeps_motion=False),)
    return Window(span, chord, bass, inner)


def _bass_onsets(bar: Bar, span: Span) -> list[Quarters]:
    """The window's start, and the half of a long bar if the window spans it."""
    half = bar.onset + _half(bar)
    if bar.span.duration >= _LONG_BAR and span.onset + _SHORTEST_BASS <= half < span.offset:
        return [span.onset, half]
    return [span.onset]


def _half(bar: Bar) -> Quarters:
    """Where the second strong pulse of a bar falls: the middle, or the later side of it."""
    pulses = bar.span.duration / bar.meter.pulse
    return bar.meter.pulse * -(-pulses // 2)


def _slots(bar: Bar, span: Span, onsets: list[Quarters], unit: Quarters) -> list[Span]:
    """The bar's grid within the window; a slot ends early where a bass is due."""
    count = int(bar.span.duration / unit) + 1
    grid = [bar.onset + unit * step for step in range(count)]
    ends = [*onsets, span.offset]
    return [
        Span(point, min([point + unit, *(end for end in ends if end > point)]))
        for point in grid
        if span.onset <= point < span.offset
    ]


def _crossed_pulses(bars: tuple[Bar, ...], melody: Sequence[MelodyNote]) -> set[Quarters]:
    """Starts of the pulses in which the melody moves in triplets: no eighths against them."""
    crossed: set[Quarters] = set()
    for note in melody:
        bar = bar_at(bars, note.onset)
        within = note.onset - bar.onset
        if _is_tuplet(within):
            crossed.add(bar.onset + within // bar.meter.pulse * bar.meter.pulse)
    return crossed


def _is_tuplet(onset: Quarters) -> bool:
    return onset.denominator & (onset.denominator - 1) != 0


def _in_pulse(slot: Span, bar: Bar, crossed: set[Quarters]) -> bool:
    pulse = bar.meter.pulse
    start = bar.onset + (slot.onset - bar.onset) // pulse * pulse
    return any(start <= moment < start + pulse for moment in crossed)
