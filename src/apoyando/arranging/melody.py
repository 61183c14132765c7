"""The melody in its new key: transposed, and folded by phrase where it leaves the fingerboard."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from apoyando.arranging.simplification import SimplifiedMelody, list_changes
from apoyando.model.arrangement import MelodyChange
from apoyando.model.phrase import split_phrases
from apoyando.model.pitch import Interval, Pitch
from apoyando.model.song import MelodyNote, Song


@dataclass(frozen=True, slots=True)
class TransposedMelody:
    """The melody's notes in order, and what was changed.

    ``simplified`` are the changes that made it simpler, ``folded`` those of octaves.
    ``sources`` are the indices of the notes in the song's melody.
    """

    notes: tuple[MelodyNote, ...]
    sources: tuple[int, ...]
    folded: tuple[MelodyChange, ...]
    simplified: tuple[MelodyChange, ...] = ()

    @property
    def changes(self) -> tuple[MelodyChange, ...]:
        return tuple(sorted((*self.simplified, *self.folded), key=lambda change: change.onset))


def transpose_melody(
    simplified: SimplifiedMelody, interval: Interval, lowest: int, highest: int
) -> TransposedMelody:
    """The melody moved by ``interval``; all of it from MIDI note ``lowest`` to ``highest``.

    Where notes lie outside, their whole phrase moves by octaves; where even that does not
    do, the single note does. Each moved note is a change.
    """
    song = simplified.song
    moved: list[MelodyNote] = []
    for phrase in split_phrases(song.melody):
        notes = [replace(note, pitch=note.pitch.transposed(interval)) for note in phrase]
        octaves = _octaves_into(notes, lowest, highest)
        moved += [_fold(note, octaves, lowest, highest) for note in notes]
    folded = [
        _change(song, old, old.pitch.transposed(interval), new.pitch)
        for old, new in zip(song.melody, moved, strict=True)
        if old.pitch.transposed(interval) != new.pitch
    ]
    return TransposedMelody(
        tuple(moved), simplified.sources, tuple(folded), list_changes(simplified, interval)
    )


def _octaves_into(notes: Sequence[MelodyNote], lowest: int, highest: int) -> int:
    """The smallest shift by octaves that brings most notes of a phrase into the range."""
    midis = [note.pitch.midi for note in notes]

    def outside(octaves: int) -> tuple[int, int]:
        return sum(not lowest <= midi + 12 * octaves <= highest for midi in midis), abs(octaves)

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
