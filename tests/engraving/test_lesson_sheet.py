"""The lesson sheet as a PDF: words as they are, pictures among them, two pages if it can be.

Read back with pypdf, which shares no code with the writer.
"""

import re
from collections.abc import Callable, Sequence
from fractions import Fraction
from io import BytesIO

import pytest
from pypdf import PageObject, PdfReader

from apoyando.engraving import engrave_lesson
from apoyando.engraving.lesson_sheet import TEXT_SIZES
from apoyando.model.arrangement import Arrangement
from apoyando.model.lesson import Block, Cutting, ShapePicture, Style, Words
from apoyando.model.sheet import Paper, Sheet
from builders import make_arrangement, make_harmony, make_line, small_arrangement
from engraving.pieces import all_pieces

PIECE = small_arrangement()
WORDS = (
    Words(Style.TITLE, "A Small Tune"),
    Words(Style.HEADING, "Bar 1"),
    Words(Style.ITEM, "Key: C major."),
)


def read(blocks: Sequence[Block], piece: Arrangement = PIECE, sheet: Sheet | None = None) -> PdfReader:
    return PdfReader(BytesIO(engrave_lesson(blocks, piece, sheet or Sheet())))


def text(blocks: Sequence[Block], piece: Arrangement = PIECE) -> str:
    pages = (page.extract_text() for page in read(blocks, piece).pages)
    return re.sub(r"\s+", " ", " ".join(pages))


def sizes_of_text(reader: PdfReader) -> set[float]:
    found: set[float] = set()

    def visit(words: str, _: object, matrix: Sequence[float], __: object, size: float) -> None:
        if words.strip():
            found.add(round(size * abs(matrix[0]), 1))

    for page in reader.pages:
        page.extract_text(visitor_text=visit)
    return found


def test_the_words_are_there_in_order_and_can_be_searched() -> None:
    blocks = (
        *WORDS,
        Words(Style.STEP, "First this."),
        Words(Style.STEP, "Then that."),
        Words(Style.PARAGRAPH, "Rest."),
    )
    assert text(blocks) == "A Small Tune Bar 1 – Key: C major. 1. First this. 2. Then that. Rest."


@pytest.mark.parametrize(
    "words", ["#let x = 1; $a$ *b* _c_ <d> [e] \\ f", "= no heading", "@nobody", "</svg>&amp;"]
)
def test_no_sign_is_taken_for_a_command(words: str) -> None:
    assert words in text([Words(Style.PARAGRAPH, words)])


@pytest.mark.parametrize(
    ("typed", "printed"),
    [
        ("F# and Bb, then C##", "F♯ and B♭, then C♯♯"),
        ("G#m", "G#m"),
        ("Ebony #1 b", "Ebony #1 b"),
        ("½C II", "½C II"),
    ],
)
def test_note_names_are_printed_with_their_signs(typed: str, printed: str) -> None:
    assert text([Words(Style.PARAGRAPH, typed)]) == printed


def test_what_no_page_can_show_is_left_out() -> None:
    assert text([Words(Style.PARAGRAPH, "a\x00b\ufffec")]) == "abc"


def test_title_and_composer_are_told_and_no_date_is() -> None:
    piece = make_arrangement(PIECE.notes, composer="Ana Ejemplo")
    reader = read(WORDS, piece)
    assert reader.metadata is not None
    assert (reader.metadata.title, reader.metadata.author) == ("A Small Tune: lesson sheet", "Ana Ejemplo")
    assert "/CreationDate" not in reader.metadata
    assert "Ana Ejemplo" in text(WORDS, piece)


def test_a_piece_without_title_and_composer_has_a_sheet_too() -> None:
    reader = read(WORDS, make_arrangement(PIECE.notes, title="", composer=""))
    assert reader.metadata is not None
    assert (reader.metadata.title, reader.metadata.author) == ("Lesson sheet", None)


