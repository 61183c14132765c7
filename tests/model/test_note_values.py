"""Lines of notes in words."""

from fractions import Fraction

import pytest

from apoyando.model.note_values import name_line, name_value
from apoyando.model.pitch import Pitch
from apoyando.model.time import Span
from builders import make_song


def line(melody: str) -> list[tuple[Span, Pitch]]:
    return [(note.span, note.pitch) for note in make_song(melody, "C:4").melody]


@pytest.mark.parametrize(
    ("melody", "until", "words"),
    [
        ("C5:3/4 D5:1/4", "1", "dotted eighth C5, sixteenth D5"),
        ("C5:1/3 D5:1/3 E5:1/3", "1", "triplet eighths C5 D5 E5"),
        ("C5:1/4 r:1/4 C5:1/4", "1", "sixteenth C5, sixteenth rest, sixteenth C5, sixteenth rest"),
        ("C5:1/2 Bb4:1/2 F#4:4", "5", "eighths C5 Bb4, whole note F#4"),
        ("C5:5/2 D5:1/5", "27/10", "note of 2½ quarters C5, note of 1/5 of a quarter D5"),
    ],
)
def test_notes_and_rests_of_one_length_are_named_together(melody: str, until: str, words: str) -> None:
    assert name_line(line(melody), Fraction(until)) == words


@pytest.mark.parametrize(
    ("quarters", "count", "name"),
    [("1", 1, "quarter"), ("1", 2, "quarters"), ("2", 2, "half notes"), ("5/2", 2, "notes of 2½ quarters")],
)
def test_one_note_is_named_in_the_singular(quarters: str, count: int, name: str) -> None:
    assert name_value(Fraction(quarters), count) == name
