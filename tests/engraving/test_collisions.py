"""Nothing that the page adds touches what is there.

Two judges: boxes (``find_collisions``), and ink, by drawing the marks and the rest of each
page as two pictures and looking for a pixel that is dark in both.
"""

from collections.abc import Callable
from dataclasses import replace
from io import BytesIO

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from apoyando.engraving.collisions import ADDED, find_collisions
from apoyando.engraving.digits import BLANK, DIGIT, STRING
from apoyando.engraving.drawing import write_page
from apoyando.engraving.layout import STAFF_LINES
from apoyando.engraving.lines import Line
from apoyando.engraving.notation import notate
from apoyando.engraving.page import Page, make_pages
from apoyando.engraving.pdf import write_png
from apoyando.engraving.shapes import Box, Dot, Shape
from apoyando.model.arrangement import Arrangement
from apoyando.model.sheet import Sheet
from engraving.pieces import all_pieces

DARK = 128
PIXELS_PER_INCH = 200.0

pieces = pytest.mark.parametrize("piece", all_pieces().values(), ids=all_pieces().keys())


def pages_of(piece: Callable[[], Arrangement]) -> tuple[Page, ...]:
    return make_pages(notate(piece()), Sheet())


def lines_of(pages: tuple[Page, ...]) -> list[Line]:
    return [line for page in pages for _, line in page.lines]


def only(page: Page, wanted: Callable[[Shape], bool]) -> Page:
    lines = ((y, replace(line, shapes=tuple(s for s in line.shapes if wanted(s)))) for y, line in page.lines)
    return Page(page.frame, replace(page.heading, shapes=()), tuple(lines))


def ink(page: Page) -> NDArray[np.bool_]:
    picture = Image.open(BytesIO(write_png(write_page(page), PIXELS_PER_INCH))).convert("L")
    dark: NDArray[np.bool_] = np.asarray(picture) < DARK
    return dark


@pieces
def test_no_box_of_a_mark_or_a_row_touches_another(piece: Callable[[], Arrangement]) -> None:
    assert find_collisions(lines_of(pages_of(piece))) == ()


@pieces
def test_no_ink_of_a_digit_or_a_circle_lies_on_other_ink(piece: Callable[[], Arrangement]) -> None:
    for page in pages_of(piece):
        marks = ink(only(page, lambda shape: shape.kind in {DIGIT, STRING}))
        rest = ink(only(page, lambda shape: shape.kind not in {DIGIT, STRING, BLANK, STAFF_LINES}))
        assert not (marks & rest).any()


@pieces
def test_no_ink_of_a_row_lies_on_the_ink_of_the_notes(piece: Callable[[], Arrangement]) -> None:
    for page in pages_of(piece):
        rows = ink(only(page, lambda shape: shape.kind in ADDED - {DIGIT, STRING}))
        notes = ink(only(page, lambda shape: shape.kind not in ADDED | {BLANK}))
        assert not (rows & notes).any()


def test_ink_on_ink_is_found() -> None:
    """The judge by ink can find something: a head lies on itself and not on the clef."""
    (page,) = pages_of(all_pieces()["one note"])
    whole = ink(only(page, lambda shape: shape.kind == "notehead"))
    assert (whole & ink(only(page, lambda shape: shape.kind in {"notehead", "stem"}))).any()
    assert not (whole & ink(only(page, lambda shape: shape.kind == "clef"))).any()


def test_two_digits_in_one_place_are_found() -> None:
    """The judge by boxes can find something."""
    twice = (Shape(DIGIT, "a", Dot(100, 100, 20, 20)), Shape(DIGIT, "b", Dot(110, 100, 20, 20)))
    assert len(find_collisions((Line(twice, Box(0, 0, 200, 200)),))) == 1


def test_a_digit_on_a_stem_is_found_and_a_digit_beside_it_is_not() -> None:
    stem = Shape("stem", "n", Dot(100, 100, 5, 60))
    on_it, beside = (Shape(DIGIT, "n", Dot(x, 100, 20, 20)) for x in (110, 130))
    box = Box(0, 0, 200, 200)
    assert len(find_collisions((Line((stem, on_it), box),))) == 1
    assert find_collisions((Line((stem, beside), box),)) == ()


def test_the_lines_of_the_staff_and_the_circle_around_its_number_do_not_count() -> None:
    circle, number = (Shape(STRING, "n", Dot(100, 100, radius, radius)) for radius in (60, 20))
    line = Shape(STAFF_LINES, "", Dot(100, 100, 900, 5))
    assert find_collisions((Line((line, circle, number), Box(0, 0, 200, 200)),)) == ()
