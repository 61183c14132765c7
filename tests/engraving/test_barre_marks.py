"""One barre mark for as long as finger 1 lies, or is laid again at once.

Common practice of printed guitar music, no source.
"""

from apoyando.engraving import write_musicxml
from apoyando.engraving.notation.barre_marks import list_barre_marks
from apoyando.engraving.notation.score import notate
from apoyando.model.arrangement import Arrangement, Barre
from builders import make_arrangement, make_barre, make_line

TUNE = make_line("melody", "A4:1 " * 8)


def marks(*barres: Barre, tune: str = "A4:1 " * 8) -> list[tuple[int, int, float, float]]:
    """Fret, lowest string, from, to."""
    arrangement = make_arrangement(make_line("melody", tune), barres=barres)
    found = list_barre_marks(arrangement)
    return [(int(b.fret), int(b.lowest_string), float(b.span.onset), float(b.span.offset)) for b in found]


def test_a_barre_that_goes_on_over_more_strings_is_one_mark() -> None:
    assert marks(make_barre(5, 5, 0, 2), make_barre(5, 6, 2, 3)) == [(5, 6, 0, 5)]


def test_three_that_follow_each_other_are_one() -> None:
    assert marks(make_barre(5, 5, 0, 1), make_barre(5, 6, 1, 1), make_barre(5, 5, 2, 1)) == [(5, 6, 0, 3)]


def test_a_barre_laid_again_with_nothing_struck_in_between_is_one_mark() -> None:
    assert marks(make_barre(5, 6, 0, 1), make_barre(5, 6, 2, 2), tune="A4:2 A4:2") == [(5, 6, 0, 4)]


def test_a_note_in_between_parts_two_marks() -> None:
    assert len(marks(make_barre(5, 6, 0, 1), make_barre(5, 6, 2, 2))) == 2
    assert len(marks(make_barre(5, 6, 0, "1/2"), make_barre(5, 6, 1, 1))) == 1, (
        "a note at its end is under the next"
    )


def test_other_frets_and_half_and_full_keep_their_own() -> None:
    assert len(marks(make_barre(5, 6, 0, 2), make_barre(7, 6, 2, 2))) == 2
    assert len(marks(make_barre(5, 4, 0, 2), make_barre(5, 5, 2, 2))) == 2


def test_small_barres_of_other_fingers_have_no_mark_and_part_none() -> None:
    small = make_barre(7, 4, 1, 1, 3, finger=3)
    assert marks(make_barre(5, 6, 0, 2), small, make_barre(5, 6, 2, 2)) == [(5, 6, 0, 4)]


def test_the_file_has_one_bracket_for_it_too() -> None:
    barres = (make_barre(5, 5, 0, 2), make_barre(5, 6, 2, 3))
    arrangement: Arrangement = make_arrangement(TUNE, barres=barres)
    assert write_musicxml(notate(arrangement)).count(b"<bracket") == 2, "where it begins and where it stops"
