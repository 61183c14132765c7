"""Beams, flags and ties that run into something are moved until they clear it; all else stays.

Places are in hundredths of a millimetre, y down; a staff space is 100 here.
"""

from collections.abc import Sequence
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apoyando.engraving.drawing.boxes import hull
from apoyando.engraving.drawing.outlines import outline_boxes, read_outlines
from apoyando.engraving.drawing.shapes import (
    GLYPH_UNITS_PER_EM,
    Beam,
    Curve,
    Drawing,
    Glyph,
    Shape,
    Stroke,
    glyph_boxes,
)
from apoyando.engraving.staff.clearing import LEAST_STEM, Part, clear_touches

SPACE = 100.0
EM = 4 * SPACE
HEAD, FLAG, NATURAL = "E0A4", "E241", "E261"


def part(kind: str, drawing: Drawing, holder: str = "", owner: str = "") -> Part:
    return Part(Shape(kind, owner, drawing), holder)


def head(x: float, y: float) -> Part:
    return part("notehead", Glyph(HEAD, x, y, EM))


def stem(x: float, y: float, length: float, holder: str) -> Part:
    return part("stem", Stroke(((x + 5, y + 15), (x + 5, y + length)), 10), holder)


def beam(left: float, right: float, y: float, holder: str) -> Part:
    return part("beam", Beam(((left, y - 50), (right, y - 50), (right, y), (left, y))), holder)


def tie(left: float, right: float, y: float, depth: float) -> Part:
    inner, outer = y + depth * 0.8, y + depth
    span = right - left
    points = (
        (left, y),
        (left + span / 4, outer),
        (right - span / 4, outer),
        (right, y),
        (right - span / 4, inner),
        (left + span / 4, inner),
    )
    return part("tie", Curve(points, 4))


def pair(*, y: float = 0, length: float = 350, at: tuple[float, float] = (0, 400)) -> list[Part]:
    """Two heads under one beam, stems down."""
    left, right = at
    stems = [stem(x, y, length, "pair") for x in at]
    return [head(left, y), head(right, y), *stems, beam(left, right + 10, y + length, "pair")]


def drawings(shapes: Sequence[Shape]) -> list[Drawing]:
    return [shape.drawing for shape in shapes]


def moved(parts: Sequence[Part]) -> dict[str, float]:
    """By kind how far down things were moved; of a stem its end."""
    found: dict[str, float] = {}
    for before, shape in zip(parts, clear_touches(parts, SPACE), strict=True):
        if shape != before.shape:
            found[shape.kind] = _low(shape) - _low(before.shape)
    return found


def _low(shape: Shape) -> float:
    return max(box.bottom for box in shape.boxes())


def test_what_is_free_stays_as_it_is() -> None:
    parts = [*pair(), head(150, 600), tie(0, 400, 700, 60)]
    assert list(clear_touches(parts, SPACE)) == [each.shape for each in parts]


def test_a_beam_on_a_head_of_the_bass_goes_on_beyond_it_with_its_stems() -> None:
    found = moved([*pair(length=250), head(0, 270)])
    assert found["stem"] == found["beam"]
    beam_top, head_bottom = 200 + found["beam"], 270 + 50
    assert head_bottom < beam_top < head_bottom + 0.5 * SPACE


def test_a_beam_that_only_just_meets_something_is_shortened_if_its_stems_stay_long_enough() -> None:
    ledger = part("ledgerLines", Stroke(((150, 345), (300, 345)), 10))
    assert -100 < moved([*pair(length=350), ledger])["beam"] < 0
    ledger = part("ledgerLines", Stroke(((150, 215), (300, 215)), 10))
    assert moved([*pair(length=220), ledger])["beam"] > 0


def test_a_tie_bends_round_a_beam_that_cannot_give_way() -> None:
    found = moved([beam(0, 400, 200, ""), tie(-200, 600, 120, 60)])
    assert found["tie"] > 0


def test_a_tie_is_lifted_over_an_accidental_between_its_heads() -> None:
    natural = part("accid", Glyph(NATURAL, 60, 70, EM))
    parts = [natural, tie(0, 120, -20, -60)]
    assert moved(parts)["tie"] < 0


def test_a_flag_on_a_beam_moves_the_beam_or_the_stem_that_it_hangs_at() -> None:
    flagged = [head(200, -100), stem(200, -100, 400, "one"), part("flag", Glyph(FLAG, 200, 300, EM), "one")]
    parts = [*pair(), *flagged]
    shapes = clear_touches(parts, SPACE)
    (low,) = (shape for shape in shapes if shape.kind == "beam")
    (flag,) = (shape for shape in shapes if shape.kind == "flag")
    flag_end = max(box.bottom for box in flag.boxes())
    assert flag_end < min(box.top for box in low.boxes()) or flag_end > max(box.bottom for box in low.boxes())


