"""Voice leading: what a note of the bass or the inner voice asks of the next, from chord to chord.

Conventions: the rules are those of any harmony text (common practice; stated from memory).
Notes are MIDI numbers; a step is one or two semitones.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

from apoyando.fingering import Table
from apoyando.model.harmony import Chord, ChordFunction, chord_tones
from apoyando.model.prices import Prices

_STEP = (1, 2)
_MAJOR_THIRD, _FIFTH, _OCTAVE = 4, 7, 12

_KEPT = 1024
"""What the chords of a song and of its twelve keys come to; every note of the bass asks for it."""

_LOWEST_PLACES = {1: 52, 2: 51, 3: 48, 4: 47, 5: 45, 6: 35, 7: 37, 8: 41, 9: 41, 10: 41, 11: 41}
"""For each interval the lowest MIDI note under which it is still clear: a minor second from E3, a
major second from E♭3, a minor third from C3, a major third from B2, a fourth from A2, a tritone
from B1, a fifth from C♯2, sixths and sevenths from F2. The arrangers' table of low interval limits,
as D. Darling's encyclopedia of music and others print it; octaves and wider are clear everywhere."""


@dataclass(frozen=True, slots=True)
class Progress:
    """A voice goes on: what a note and the next one may be, as MIDI notes, each with its chord."""

    old_chord: Chord
    before: tuple[int, ...]
    new_chord: Chord
    after: tuple[int, ...]

    @property
    def is_change(self) -> bool:
        return not self.new_chord.is_same_as(self.old_chord)


def count_too_low(low: int, high: int) -> int:
    """By how many semitones an interval lies below the place from which it is clear."""
    return max(_LOWEST_PLACES.get(high - low, low) - low, 0)


def resolution_prices(progress: Progress, prices: Prices) -> Table:
    """At a change of harmony sevenths fall by step, leading notes rise by a semitone; or they stay.

    A leading note is the major third of a chord whose root falls by a fifth into the next.
    """
    if not progress.is_change:
        return ()
    sevenths = _tones(progress.old_chord, ChordFunction.SEVENTH)
    leading_notes = _leading_notes(progress.old_chord, progress.new_chord)

    def price(one: int, other: int) -> int:
        if one % _OCTAVE in sevenths and one - other not in (0, *_STEP):
            return prices.seventh_unresolved
        if one % _OCTAVE in leading_notes and other - one not in {0, 1}:
            return prices.leading_note_unresolved
        return 0

    return _table(progress, price) if sevenths or leading_notes else ()


def line_prices(progress: Progress, prices: Prices) -> Table:
    """What makes a bass good that is not the one the chord asks for: a step to it or from it, a pedal.

    Best where the step is what such a bass is there for: it leads into the next chord, or resolves a
    seventh (``docs/objective.md``, "Another bass, and why"). A seventh that only goes back to its root
    leads nowhere.
    """
    old_chord, new_chord = progress.old_chord, progress.new_chord

    def price(one: int, other: int) -> int:
        if not is_step(one, other):
            is_pedal = progress.is_change and one == other and not is_wanted_bass(new_chord, other)
            return prices.bass_pedal if is_pedal else 0
        left = right = 0
        if progress.is_change and leads_by_step(old_chord, one, other):
            left = prices.bass_leads
        elif progress.is_change and is_line_tone(old_chord, one):
            left = prices.bass_line_step
        if progress.is_change and is_resolution(old_chord, one, new_chord, other):
            right = prices.bass_leads
        elif is_third_in_line(new_chord, other):
            right = prices.bass_line_step
        return left + right

    return _table(progress, price)


def hand_over_prices(progress: Progress, prices: Prices) -> Table:
    """What an inner note gains that goes on by step as the bass of the next harmony."""
    if not (progress.is_change and prices.inner_into_bass):
        return ()
    table = _table(progress, lambda one, other: prices.inner_into_bass * is_step(one, other))
    return table if any(map(any, table)) else ()


def leads_by_step(chord: Chord, note: int, following: int) -> bool:
    """Whether another bass than the chord's own leads into the next: a third that rises, a seventh that falls.

    So does the fifth of a seventh chord, either way. The notes are a step apart.
    """
    if is_line_tone(chord, note):
        return (following < note) == is_seventh(chord, note)
    return is_fifth(chord, note) and has_seventh(chord) and not is_wanted_bass(chord, note)


def is_resolution(chord: Chord, note: int, new_chord: Chord, following: int) -> bool:
    """Whether a seventh in the bass falls to the third of the next chord. The notes are a step apart."""
    return is_seventh(chord, note) and is_third_in_line(new_chord, following) and following < note


def is_wanted_bass(chord: Chord, midi: int) -> bool:
    """Whether a note is the bass that the chord symbol names: its root, or what stands under the slash."""
    return midi % _OCTAVE == _wanted_bass(chord)


def falls_by_fifth(old: Chord, new: Chord) -> bool:
    """Whether the root falls by a fifth from one chord to another: the first is a dominant of the second."""
    return (old.root.pitch_class - new.root.pitch_class) % _OCTAVE == _FIFTH


def is_step(one: int, other: int) -> bool:
    return abs(one - other) in _STEP


def is_line_tone(chord: Chord, midi: int) -> bool:
    """Whether a note in the bass is a third or seventh that stands for the bass that the chord asks for."""
    return midi % _OCTAVE in _line_tones(chord)


def is_third_in_line(chord: Chord, midi: int) -> bool:
    """Whether it is a third that stands there."""
    return is_line_tone(chord, midi) and not is_seventh(chord, midi)


def is_seventh(chord: Chord, midi: int) -> bool:
    return midi % _OCTAVE in _tones(chord, ChordFunction.SEVENTH)


def has_seventh(chord: Chord) -> bool:
    return bool(_tones(chord, ChordFunction.SEVENTH))


def is_fifth(chord: Chord, midi: int) -> bool:
    return midi % _OCTAVE in _tones(chord, ChordFunction.FIFTH)


def add_tables(*tables: Table) -> Table:
    """The sum of tables of one shape; an empty one is all zeros."""
    filled = [table for table in tables if table]
    if len(filled) == 1:
        return filled[0]
    return tuple(tuple(sum(cells) for cells in zip(*rows, strict=True)) for rows in zip(*filled, strict=True))


@lru_cache(_KEPT)
def _line_tones(chord: Chord) -> frozenset[int]:
    """The thirds and sevenths that are an inversion in the bass."""
    tones = _tones(chord, ChordFunction.THIRD) | _tones(chord, ChordFunction.SEVENTH)
    return tones - {_wanted_bass(chord)}


def _wanted_bass(chord: Chord) -> int:
    return (chord.bass or chord.root).pitch_class


@lru_cache(_KEPT)
def _tones(chord: Chord, function: ChordFunction) -> frozenset[int]:
    return frozenset(tone.name.pitch_class for tone in chord_tones(chord) if tone.function is function)


def _leading_notes(old: Chord, new: Chord) -> frozenset[int]:
    if not falls_by_fifth(old, new):
        return frozenset()
    return _tones(old, ChordFunction.THIRD) & {(old.root.pitch_class + _MAJOR_THIRD) % _OCTAVE}


def _table(progress: Progress, price: Callable[[int, int], int]) -> Table:
    return tuple(tuple(price(one, other) for other in progress.after) for one in progress.before)
