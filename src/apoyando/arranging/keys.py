"""Keys: which of the twelve, and in which octave the melody sings best there."""

from collections import Counter
from collections.abc import Mapping

from apoyando.model.errors import UsageError
from apoyando.model.instrument import LAST_FRET, Tuning
from apoyando.model.level import Level
from apoyando.model.pitch import Interval, Key, MidiNote, PitchName, Step
from apoyando.model.prices import Prices
from apoyando.model.song import Song
from apoyando.model.time import Quarters

SIGNATURES = range(-5, 7)
"""Twelve key signatures, five flats to six sharps: guitarists read sharps sooner than flats."""

MELODY_LOW, MELODY_HIGH = 60, 76
"""Sounding C4 to E5: where the tune sings, with room for an accompaniment below."""
MOST_SHARPS, MOST_FLATS = 4, 1
"""The signatures that guitarists read with ease (common practice, no source)."""
_OCTAVES = range(-4, 5)


def twelve_keys(song: Song) -> tuple[Key, ...]:
    """The song's key moved to each of the twelve signatures, mode kept."""
    return tuple(Key(fifths, song.key.mode) for fifths in SIGNATURES)


def key_named(tonic: str, song: Song) -> Key:
    """The key with this tonic ("F#", "Bb") in the song's mode. Raises UsageError."""
    name = _pitch_name(tonic)
    key = song.key.transposed(name.fifths - song.key.tonic.fifths)
    if abs(key.fifths) > 7:  # noqa: PLR2004 - no signature has more than seven signs
        raise UsageError(f"key {tonic}: {key} has no key signature; name the same key by its other letter.")
    return key


def _pitch_name(tonic: str) -> PitchName:
    letter, sign = tonic[:1].upper(), tonic[1:]
    alters = {"": 0, "#": 1, "♯": 1, "b": -1, "♭": -1}
    if letter not in set(Step) or sign not in alters:
        raise UsageError(f"key {tonic!r}: a letter from A to G is needed, with # or b where it has one.")
    return PitchName(Step(letter), alters[sign])


def raised(key: Key, semitones: int) -> Key:
    """The key so many semitones higher (or lower), as the signature that guitarists read."""
    if not semitones:
        return key
    return next(
        Key(fifths, key.mode) for fifths in SIGNATURES if (fifths - key.fifths - 7 * semitones) % 12 == 0
    )


def transposition_to(key: Key, song: Song, octave: int) -> Interval:
    """From the song's key to ``key``: the nearest way (-5 to +6 semitones) plus octaves."""
    fifths = key.fifths - song.key.fifths
    nearest = (7 * fifths + 5) % 12 - 5
    return Interval(fifths, nearest + 12 * octave)


def best_octave(song: Song, key: Key, tuning: Tuning, level: Level, prices: Prices) -> int:
    """The octave in which the melody lies best, by the prices of its range alone."""
    counts = Counter((note.pitch.midi, note.duration) for note in song.melody)

    def price(octave: int) -> tuple[int, int]:
        interval = transposition_to(key, song, octave)
        return range_price(counts, interval.semitones, tuning, level, prices), abs(octave)

    return min(_OCTAVES, key=price)


def range_price(
    counts: Mapping[tuple[MidiNote, Quarters], int],
    semitones: int,
    tuning: Tuning,
    level: Level,
    prices: Prices,
) -> int:
    """What a melody's range costs after a shift: dull or thin, too high to reach, or off the board.

    ``counts`` tells how often the melody has a MIDI note of a length.
    """
    top = tuning.open_strings[0]
    total = 0
    for (before, duration), count in counts.items():
        midi = before + semitones
        far = over_level_price(midi - top, level, prices)
        beyond = prices.melody_changed if not min(tuning.open_strings) <= midi <= top + LAST_FRET else 0
        total += count * (register_price(midi, duration, prices) + far + beyond)
    return total


def over_level_price(fret: int, level: Level, prices: Prices, *, is_peak: bool = False) -> int:
    """What it costs the tune to lie at a fret above the level's highest; at a peak only how far."""
    above = max(fret - level.melody_highest_fret, 0)
    at_all = prices.melody_over_level * (above > 0 and not is_peak)
    return at_all + above * prices.melody_over_level_per_fret


def register_price(midi: int, duration: Quarters, prices: Prices) -> int:
    """What it costs the tune to lie below or above where it sings, by the length of the note."""
    low = max(MELODY_LOW - midi, 0) * prices.melody_below_c4_per_semitone
    high = max(midi - MELODY_HIGH, 0) * prices.melody_above_e5_per_semitone
    return round((low + high) * max(duration, Quarters(1, 2))) if low or high else 0


def signature_price(song: Song, key: Key, prices: Prices) -> int:
    """What reading the signature costs over the whole song."""
    beyond = max(key.fifths - MOST_SHARPS, -MOST_FLATS - key.fifths, 0)
    per_bar = abs(key.fifths) * prices.signature_per_sign + beyond * prices.signature_beyond_per_sign
    return per_bar * len(song.bars)