def test_a_beam_close_to_its_heads_is_moved_away_though_it_touches_nothing() -> None:
    parts = pair(length=120)
    found = moved(parts)
    assert found["beam"] == found["stem"] > 0
    assert 120 + found["beam"] > LEAST_STEM * SPACE


def test_what_finds_no_free_place_stays() -> None:
    wall = [part("rest", Stroke(((0, y), (400, y)), 20)) for y in range(40, 1500, 40)]
    parts = [*pair(), *wall]
    assert list(clear_touches(parts, SPACE)) == [each.shape for each in parts]


@given(
    heads=st.lists(st.tuples(st.integers(-300, 700), st.integers(100, 900)), max_size=6),
    length=st.integers(150, 500),
)
def test_stems_keep_their_heads_and_their_beam_and_nothing_else_moves(
    heads: list[tuple[int, int]], length: int
) -> None:
    parts = [*pair(length=length), *(head(x, y) for x, y in heads)]
    shapes = clear_touches(parts, SPACE)
    shifts = set[float]()
    for before, shape in zip(parts, shapes, strict=True):
        match before.shape.drawing, shape.drawing:
            case Stroke(points=old), Stroke(points=new):
                assert old[0] == new[0]
                assert old[1][0] == new[1][0]
                shifts.add(round(new[1][1] - old[1][1], 6))
            case Beam(points=old), Beam(points=new):
                shifts.add(round(new[0][1] - old[0][1], 6))
                assert replace(before.shape.drawing, points=new) == shape.drawing
            case old_drawing, new_drawing:
                assert old_drawing == new_drawing
    assert len(shifts) == 1


# --- outlines ------------------------------------------------------------------------

FLAGS_AND_ACCIDENTALS = [*range(0xE240, 0xE250), *range(0xE260, 0xE26B)]


@pytest.mark.parametrize("code", [f"{code:X}" for code in FLAGS_AND_ACCIDENTALS])
def test_the_slices_of_a_sign_fill_the_box_that_the_font_says_it_has(code: str) -> None:
    """The bounding boxes in the font's own table (Leland, SIL Open Font License)."""
    found, said = hull(outline_boxes(Glyph(code, 0, 0, GLYPH_UNITS_PER_EM), 60)), glyph_boxes()[code]
    assert found.left == pytest.approx(said.left, abs=12)
    assert found.top == pytest.approx(said.top, abs=12)
    assert found.right == pytest.approx(said.right, abs=12)
    assert found.bottom == pytest.approx(said.bottom, abs=12)


def test_the_slices_of_a_flag_leave_free_what_its_box_does_not() -> None:
    flag = Glyph(FLAG, 0, 0, EM)
    filled = sum(box.width * box.height for box in outline_boxes(flag, 25))
    assert filled < 0.5 * flag.boxes()[0].width * flag.boxes()[0].height


@pytest.mark.parametrize(
    ("path", "corners"),
    [
        ("M10 20L30 20L30 40z", [(10, 20), (30, 20), (30, 40)]),
        ("m10 20h20v20z", [(10, 20), (30, 20), (30, 40)]),
        ("M10 20H30V40l-5 -5z", [(10, 20), (30, 20), (30, 40), (25, 35)]),
        ("M0 0l1 0 0 1z", [(0, 0), (1, 0), (1, 1)]),
    ],
)
def test_path_commands_are_read_as_the_standard_says(path: str, corners: list[tuple[float, float]]) -> None:
    """SVG 1.1, 8.3 (https://www.w3.org/TR/SVG11/paths.html), from memory."""
    assert list(read_outlines(path)) == [corners]


def test_a_smooth_curve_goes_on_from_the_control_before_it() -> None:
    """SVG 1.1, 8.3.6: the first control is the mirror of the last one."""
    smooth, written_out = "M0 0c0 1 1 2 2 2s2 -1 2 -2z", "M0 0c0 1 1 2 2 2c1 0 2 -1 2 -2z"
    assert list(read_outlines(smooth)) == list(read_outlines(written_out))


def test_an_arc_is_refused() -> None:
    with pytest.raises(ValueError, match="'A'"):
        list(read_outlines("M0 0A1 1 0 0 0 1 1z"))
