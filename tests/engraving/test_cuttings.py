"""A range of bars or one system as a picture of its own.

Read back from the SVG with the standard library alone.
"""

import re
from xml.etree.ElementTree import fromstring

import pytest

from apoyando.engraving import engrave_bars, engrave_svgs, engrave_system
from apoyando.engraving.drawing.boxes import hull
from apoyando.engraving.notation.score import notate
from apoyando.engraving.page.cuttings import cut_bars
from apoyando.engraving.page.frame import make_frame
from apoyando.engraving.page.svg import AIR
from apoyando.engraving.staff.layout import SPACE, STAFF_LINES
from apoyando.model.arrangement import Arrangement
from apoyando.model.errors import UsageError
from apoyando.model.sheet import Sheet
from builders import make_arrangement, make_line
from engraving.pieces import piece_with_form

ROOM = make_frame(Sheet()).line_width


def tune(count: int) -> Arrangement:
    """So many bars of eighths."""
    return make_arrangement(
        make_line("melody", "E4:1/2 F4:1/2 G4:1/2 A4:1/2 G4:1/2 F4:1/2 E4:1/2 D4:1/2 " * count)
    )


def heads(svg: str) -> list[str]:
    return re.findall(r' id="(m\d+v\d+e\d+n\d+)"', svg)


def bars(svg: str) -> list[int]:
    return sorted({int(head[1:].split("v")[0]) for head in heads(svg)})


def size_mm(svg: str) -> tuple[float, float]:
    root = fromstring(svg)  # noqa: S314 - drawn by us
    return tuple(float(root.get(name, "").removesuffix("mm")) for name in ("width", "height"))  # type: ignore[return-value]


@pytest.mark.parametrize(("first", "last"), [(0, 0), (5, 5), (2, 9), (12, 15), (15, 15), (0, 15)])
def test_a_cutting_has_the_bars_asked_for_and_no_others(first: int, last: int) -> None:
    assert bars(engrave_bars(tune(16), first, last)) == list(range(first, last + 1))


def test_its_heads_are_those_of_the_page() -> None:
    on_page = [head for page in engrave_svgs(piece_with_form()) for head in heads(page)]
    cut = engrave_bars(piece_with_form(), 0, len(piece_with_form().bars) - 1)
    assert sorted(heads(cut)) == sorted(on_page)


def test_it_has_no_heading() -> None:
    cut = engrave_bars(piece_with_form(), 0, 3)
    assert "A Form" not in cut
    assert "Ana" not in cut


def test_it_is_cropped_to_its_ink_with_a_little_air() -> None:
    lines = cut_bars(notate(tune(16)), Sheet(), 4, 5, ROOM)
    mm = 1 / 100
    width, height = size_mm(engrave_bars(tune(16), 4, 5))
    assert len(lines) == 1
    assert width == pytest.approx((lines[0].box.width + 2 * AIR) * mm, abs=0.02)
    assert height == pytest.approx((lines[0].box.height + 2 * AIR) * mm, abs=0.02)


def test_few_bars_stand_as_dense_as_on_the_page_and_are_not_spread_over_its_width() -> None:
    one, two, four = (size_mm(engrave_bars(tune(16), 4, last))[0] for last in (4, 5, 7))
    assert one < two < four <= 180 + 2 * AIR / 100 + 0.5


def test_many_bars_stand_on_several_lines_of_one_length() -> None:
    lines = cut_bars(notate(tune(32)), Sheet(), 1, 20, ROOM)
    assert len(lines) > 1
    staffs = [hull(b for s in line.shapes if s.kind == STAFF_LINES for b in s.boxes()) for line in lines]
    assert all(staff.width == pytest.approx(staffs[0].width, abs=0.3 * SPACE) for staff in staffs)


def test_a_tie_from_the_bar_before_and_into_the_bar_after_is_still_seen() -> None:
    held = make_arrangement(make_line("melody", "E4:2 F4:8 E4:2"))
    (line,) = cut_bars(notate(held), Sheet(), 1, 1, ROOM)
    assert len([shape for shape in line.shapes if shape.kind == "tie"]) == 2


def test_only_the_first_bar_of_the_piece_shows_meter_and_tempo_and_the_others_their_number() -> None:
    first, later = (cut_bars(notate(tune(8)), Sheet(), bar, bar, ROOM)[0] for bar in (0, 4))
    kinds = [{shape.kind for shape in line.shapes} for line in (first, later)]
    assert {"meterSig", "words"} <= kinds[0]
    assert "barNumber" in kinds[1]
    assert not {"meterSig", "words"} & kinds[1]


def test_large_print_is_larger_in_the_cutting_too() -> None:
    usual, large = (size_mm(engrave_bars(tune(4), 1, 1, Sheet(staff_mm=mm)))[0] for mm in (7.0, 10.5))
    assert large == pytest.approx(1.5 * usual, rel=0.01)


@pytest.mark.parametrize(("first", "last"), [(-1, 2), (3, 2), (0, 4), (4, 4)])
def test_bars_that_are_not_there_are_refused(first: int, last: int) -> None:
    with pytest.raises(UsageError, match="no bars with indices"):
        engrave_bars(tune(4), first, last)


def test_the_systems_are_those_of_the_pages_in_their_order() -> None:
    piece = tune(12)
    found: list[int] = []
    for number in range(1, 100):
        try:
            found += bars(engrave_system(piece, number))
        except UsageError:
            break
    assert found == list(range(12))


@pytest.mark.parametrize("number", [0, -1, 3])
def test_a_system_that_is_not_there_is_refused_with_a_word_on_how_many_there_are(number: int) -> None:
    with pytest.raises(UsageError, match="systems 1 to 2"):
        engrave_system(tune(8), number)
