"""One barre mark for as long as finger 1 lies, or is laid again at once.

Common practice of printed guitar music, no source.
"""

from lxml import etree

from apoyando.engraving import write_musicxml
from apoyando.engraving.drawing.shapes import Stroke, Text
from apoyando.engraving.notation.barre_marks import list_barre_marks
from apoyando.engraving.notation.score import notate
from apoyando.engraving.page.page import make_pages
from apoyando.engraving.rows import BARRE
from apoyando.model.arrangement import Arrangement, Barre
from apoyando.model.sheet import Sheet
from builders import make_arrangement, make_barre, make_line

TUNE = make_line("melody", "A4:1 " * 8)


def marks(*barres: Barre, tune: str = "A4:1 " * 8) -> list[tuple[int, int, float, float]]:
    """Fret, lowest string, from, to."""
    return [
        (int(mark.barre.fret), int(mark.barre.lowest_string), float(mark.onset), float(mark.offset))
        for mark in list_barre_marks(make_arrangement(make_line("melody", tune), barres=barres))
    ]


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


# Half and full barre at one fret.

ALTERNATING = (make_barre(5, 6, 0, 2), make_barre(5, 4, 2, 2), make_barre(5, 6, 4, 2), make_barre(7, 4, 6, 1))
"""C V, ½C V, C V, where finger 1 stays; then ½C VII."""


def drawn(*barres: Barre, tune: str = "A4:1 " * 8) -> tuple[list[str], list[Stroke]]:
    """The names in the row, and its lines, from left to right."""
    arrangement = make_arrangement(make_line("melody", tune), barres=barres)
    (page,) = make_pages(notate(arrangement), Sheet())
    shapes = [s.drawing for _, line in page.lines for s in line.shapes if s.kind == BARRE]
    names = [text for text in shapes if isinstance(text, Text)]
    lines = [line for line in shapes if isinstance(line, Stroke)]
    ordered = sorted(names, key=lambda text: text.x)
    return ["".join(piece.text for piece in text.pieces) for text in ordered], lines


def has_hook(line: Stroke) -> bool:
    return len(line.points) > 2


def test_where_finger_1_stays_at_its_fret_the_line_leads_on_and_the_fret_is_named_once() -> None:
    names, lines = drawn(*ALTERNATING)
    assert names == ["C V", "½C", "C", "½C VII"]
    assert [has_hook(line) for line in lines] == [False, False, True]


def test_a_note_in_between_ends_the_line_and_the_next_name_is_whole() -> None:
    names, lines = drawn(make_barre(5, 6, 0, 2), make_barre(5, 4, 3, 2))
    assert names == ["C V", "½C V"]
    assert [has_hook(line) for line in lines] == [True, True]


def test_without_room_for_a_line_the_next_name_is_whole() -> None:
    """A bare C close behind would be read as a chord."""
    close = (make_barre(5, 4, 0, "1/4"), make_barre(5, 6, "1/4", 2))
    assert drawn(*close, tune="A4:1/4 A4:1/4 A4:1/2 A4:1 A4:1 A4:1")[0] == ["½C V", "C V"]


def test_the_file_names_each_kind_and_has_a_hook_at_the_end_alone() -> None:
    """The name is whole there: who reads it hears of each bracket by itself."""
    arrangement = make_arrangement(TUNE, barres=ALTERNATING)
    root = etree.fromstring(write_musicxml(notate(arrangement)))
    names = [words.text for words in root.xpath("//direction[direction-type/bracket]//words")]
    assert names == ["C V", "½C V", "C V", "½C VII"]
    stops = [bracket.get("line-end") for bracket in root.iterfind(".//bracket[@type='stop']")]
    assert stops == ["none", "none", "down", "down"]
