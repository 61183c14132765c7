"""The melody in its new key: transposed, and folded by phrase where it leaves the fingerboard."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from apoyando.model.arrangement import MelodyChange
from apoyando.model.pitch import Interval, Pitch
from apoyando.model.song import MelodyNote, Song

_PHRASE_REST = Fraction(1, 2)
"""A rest of at least an eighth ends a phrase (common practice, no source)."""
_PHRASE_LONG_NOTE = Fraction(2)
"""So does a note of at least a half note (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class TransposedMelody:
    """The melody's notes in order, one for each note of the song, and what was changed."""

    notes: tuple[MelodyNote, ...]
    changes: tuple[MelodyChange, ...]


def transpose_melody(song: Song, interval: Interval, lowest: int, highest: int) -> TransposedMelody:
    """The song's melody moved by ``interval``; all of it from MIDI note ``lowest`` to ``highest``.

    Where notes lie outside, their whole phrase moves by octaves; where even that does not
    do, the single note does. Each moved note is a change.
    """
    moved: list[MelodyNote] = []
    for phrase in split_phrases(song.melody):
        notes = [replace(note, pitch=note.pitch.transposed(interval)) for note in phrase]
        octaves = _octaves_into(notes, lowest, highest)
        moved += [_fold(note, octaves, lowest, highest) for note in notes]
    changes = [
        _change(song, old, old.pitch.transposed(interval), new.pitch)
        for old, new in zip(song.melody, moved, strict=True)
        if old.pitch.transposed(interval) != new.pitch
    ]
    return TransposedMelody(tuple(moved), tuple(changes))


def split_phrases(melody: Sequence[MelodyNote]) -> list[list[MelodyNote]]:
    """Phrases: they end at a rest and after a long note."""
    phrases: list[list[MelodyNote]] = [[]]
    for note, following in pairwise([*melody, None]):
        assert note is not None  # noqa: S101 - only the last of a pair can be None
        phrases[-1].append(note)
        if following is None:
            break
        if following.onset - note.offset >= _PHRASE_REST or note.duration >= _PHRASE_LONG_NOTE:
            phrases.append([])
    return [phrase for phrase in phrases if phrase]


def _octaves_into(notes: Sequence[MelodyNote], lowest: int, highest: int) -> int:
    """The smallest shift by octaves that brings most notes of a phrase into the range."""

    def outside(octaves: int) -> tuple[int, int]:
        midis = [note.pitch.midi + 12 * octaves for note in notes]
        return sum(not lowest <= midi <= highest for midi in midis), abs(octaves)

    return min(range(-4, 5), key=outside)


def _fold(note: MelodyNote, octaves: int, lowest: int, highest: int) -> MelodyNote:
    pitch = Pitch(note.pitch.name, note.pitch.octave + octaves)
    while pitch.midi < lowest:
        pitch = Pitch(pitch.name, pitch.octave + 1)
    while pitch.midi > highest:
        pitch = Pitch(pitch.name, pitch.octave - 1)
    return replace(note, pitch=pitch)


def _change(song: Song, note: MelodyNote, wanted: Pitch, got: Pitch) -> MelodyChange:
    return MelodyChange(
        bar=song.bar_at(note.onset).number,
        onset=note.onset,
        old=str(wanted),
        new=str(got),
        reason="outside the range of the fingerboard: the phrase is played in another octave",
    )
