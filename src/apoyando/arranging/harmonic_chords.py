"""Chords on natural harmonics under a note of the tune that is one itself: which there are, which are better.

Better is the root in the bass, then one fret for all that is touched, more harmonics, the third among the
tones, more tones, a lower bass (common practice, no source).
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

from apoyando.arranging.setting import Setting
from apoyando.model.harmony import Chord, chord_tones
from apoyando.model.instrument import OPEN, STRINGS, Fret, Place

TOUCHED_FRETS = (Fret(12), Fret(7), Fret(5))
"""The octave, the twelfth and the second octave speak surely; other nodes do not (common practice, no source)."""
_AIR = 3
"""Semitones at least between the tune and what lies under it: a minor third."""
_MOST_UNDER = 3
_THIRDS = frozenset({3, 4})


@dataclass(frozen=True, slots=True)
class Tone:
    """One tone of the chord. ``midi`` sounds; ``is_touched``: as a harmonic."""

    place: Place
    midi: int
    is_touched: bool


def list_chords(sung: int, chord: Chord, setting: Setting) -> Iterator[tuple[Tone, ...]]:
    """Every chord of tones on strings of their own, from the tune's down to the bass.

    All touched, or open, or at most one stopped: the bass.
    """
    classes = {tone.name.pitch_class for tone in chord_tones(chord)}
    pool = [
        tone
        for tone in (*_touched(setting), *_stopped(setting))
        if tone.midi <= sung - _AIR and tone.midi % 12 in classes
    ]
    tops = [tone for tone in _touched(setting) if tone.midi == sung]
    for top in tops:
        near = [tone for tone in pool if tone.place.string != top.place.string]
        for count in range(1, min(_MOST_UNDER, setting.level.struck_together - 1) + 1):
            for under in combinations(near, count):
                tones = (top, *sorted(under, key=lambda tone: -tone.midi))
                if _is_chord(tones):
                    yield tones


def _touched(setting: Setting) -> Iterator[Tone]:
    for fret in TOUCHED_FRETS:
        for string in STRINGS if fret <= setting.last_fret else ():
            place = Place(string, fret)
            midi = setting.tuning.harmonic_at(place)
            if midi is not None:
                yield Tone(place, midi, is_touched=True)


def _stopped(setting: Setting) -> Iterator[Tone]:
    """Open strings, and what can be stopped."""
    highest = min(setting.level.accompaniment_highest_fret, setting.last_fret)
    for string in STRINGS:
        for fret in range(OPEN, highest + 1):
            place = Place(string, Fret(fret))
            yield Tone(place, setting.tuning.note_at(place), is_touched=False)


def _is_chord(tones: Sequence[Tone]) -> bool:
    """Tones that differ, on strings that differ; what is stopped is the bass alone, and not where one touches."""
    bass = tones[-1]
    touched = {tone.place.fret for tone in tones if tone.is_touched}
    stopped = [tone for tone in tones if not tone.is_touched and not tone.place.is_open]
    return (
        len({tone.place.string for tone in tones}) == len({tone.midi for tone in tones}) == len(tones)
        and stopped in ([], [bass])
        and all(tone.place.fret not in touched for tone in stopped)
    )


def rank_chord(tones: Sequence[Tone], chord: Chord) -> tuple[bool, int, int, bool, int, int]:
    """What is better comes first."""
    root = chord.root.pitch_class
    touched = [tone for tone in tones if tone.is_touched]
    has_third = any((tone.midi - root) % 12 in _THIRDS for tone in tones)
    frets = {tone.place.fret for tone in touched}
    classes = {tone.midi % 12 for tone in tones}
    bass = tones[-1].midi
    return bass % 12 != root, len(frets), -len(touched), not has_third, -len(classes), bass
