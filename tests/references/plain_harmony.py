"""Chords for tunes that have none: the primary triads, one to a bar, by plain counting.

For measuring only: hundreds of melodies without chord symbols become songs that the program
must cope with. Tonic, subdominant and dominant are tried for every bar; the one whose tones
sound longest in it is taken, a downbeat counting twice, and of equals the tonic first. The
last bar has the tonic (common practice, no source).
"""

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

from apoyando.model.harmony import Chord, HarmonySpan, chord_tones
from apoyando.model.pitch import Key, Mode
from apoyando.model.song import Bar, MelodyNote, Song

_MINOR_TONIC = {Mode.MINOR, Mode.AEOLIAN, Mode.DORIAN, Mode.PHRYGIAN, Mode.LOCRIAN}
_ON_THE_BEAT = 2


def harmonise(song: Song) -> Song:
    """The song with a chord for every bar but a pickup, whatever harmony it had."""
    return replace(song, harmony=tuple(_spans(song)))


def _spans(song: Song) -> Iterator[HarmonySpan]:
    for bar in song.bars:
        if not bar.is_pickup:
            triads = primary_triads(bar.key)
            is_last = bar is song.bars[-1]
            yield HarmonySpan(bar.span, triads[0] if is_last else _best_fit(triads, bar, song.melody))


def primary_triads(key: Key) -> tuple[Chord, ...]:
    """Tonic, dominant and subdominant; in a minor key the dominant has its leading note."""
    tonic = "minor" if key.mode in _MINOR_TONIC else "major"
    subdominant = "major" if key.mode is Mode.DORIAN else tonic
    return (
        Chord(root=key.tonic, kind=tonic),
        Chord(root=key.tonic.transposed(1), kind="dominant"),
        Chord(root=key.tonic.transposed(-1), kind=subdominant),
    )


def _best_fit(triads: tuple[Chord, ...], bar: Bar, melody: tuple[MelodyNote, ...]) -> Chord:
    def fit(chord: Chord) -> Fraction:
        tones = {tone.name.pitch_class for tone in chord_tones(chord)}
        return sum(
            (_weight(note, bar) for note in melody if note.pitch.midi % 12 in tones),
            Fraction(0),
        )

    return max(triads, key=fit)


def _weight(note: MelodyNote, bar: Bar) -> Fraction:
    sounds = min(note.offset, bar.offset) - max(note.onset, bar.onset)
    return max(sounds, Fraction(0)) * (_ON_THE_BEAT if note.onset == bar.onset else 1)
