"""The spelling of the whole MusicXML ``kind`` list against music21 10.5, an outside reference.

Four kinds are named by function, and music21 takes their root for the tonic of the key,
where this program (like MusicXML's own ``root``) takes the chord's own letter:

* the augmented sixths of C are, in music21, A flat C F sharp and so on: the same chords a
  major third lower;
* the Neapolitan is, in any harmony text, the major triad on the lowered second degree.
  music21 gives C Db E Gb, which is no triad; this program gives the triad on its own root.
"""

import pytest
from music21.harmony import CHORD_TYPES, ChordSymbol

from apoyando.model.harmony import KIND_DEGREES, Chord, chord_tones
from apoyando.model.pitch import PitchName, Step
from apoyando.reading.musicxml.harmonies import KINDS_IN_THE_WILD
from reading.musicxml_examples import chord, note, song_of

AUGMENTED_SIXTHS = {"Italian", "French", "German"}
EXPLAINED = AUGMENTED_SIXTHS | {"Neapolitan"}


def music21_names(root: str, kind: str) -> list[str]:
    return sorted(pitch.name.replace("-", "b") for pitch in ChordSymbol(root=root, kind=kind).pitches)


def our_names(root: PitchName, kind: str) -> list[str]:
    return sorted(str(tone.name) for tone in chord_tones(Chord(root=root, kind=kind)))


@pytest.mark.parametrize("kind", sorted(KIND_DEGREES.keys() - EXPLAINED))
@pytest.mark.parametrize("root", ["C", "F#", "Bb", "E", "Ab"])
def test_a_kind_is_spelled_as_music21_spells_it(root: str, kind: str) -> None:
    name = PitchName(Step(root[0]), {"": 0, "#": 1, "b": -1}[root[1:]])
    assert our_names(name, kind) == music21_names(root.replace("b", "-"), kind)


@pytest.mark.parametrize("kind", sorted(AUGMENTED_SIXTHS))
def test_an_augmented_sixth_is_that_of_the_key_a_major_third_above_its_root(kind: str) -> None:
    assert our_names(PitchName(Step.A, -1), kind) == music21_names("C", kind)


def test_the_neapolitan_is_a_major_triad_on_its_own_root() -> None:
    assert our_names(PitchName(Step.D, -1), "Neapolitan") == ["Ab", "Db", "F"]


@pytest.mark.parametrize("kind", sorted(KINDS_IN_THE_WILD))
def test_a_kind_that_programs_write_outside_the_list_is_spelled_as_music21_spells_it(kind: str) -> None:
    (span,) = song_of(chord("C", kind) + note("C4", 8)).harmony
    assert span.chord is not None
    ours = sorted(str(tone.name) for tone in chord_tones(span.chord))
    assert ours == sorted(set(music21_names("C", kind)))


def test_every_kind_that_music21_may_have_written_is_known() -> None:
    assert set(CHORD_TYPES) <= set(KIND_DEGREES) | set(KINDS_IN_THE_WILD)
