"""Voices: which notes the bass and the inner voice may take, and what each costs the ear."""

from collections.abc import Sequence
from functools import lru_cache

from apoyando.arranging.voice_leading import count_too_low
from apoyando.fingering import FORBIDDEN, Candidate, Table
from apoyando.model.harmony import Chord, ChordFunction, ChordTone, chord_tones
from apoyando.model.pitch import MidiNote
from apoyando.model.prices import Prices

BASS_HIGHEST = 57
"""A3: above it a bass is a tenor (common practice, no source)."""
_BASS_COMFORT = 48
"""C3: the bass lies well on the three low strings up to here without taking others' room."""
_INNER_LOWEST = 47
_INNER_COMFORT = 67
_INNER_HIGHEST = 70
_INNER_RANGE = 19
"""An inner note lies at most a twelfth below the melody's floor, if it can."""
_WHOLE_TONE, _MINOR_THIRD, _FIFTH, _OCTAVE = 2, 3, 7, 12

THIRD_BIT, SEVENTH_BIT = 1, 2

_KEPT = 1024
"""So many tables between voices are kept: a song, and its twelve keys, come back to the same chords."""

_STANDS_FOR_THIRD = (ChordFunction.THIRD, ChordFunction.SECOND, ChordFunction.FOURTH)
"""In a suspended chord the second or the fourth stands where the third would."""


def telling_bits(chord: Chord) -> dict[int, int]:
    """For each pitch class that tells the chord, its bit."""
    bits: dict[int, int] = {}
    for tone in chord_tones(chord):
        if tone.function in _STANDS_FOR_THIRD:
            bits[tone.name.pitch_class] = THIRD_BIT
        elif tone.function is ChordFunction.SEVENTH:
            bits[tone.name.pitch_class] = SEVENTH_BIT
    return bits


@lru_cache(_KEPT)
def bass_candidates(
    chord: Chord, *, below: int, is_first: bool, lowest: int, highest_fret: int, prices: Prices
) -> tuple[Candidate, ...]:
    """Every bass from MIDI note ``lowest`` up, under ``below``, in the register of a bass."""
    bits = telling_bits(chord)
    return tuple(
        Candidate(
            note=MidiNote(midi),
            price=_bass_price(tone, chord, is_first=is_first, prices=prices)
            + max(midi - _BASS_COMFORT, 0) * prices.bass_high_per_semitone
            + (prices.inner_close_to_melody if below - midi < _MINOR_THIRD else 0),
            fills=bits.get(midi % 12, 0),
            highest_fret=highest_fret,
        )
        for tone in chord_tones(chord)
        for midi in _octaves(tone, lowest, min(BASS_HIGHEST + 1, below))
    )


def _bass_price(tone: ChordTone, chord: Chord, *, is_first: bool, prices: Prices) -> int:
    if chord.bass:
        wanted = tone.name.pitch_class == chord.bass.pitch_class
        return 0 if wanted else prices.bass_slash_ignored
    first = {
        ChordFunction.ROOT: 0,
        ChordFunction.FIFTH: prices.bass_fifth,
        ChordFunction.THIRD: prices.bass_third,
        ChordFunction.SEVENTH: prices.bass_seventh,
    }
    again = {
        **first,
        ChordFunction.ROOT: prices.bass_again_root,
        ChordFunction.FIFTH: prices.bass_again_fifth,
        ChordFunction.THIRD: prices.bass_again_third,
    }
    return (first if is_first else again).get(tone.function, prices.bass_other)


@lru_cache(_KEPT)
def inner_candidates(
    chord: Chord, *, below: int, wants: frozenset[tuple[int, int]], highest_fret: int, prices: Prices
) -> tuple[Candidate, ...]:
    """Every inner note under MIDI note ``below``. ``wants`` are those still open: pitch class and bit."""
    bits = dict(wants)
    lowest = (
        min(_INNER_LOWEST, below - 1) if below <= _INNER_LOWEST else max(_INNER_LOWEST, below - _INNER_RANGE)
    )
    return tuple(
        Candidate(
            note=MidiNote(midi),
            price=_inner_price(tone, prices) + _register_price(midi, below, prices),
            fills=bits.get(midi % 12, 0),
            highest_fret=highest_fret,
        )
        for tone in chord_tones(chord)
        for midi in _octaves(tone, lowest, min(_INNER_HIGHEST + 1, below))
    )


def _octaves(tone: ChordTone, lowest: int, below: int) -> range:
    """The MIDI notes of a chord tone from ``lowest`` up."""
    return range(lowest + (tone.name.pitch_class - lowest) % _OCTAVE, below, _OCTAVE)