def test_headings_are_bookmarks() -> None:
    (title, inside) = read(WORDS).outline
    assert isinstance(inside, list)
    assert [title["/Title"], *(heading["/Title"] for heading in inside)] == ["A Small Tune", "Bar 1"]  # type: ignore[call-overload]


def test_rights_stand_at_the_foot_of_the_first_page_however_long_they_are() -> None:
    rights = "All may copy and play it. " * 30
    first, *others = read(paragraphs(40), make_arrangement(PIECE.notes, rights=rights)).pages
    at = heights_of("All may copy", first)
    assert at
    assert all(0 < y < min(heights_of("Let the finger", first)) for y in at)
    assert not any(heights_of("All may copy", page) for page in others)


def heights_of(words: str, page: PageObject) -> list[float]:
    """Above the lower edge, in points, of all the places where words begin a piece of text."""
    found: list[float] = []

    def visit(text: str, outer: Sequence[float], inner: Sequence[float], _: object, __: float) -> None:
        if words in text:
            found.append(outer[5] + outer[3] * inner[5])

    page.extract_text(visitor_text=visit)
    return found


def test_a_cutting_has_its_chord_symbols_and_a_shape_its_chord_and_place() -> None:
    found = text([Cutting(0, 1), ShapePicture(Fraction(1, 2))])
    assert "bar 1, beat 1½" in found
    assert found.count("C") >= 2
    assert "G" in found


def test_a_shape_outside_the_harmony_has_no_name() -> None:
    piece = make_arrangement(make_line("melody", "C4:4"), harmony=make_harmony("-:2 F.minor:2"))
    assert "Fm" not in text([ShapePicture(Fraction(1))], piece)
    assert "Fm" in text([ShapePicture(Fraction(2))], piece)


@pytest.mark.parametrize(("paper", "width"), [(Paper.A4, 595.28), (Paper.LETTER, 612.0)])
def test_the_paper_is_the_one_wanted(paper: Paper, width: float) -> None:
    for page in read([*WORDS, Cutting(0, 1)], sheet=Sheet(paper=paper)).pages:
        assert float(page.mediabox.width) == pytest.approx(width, abs=0.1)


def paragraphs(count: int) -> list[Block]:
    return [Words(Style.PARAGRAPH, "Let the finger stay until the end of the bar. " * 6)] * count


def test_the_text_is_as_large_as_two_pages_let_it_be() -> None:
    roomy, close = read(paragraphs(10)), read(paragraphs(46))
    assert len(roomy.pages) <= 2
    assert len(close.pages) == 2
    assert TEXT_SIZES[0] in sizes_of_text(roomy)
    assert sizes_of_text(close) & set(TEXT_SIZES[1:])


def test_a_longer_text_takes_as_many_pages_as_it_needs_and_nothing_is_lost() -> None:
    reader = read([*paragraphs(80), Words(Style.PARAGRAPH, "The last word.")])
    assert len(reader.pages) > 2
    assert "The last word." in reader.pages[-1].extract_text()


@pytest.mark.parametrize("piece", all_pieces().values(), ids=all_pieces().keys())
def test_every_piece_can_be_cut(piece: Callable[[], Arrangement]) -> None:
    made = piece()
    assert read([Cutting(0, 0), Cutting(len(made.bars) - 1, len(made.bars) - 1)], made).pages


def test_the_same_sheet_gives_the_same_bytes() -> None:
    blocks: list[Block] = [*WORDS, Cutting(0, 1), ShapePicture(Fraction(1, 2))]
    assert engrave_lesson(blocks, PIECE) == engrave_lesson(blocks, PIECE)


def test_a_cutting_is_smaller_than_on_the_page_whether_its_staff_was_chosen_or_left_open() -> None:
    cutting = [Cutting(0, 0)]
    left_open, seven = (engrave_lesson(cutting, PIECE, Sheet(staff_mm=mm)) for mm in (0.0, 7.0))
    assert left_open == seven
    assert left_open != engrave_lesson(cutting, PIECE, Sheet(staff_mm=9.0))
