"""Shapes that every player knows, fingered from their frets alone (common practice, no source).

Frets and fingers are written from string 6 to string 1; x is a silent string.
"""

import pytest

from apoyando.model.prices import Prices
from apoyando.reading import load_default_levels
from references.chord_shapes import QUARTERS, ChordShape, Press, ask_fingers

LEVELS = load_default_levels()


def fingers(frets: str, level: str = "advanced", quarters: float = QUARTERS) -> str:
    stops = zip(range(6, 0, -1), frets, strict=True)
    shape = ChordShape(frets, tuple(Press(string, int(fret), 0) for string, fret in stops if fret != "x"))
    answer = ask_fingers(shape, LEVELS[level], Prices(), quarters).fingers or ()
    found = dict(zip((press.string for press in shape.presses), answer, strict=True))
    return "".join(str(found.get(string, "x")) for string in range(6, 0, -1))


def moved(frets: str, by: int) -> str:
    return "".join(fret if fret == "x" else str(int(fret) + by) for fret in frets)


@pytest.mark.parametrize("level", ["intermediate", "advanced"])
@pytest.mark.parametrize(
    ("chord", "frets", "known"),
    [
        ("C", "x32010", "x32010"),
        ("A", "x02220", "x01230"),
        ("G", "320003", "210003"),
        ("E", "022100", "023100"),
        ("D", "xx0232", "xx0132"),
        ("Am", "x02210", "x02310"),
        ("Em", "022000", "012000"),
        ("Dm", "xx0231", "xx0231"),
        ("G7", "320001", "320001"),
        ("D7", "xx0212", "xx0213"),
        ("E7", "020100", "020100"),
        ("A7", "x02020", "x01020"),
        ("B7", "x21202", "x21304"),
        ("C7", "x32310", "x32410"),
    ],
)
def test_open_position_chords_have_their_usual_fingers(
    chord: str, frets: str, known: str, level: str
) -> None:
    assert fingers(frets, level) == known, chord


@pytest.mark.parametrize(
    ("chord", "frets", "known"),
    [
        ("C", "x32010", "x32010"),
        ("G", "320003", "210003"),
        ("D", "xx0232", "xx0132"),
        ("A", "x02220", "x01230"),
        ("E", "022100", "023100"),
        ("Am", "x02210", "x02310"),
        ("Em", "022000", "012000"),
        ("Dm", "xx0231", "xx0231"),
    ],
)
def test_an_early_hand_takes_the_first_chords_with_their_usual_fingers(
    chord: str, frets: str, known: str
) -> None:
    assert fingers(frets, "early") == known, chord


@pytest.mark.parametrize("fret", [1, 3, 5, 7])
@pytest.mark.parametrize(
    ("quality", "frets", "known"),
    [
        ("major", "022100", "134211"),
        ("minor", "022000", "134111"),
        ("seventh", "020100", "131211"),
        ("minor seventh", "020000", "131111"),
    ],
)
def test_the_e_shape_is_moved_up_the_neck_under_a_barre(
    quality: str, frets: str, known: str, fret: int
) -> None:
    assert fingers(moved(frets, fret)) == known, quality


@pytest.mark.parametrize("fret", [1, 3, 5, 7])
@pytest.mark.parametrize(
    ("quality", "frets", "known"),
    [
        ("major", "x02220", "x12341"),
        ("minor", "x02210", "x13421"),
        ("seventh", "x02020", "x13141"),
        ("minor seventh", "x02010", "x13121"),
    ],
)
def test_the_a_shape_is_moved_up_the_neck_under_a_barre(
    quality: str, frets: str, known: str, fret: int
) -> None:
    assert fingers(moved(frets, fret)) == known, quality


def test_a_small_f_is_a_barre_over_two_strings() -> None:
    assert fingers("xx3211") == "xx3211"


@pytest.mark.parametrize("fret", range(1, 8))
@pytest.mark.parametrize("quarters", [0.5, 1.0, 4.0])
def test_the_diminished_seventh_is_one_shape_all_along_the_neck(fret: int, quarters: float) -> None:
    """A finger to a string, however short it lasts."""
    assert fingers(moved("xx0101", fret), quarters=quarters) == "xx1324"
