"""The checker of finished pages sees all ink, and finds what is put on top of something else."""

from io import BytesIO
from typing import Any

import numpy as np
import pytest
from lxml import etree
from PIL import Image, ImageDraw, ImageFilter
from shapely import affinity

from apoyando.engraving import engrave_svgs
from apoyando.engraving.drawing.pdf import write_png
from engraving.pieces import all_pieces
from references.ink_checker import Ink, find_outside, find_touches, read_picture

FORM = engrave_svgs(all_pieces()["form"]())[0]
HIGH = engrave_svgs(all_pieces()["high"]())[0]
DARK = 128
PIXELS_PER_INCH = 100.0


def elements_of(root: Any, kind: str) -> list[Any]:
    drawn = (element for element in root.iter() if etree.QName(element).localname != "g")
    return [element for element in drawn if element.get("class") == kind]


def moved(svg: str, kind: str, dx: float, dy: float, number: int = 0) -> str:
    """The page with one element of a kind moved, and all else as it was."""
    root = etree.fromstring(svg.encode())
    element = elements_of(root, kind)[number]
    element.set("transform", f"translate({dx} {dy}) {element.get('transform', '')}".strip())
    return str(etree.tostring(root, encoding="unicode"))


def inks_of(svg: str, kind: str) -> list[Ink]:
    return [ink for ink in read_picture(svg).inks if ink.kind == kind]


def put_on(svg: str, kind: str, other: str) -> str:
    """The page with ink of the first element of a kind on ink of the second of the other kind, if there are two."""
    start = inks_of(svg, kind)[0].area.representative_point()
    end = inks_of(svg, other)[:2][-1].area.representative_point()
    return moved(svg, kind, end.x - start.x, end.y - start.y)


def kinds_touching(svg: str) -> set[str]:
    return {touch.kinds for touch in find_touches(svg)}


def test_pages_as_they_are_have_nothing_to_find() -> None:
    assert find_touches(FORM) == ()
    assert find_touches(HIGH) == ()


@pytest.mark.parametrize(
    ("kind", "other"),
    [
        ("digit", "stem"),
        ("digit", "notehead"),
        ("digit", "barLine"),
        ("digit", "beam"),
        ("digit", "ledgerLines"),
        ("digit", "string"),
        ("digit", "clef"),
        ("string", "notehead"),
        ("string", "barre"),
        ("barre", "symbol"),
        ("barre", "stem"),
        ("symbol", "words"),
        ("symbol", "ending"),
        ("barNumber", "clef"),
        ("heading", "symbol"),
        ("accid", "digit"),
        ("tie", "digit"),
        ("tie", "rest"),
        ("beam", "notehead"),
        ("fermata", "symbol"),
    ],
)
def test_whatever_is_moved_onto_something_else_is_found(kind: str, other: str) -> None:
    page = FORM if inks_of(FORM, kind) and inks_of(FORM, other) else HIGH
    assert " + ".join(sorted((kind, other))) in kinds_touching(put_on(page, kind, other))


def test_a_digit_is_found_on_the_stem_of_its_own_note() -> None:
    digit = inks_of(FORM, "digit")[0]
    stem = next(ink for ink in inks_of(FORM, "stem") if ink.owner == digit.owner)
    mutant = moved(FORM, "digit", stem.middle[0] - digit.middle[0], stem.middle[1] - digit.middle[1])
    assert "digit + stem" in kinds_touching(mutant)


def test_a_stem_through_the_middle_of_a_head_is_found_and_one_along_its_edge_is_not() -> None:
    number = next(n for n, ink in enumerate(inks_of(HIGH, "stem")) if "v1" in ink.owner)
    half_a_head = 109
    assert "notehead + stem" in kinds_touching(moved(HIGH, "stem", -half_a_head, 0, number))
    assert "notehead + stem" not in kinds_touching(moved(HIGH, "stem", -10, 0, number))


def test_a_digit_nearer_and_nearer_to_its_head_is_found_when_it_touches() -> None:
    """The boundary, by outlines and not by boxes: they come nearer than their boxes before they touch."""
    digit = inks_of(FORM, "digit")[0]
    head = next(ink for ink in inks_of(FORM, "notehead") if ink.owner == digit.owner)
    free = digit.area.distance(head.area)
    steps = range(60, 200, 5)
    first = next(n for n in steps if "digit + notehead" in kinds_touching(moved(FORM, "digit", n, 0)))
    assert first > free
    assert affinity.translate(digit.area, first, 0).intersects(head.area)
    assert not affinity.translate(digit.area, first - 15, 0).intersects(head.area)


def test_a_number_in_the_ring_of_another_is_found_though_no_ink_lies_on_ink() -> None:
    numbers = [ink for ink in inks_of(HIGH, "string") if ink.text]
    root = etree.fromstring(HIGH.encode())
    ring, text = (elements_of(root, "string")[n] for n in (0, 1))
    assert "ellipse" in ring.tag
    assert "text" in text.tag
    (x, y), (to_x, to_y) = numbers[0].middle, numbers[1].middle
    mutant = moved(HIGH, "string", to_x - x, to_y - y, number=1)
    assert "string + string" in kinds_touching(mutant)


def test_a_digit_on_a_staff_line_without_a_blank_behind_it_is_found() -> None:
    root = etree.fromstring(FORM.encode())
    for blank in elements_of(root, "blank"):
        blank.getparent().remove(blank)
    assert "digit + staffLine" in kinds_touching(etree.tostring(root, encoding="unicode"))


def test_what_runs_off_the_sheet_is_found() -> None:
    assert find_outside(FORM) == ()
    assert [ink.kind for ink in find_outside(moved(FORM, "heading", -20000, 0))] == ["heading"]


def test_an_element_that_the_checker_does_not_know_is_refused() -> None:
    with pytest.raises(ValueError, match="does not know: <image>"):
        read_picture(FORM.replace("</svg>", "<image/></svg>"))


@pytest.mark.parametrize("page", [FORM, HIGH], ids=["form", "high"])
def test_all_ink_that_a_renderer_paints_lies_in_what_the_checker_sees(page: str) -> None:
    """Outside truth: the renderer of the pictures, which is no part of the checker."""
    painted = Image.open(BytesIO(write_png(page, PIXELS_PER_INCH))).convert("L")
    picture = read_picture(page)
    scale = painted.width / picture.sheet.bounds[2]
    seen = Image.new("L", painted.size, 0)
    draw = ImageDraw.Draw(seen)
    for ink in picture.inks:
        for part in getattr(ink.area, "geoms", [ink.area]):
            draw.polygon([(x * scale, y * scale) for x, y in part.exterior.coords], fill=255, outline=255)
    near = np.asarray(seen.filter(ImageFilter.MaxFilter(3))) > 0
    dark = np.asarray(painted) < DARK
    assert dark.sum() > 1000
    assert not (dark & ~near).any()
