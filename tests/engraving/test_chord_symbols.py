"""How chord symbols are printed (common practice of song books, from memory)."""

import pytest

from apoyando.engraving.notation.chord_symbols import QUALITIES, Run, plain_text, print_chord
from apoyando.model.harmony import KIND_DEGREES, Chord, Degree, DegreeChange
from builders import make_name

ADD, ALTER, SUBTRACT = DegreeChange.ADD, DegreeChange.ALTER, DegreeChange.SUBTRACT


def written(root: str, kind: str, *degrees: Degree, bass: str | None = None) -> str:
    chord = Chord(root=make_name(root), kind=kind, degrees=degrees, bass=make_name(bass) if bass else None)
    return plain_text(print_chord(chord))


def test_every_kind_of_the_vocabulary_can_be_printed() -> None:
    assert QUALITIES.keys() == KIND_DEGREES.keys()


@pytest.mark.parametrize(
    ("root", "kind", "expected"),
    [
        ("C", "major", "C"),
        ("Bb", "major", "B♭"),
        ("F#", "minor-seventh", "F♯m7"),
        ("C", "major-seventh", "Cmaj7"),
        ("B", "half-diminished", "Bm7(♭5)"),
        ("G#", "diminished-seventh", "G♯°7"),
        ("A", "major-minor", "Am(maj7)"),
    ],
)
def test_root_and_kind(root: str, kind: str, expected: str) -> None:
    assert written(root, kind) == expected


@pytest.mark.parametrize(
    ("kind", "degrees", "expected"),
    [
        ("dominant", (Degree(9, -1, ADD),), "C7(♭9)"),
        ("dominant", (Degree(5, 1, ALTER), Degree(9, 1, ADD)), "C7(♯5,♯9)"),
        ("major", (Degree(9, 0, ADD),), "Cadd9"),
        ("major", (Degree(3, 0, SUBTRACT),), "C(no3)"),
        ("suspended-fourth", (Degree(7, 0, ADD),), "C7sus4"),
        ("suspended-fourth", (Degree(7, 0, ADD), Degree(9, 0, ADD)), "C9sus4"),
        ("major-sixth", (Degree(9, 0, ADD),), "C6/9"),
    ],
)
def test_degrees_that_depart_from_the_kind(kind: str, degrees: tuple[Degree, ...], expected: str) -> None:
    assert written("C", kind, *degrees) == expected


def test_a_foreign_bass_follows_a_slash() -> None:
    assert written("D", "major", bass="F#") == "D/F♯"


@pytest.mark.parametrize(
    ("root", "bass", "expected"),
    [
        ("F##", None, "G°7"),
        ("F##", "A#", "G°7/B♭"),
        ("Bbb", "Dbb", "A°7/C"),
        ("D#", "F##", "D♯°7/G"),
        ("Cb", "Gb", "C♭°7/G♭"),
    ],
)
def test_a_root_or_bass_with_two_accidentals_is_printed_by_its_plainer_name(
    root: str, bass: str | None, expected: str
) -> None:
    assert written(root, "diminished-seventh", bass=bass) == expected


def test_figures_are_raised_and_letters_stand_on_the_line() -> None:
    chord = Chord(root=make_name("D"), kind="minor-seventh", bass=make_name("G"))
    assert print_chord(chord) == (Run("Dm"), Run("7", is_raised=True), Run("/G"))


def test_no_chord_is_written_out() -> None:
    assert print_chord(None) == (Run("N.C."),)
