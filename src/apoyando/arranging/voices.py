"""Voices: which notes the bass and the inner voice may take, and what each costs the ear."""

from collections.abc import Sequence

from apoyando.arranging.voice_leading import count_too_low
from apoyando.fingering import FORBIDDEN, Candidate, Table
from apoyando.model.harmony import Chord, ChordFunction, ChordTone, chord_tones
from apoyando.model.instrument import Tuning
from apoyando.model.level import Level
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
_WHOLE_TONE, _MINOR_THIRD, _FIFTH, _OCTAVE, _TWELFTH = 2, 3, 7, 12, 19

THIRD_BIT, SEVENTH_BIT = 1, 2

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


def bass_candidates(
    chord: Chord, *, below: int, is_first: bool, tuning: Tuning, level: Level, prices: Prices
) -> tuple[Candidate, ...]:
    """Every bass under MIDI note ``below``, in the register of a bass."""
    lowest = min(tuning.open_strings)
    bits = telling_bits(chord)
    return tuple(
        Candidate(
            note=MidiNote(midi),
            price=_bass_price(tone, chord, is_first=is_first, prices=prices)
            + max(midi - _BASS_COMFORT, 0) * prices.bass_high_per_semitone
            + (prices.inner_close_to_melody if below - midi < _MINOR_THIRD else 0),
            fills=bits.get(midi % 12, 0),
            highest_fret=level.accompaniment_highest_fret,
        )
        for tone in chord_tones(chord)
        for midi in range(lowest, min(BASS_HIGHEST + 1, below))
        if midi % 12 == tone.name.pitch_class
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
    }
    return (first if is_first else again).get(tone.function, prices.bass_other)


def inner_candidates(
    chord: Chord, *, below: int, bits: dict[int, int], level: Level, prices: Prices
) -> tuple[Candidate, ...]:
    """Every inner note under MIDI note ``below``. ``bits`` are the wants still open."""
    lowest = (
        min(_INNER_LOWEST, below - 1) if below <= _INNER_LOWEST else max(_INNER_LOWEST, below - _INNER_RANGE)
    )
    return tuple(
        Candidate(
            note=MidiNote(midi),
            price=_inner_price(tone, prices) + _register_price(midi, below, prices),
            fills=bits.get(midi % 12, 0),
            highest_fret=level.accompaniment_highest_fret,
        )
        for tone in chord_tones(chord)
        for midi in range(lowest, min(_INNER_HIGHEST + 1, below))
        if midi % 12 == tone.name.pitch_class
    )


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

    def price(low: int, high: int) -> int:
        if high <= low:
            return FORBIDDEN
        return count_too_low(low, high) * prices.muddy_interval_per_semitone

    return tuple(tuple(price(b.note, i.note) for i in inner) for b in bass)


def inner_lines_prices(lower: Sequence[Candidate], upper: Sequence[Candidate], prices: Prices) -> Table:
    """Inner notes that sound together keep their order, and none says what another has said."""

    def price(low: int, high: int) -> int:
        if high <= low or (high - low) % _OCTAVE == 0:
            return FORBIDDEN
        return count_too_low(low, high) * prices.muddy_interval_per_semitone

    return tuple(tuple(price(one.note, other.note) for other in upper) for one in lower)


def inner_motion(
    before: Sequence[Candidate],
    after: Sequence[Candidate],
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

    return tuple(tuple(price(b.note, a.note) for a in after) for b in before)


def bass_motion(
    before: Sequence[Candidate],
    after: Sequence[Candidate],
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

    return tuple(tuple(price(b.note, a.note) for a in after) for b in before)


def _is_parallel(bass: int, new_bass: int, melody: int, new_melody: int) -> bool:
    if bass == new_bass or melody == new_melody or (bass < new_bass) != (melody < new_melody):
        return False
    interval = (melody - bass) % _OCTAVE
    return interval == (new_melody - new_bass) % _OCTAVE and interval in {0, _FIFTH}
