"""Natural harmonics on the page: heads, words, strings, tablature, hold chart.

Common practice of guitar music, no source: a diamond at the pitch that sounds, the touched fret in words
over it, its string in a circle; in tablature the touched fret in angle brackets. Glyphs by SMuFL 1.4
(https://w3c.github.io/smufl/latest/tables/noteheads.html): noteheadDiamondBlack U+E0DB,
noteheadDiamondHalf U+E0D9.
"""

import pytest
from lxml import etree

from apoyando.engraving import engrave_svgs, notate, write_musicxml
from apoyando.engraving.drawing.shapes import Glyph, Text
from apoyando.engraving.notation.harmonic_words import name_frets
from apoyando.engraving.notation.marks import choose_marks
from apoyando.engraving.page.page import make_pages
from apoyando.engraving.rows.harmonics import HARMONIC
from apoyando.model.arrangement import Arrangement
from apoyando.model.hand_shape import hand_shape_at
from apoyando.model.sheet import Marking, Sheet, Staves
from apoyando.model.time import Quarters
from builders import make_arrangement, make_harmonic, make_line
from engraving.pieces import piece_on_harmonics
from references.tablature_reader import read_tablature

BLACK, HALF = "E0DB", "E0D9"


def drawn(arrangement: Arrangement, kind: str) -> list[Glyph | Text]:
    """In order of place along the line."""
    shapes = (
        shape
        for page in make_pages(notate(arrangement), Sheet())
        for _, line in page.lines
        for shape in line.shapes
        if shape.kind == kind
    )
    return sorted((s.drawing for s in shapes if isinstance(s.drawing, Glyph | Text)), key=lambda d: d.x)


def words(arrangement: Arrangement) -> list[str]:
    return [drawing.pieces[0].text for drawing in drawn(arrangement, HARMONIC) if isinstance(drawing, Text)]


def heads(arrangement: Arrangement) -> list[str]:
    return [drawing.code for drawing in drawn(arrangement, "notehead") if isinstance(drawing, Glyph)]


def test_a_harmonic_has_a_diamond_for_its_head_and_nothing_else_has() -> None:
    found = heads(piece_on_harmonics())
    assert (found.count(BLACK), found.count(HALF)) == (3, 2)
    assert not set(heads(make_arrangement(make_line("melody", "E4:2 F4:1 G4:1")))) & {BLACK, HALF}


def test_the_touched_fret_stands_over_the_first_harmonic_and_where_it_changes() -> None:
    assert words(piece_on_harmonics()) == ["harm. VII", "harm. XII", "harm. V"]
    same = (make_harmonic("melody", 0, 1, "E5", 1, 12), make_harmonic("melody", 1, 1, "B4", 2, 12))
    again = make_harmonic("melody", 3, 1, "E5", 1, 12)
    notes = (*same, *make_line("melody", "E4:1", 2), again)
    assert words(make_arrangement(notes)) == ["harm. XII", "harm. XII"]


def test_the_file_has_the_words_that_stand_on_the_page() -> None:
    arrangement = piece_on_harmonics()
    root = etree.fromstring(write_musicxml(notate(arrangement)))
    assert [text.text for text in root.iterfind(".//words") if "harm" in text.text] == words(arrangement)


def test_frets_that_are_touched_together_are_named_from_the_highest_string() -> None:
    notes = (make_harmonic("inner", 0, 1, "A4", 5, 5), make_harmonic("melody", 0, 1, "D5", 3, 7))
    assert name_frets(notes) == "harm. VII, V"
    assert name_frets(make_line("melody", "E4:1")) == ""


@pytest.mark.parametrize("marking", Marking)
def test_every_string_that_is_touched_is_circled_and_a_digit_stands_only_in_full(marking: Marking) -> None:
    arrangement = piece_on_harmonics()
    marks = choose_marks(arrangement, marking)
    touched = {note for note in arrangement.notes if note.is_harmonic}
    assert touched <= marks.strings
    assert (touched <= marks.digits) is (marking is Marking.FULL)
    assert bool(touched & marks.digits) is (marking is Marking.FULL)
    assert not touched & marks.guides.keys()


@pytest.mark.parametrize("staves", [Staves.TABLATURE, Staves.NOTATION_AND_TABLATURE])
def test_in_tablature_the_touched_fret_stands_in_angle_brackets(staves: Staves) -> None:
    pages = engrave_svgs(piece_on_harmonics(), Sheet(staves=staves))
    figures = [figure for page in pages for line in read_tablature(page) for figure in line.figures]
    touched = [(figure.string, figure.fret) for figure in figures if figure.is_touched]
    assert sorted(touched) == [(3, 7), (4, 5), (4, 7), (4, 12), (5, 5)]


def test_no_diagram_shows_a_touched_string_as_a_stopped_one() -> None:
    arrangement = piece_on_harmonics()
    assert hand_shape_at(arrangement, Quarters(0)).stops
    assert not hand_shape_at(arrangement, Quarters(4)).stops