def _inner_price(tone: ChordTone, prices: Prices) -> int:
    return {
        ChordFunction.ROOT: prices.inner_root,
        ChordFunction.SECOND: prices.inner_suspended,
        ChordFunction.THIRD: 0,
        ChordFunction.FOURTH: prices.inner_suspended,
        ChordFunction.FIFTH: prices.inner_fifth,
        ChordFunction.SIXTH: prices.inner_sixth,
        ChordFunction.SEVENTH: 0,
        ChordFunction.NINTH: prices.inner_ninth,
        ChordFunction.BASS: prices.inner_slash_bass,
    }.get(tone.function, prices.inner_tension)


def _register_price(midi: int, below: int, prices: Prices) -> int:
    gap = below - midi
    return (
        (prices.inner_close_to_melody if gap < _MINOR_THIRD else 0)
        + max(gap - _OCTAVE, 0) * prices.inner_far_below_melody_per_semitone
        + max(midi - _INNER_COMFORT, 0) * prices.inner_high
    )


# Between voices.


def bass_inner_prices(bass: Sequence[Candidate], inner: Sequence[Candidate], prices: Prices) -> Table:
    """The inner voice stays above the bass, and clear of it where it lies low."""
    return _in_order(notes_of(bass), notes_of(inner), prices.muddy_interval_per_semitone, may_double=True)


def inner_lines_prices(lower: Sequence[Candidate], upper: Sequence[Candidate], prices: Prices) -> Table:
    """Inner notes that sound together keep their order, and none says what another has said."""
    return _in_order(notes_of(lower), notes_of(upper), prices.muddy_interval_per_semitone, may_double=False)


@lru_cache(_KEPT)
def _in_order(
    lower: tuple[int, ...], upper: tuple[int, ...], muddy_per_semitone: int, *, may_double: bool
) -> Table:
    """One voice stays above another, and clear of it; ``may_double``: even octaves above."""

    def price(low: int, high: int) -> int:
        if high <= low or not (may_double or (high - low) % _OCTAVE):
            return FORBIDDEN
        return count_too_low(low, high) * muddy_per_semitone

    return tuple(tuple(price(low, high) for high in upper) for low in lower)


def notes_of(candidates: Sequence[Candidate]) -> tuple[int, ...]:
    return tuple([candidate.note for candidate in candidates])


def inner_motion(
    before: Sequence[int],
    after: Sequence[int],
    prices: Prices,
    *,
    is_change: bool = False,
    may_repeat: bool = False,
) -> Table:
    """Neighbouring notes of an inner line: not the same one, not a leap beyond a fifth.

    In a chord that is struck again, or an arpeggio, the same note is what is wanted
    (``may_repeat``). Where the harmony changes the voice should lead on: kept, or by step.
    """
    again = prices.inner_common_tone if is_change or may_repeat else prices.inner_repeated
    leap = prices.inner_leap_at_change if is_change else 0

    def price(one: int, other: int) -> int:
        if one == other:
            return again
        interval = abs(one - other)
        return leap * (interval > _WHOLE_TONE) + max(interval - _FIFTH, 0) * prices.inner_leap_per_semitone

    return tuple(tuple(price(one, other) for other in after) for one in before)


def bass_motion(
    before: Sequence[int],
    after: Sequence[int],
    melody_step: tuple[int, int] | None,
    prices: Prices,
    *,
    alternates: bool = False,
) -> Table:
    """The bass line: by step where it can; no perfect parallels with the melody.

    ``melody_step`` is the melody's note before and at the moment of the new bass, if it
    sounds at both. ``alternates``: the bass goes to and fro.
    """

    def price(one: int, other: int) -> int:
        leap = abs(one - other)
        total = prices.bass_leap * (leap > _WHOLE_TONE)
        total += max(leap - _FIFTH, 0) * prices.bass_leap_per_semitone
        total += prices.bass_repeated * (alternates and one == other)
        if melody_step and _is_parallel(one, other, *melody_step):
            total += prices.parallel_perfects
        return total

    return tuple(tuple(price(one, other) for other in after) for one in before)


def _is_parallel(bass: int, new_bass: int, melody: int, new_melody: int) -> bool:
    if bass == new_bass or melody == new_melody or (bass < new_bass) != (melody < new_melody):
        return False
    interval = (melody - bass) % _OCTAVE
    return interval == (new_melody - new_bass) % _OCTAVE and interval in {0, _FIFTH}
