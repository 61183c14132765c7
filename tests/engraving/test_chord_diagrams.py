"""Chord diagrams: strings down, frets across, dots, barres, rings and crosses."""

from itertools import combinations

import pytest

from apoyando.engraving.drawing.chord_diagrams import draw_chord_diagram
from apoyando.engraving.drawing.shapes import Dot, Shape, Stroke, Text
from apoyando.model.arrangement import Barre
from apoyando.model.hand import Finger
from apoyando.model.hand_shape import HandShape, Stop, hand_shape_at
from apoyando.model.instrument import Fret, Place, StringNumber
from builders import make_arrangement, make_barre, make_note

GAP = 100.0


def shape(frets: str, fingers: str, *barres: Barre) -> HandShape:
    """Frets and fingers from string 6 to string 1; ``x`` for a string that does not sound."""
    pairs = zip(range(6, 0, -1), frets, fingers, strict=True)
    stops = [
        Stop(Place(StringNumber(string), Fret(int(fret, 16))), Finger(int(finger)))
        for string, fret, finger in pairs
        if fret != "x"
    ]
    return HandShape(tuple(reversed(stops)), barres)


C = shape("x32010", "x32010")
F = shape("133211", "134211", make_barre(1, 6, 0, 4))
HIGH = shape("x79987", "x13421", make_barre(7, 5, 0, 4))


def dots(drawn: tuple[Shape, ...]) -> list[tuple[float, float]]:
    """Where the filled dots lie, as string and fret within the picture, without the ends of barres."""
    found = [s.drawing for s in drawn if isinstance(s.drawing, Dot) and not s.drawing.line_width]
    return [
        (round(6 - d.x / GAP, 3), round(d.y / (1.2 * GAP) + 0.5, 3)) for d in found if d.x_radius > 0.3 * GAP
    ]


def texts(drawn: tuple[Shape, ...]) -> list[str]:
    return [piece.text for s in drawn if isinstance(s.drawing, Text) for piece in s.drawing.pieces]


def nut(drawn: tuple[Shape, ...]) -> list[Stroke]:
    return [s.drawing for s in drawn if isinstance(s.drawing, Stroke) and s.drawing.width == 0.3 * GAP]


def bars_across(drawn: tuple[Shape, ...]) -> list[Stroke]:
    return [s.drawing for s in drawn if isinstance(s.drawing, Stroke) and s.drawing.width == 0.42 * GAP]


def test_each_finger_is_a_dot_on_its_string_at_its_fret() -> None:
    assert dots(draw_chord_diagram(C, GAP)) == [(2, 1), (4, 2), (5, 3)]


def test_the_fingers_stand_under_their_strings() -> None:
    digits = [s.drawing for s in draw_chord_diagram(C, GAP) if isinstance(s.drawing, Text)]
    assert [(d.pieces[0].text, 6 - d.x / GAP) for d in digits] == [("1", 2), ("2", 4), ("3", 5)]


def test_an_open_string_has_a_ring_and_one_that_does_not_sound_a_cross() -> None:
    drawn = draw_chord_diagram(C, GAP)
    rings = [s.drawing for s in drawn if isinstance(s.drawing, Dot) and s.drawing.line_width]
    assert [6 - ring.x / GAP for ring in rings] == [1, 3]
    slanted = [s.drawing for s in drawn if isinstance(s.drawing, Stroke) and _is_slanted(s.drawing)]
    assert [round((one[0] + other[0]) / 2) for one, other in (s.points for s in slanted)] == [0, 0]


def _is_slanted(stroke: Stroke) -> bool:
    (x0, y0), (x1, y1) = stroke.points
    return x0 != x1 and y0 != y1


def test_a_barre_is_a_bar_across_its_strings_and_no_dots() -> None:
    drawn = draw_chord_diagram(F, GAP)
    (across,) = bars_across(drawn)
    assert [(6 - x / GAP) for x, _ in across.points] == [6, 1]
    assert dots(drawn) == [(3, 2), (4, 3), (5, 3)]
    assert texts(drawn) == ["1", "1", "2", "4", "3", "1"]


def test_a_barre_of_which_no_string_sounds_is_not_drawn() -> None:
    assert not bars_across(draw_chord_diagram(shape("xxx0xx", "xxx0xx", make_barre(1, 6, 0, 4)), GAP))


@pytest.mark.parametrize(
    ("frets", "fingers", "number"),
    [("xx0234", "xx0124", None), ("xx0235", "xx0124", "II"), ("x79987", "x13421", "VII")],
)
def test_up_to_fret_four_the_nut_is_shown_and_above_it_the_number_of_the_first_fret(
    frets: str, fingers: str, number: str | None
) -> None:
    drawn = draw_chord_diagram(shape(frets, fingers), GAP)
    assert bool(nut(drawn)) == (number is None)
    assert (number in texts(drawn)) == (number is not None)


def test_a_wide_shape_has_as_many_frets_as_it_needs() -> None:
    wide = draw_chord_diagram(shape("1xxxx6", "1xxxx4"), GAP)
    across = [s.drawing for s in wide if isinstance(s.drawing, Stroke) and _is_level(s.drawing)]
    assert len(across) == 7


def _is_level(stroke: Stroke) -> bool:
    return stroke.width == pytest.approx(0.07 * GAP) and stroke.points[0][1] == stroke.points[1][1]


@pytest.mark.parametrize("drawn_of", [C, F, HIGH])
def test_signs_and_digits_touch_nothing(drawn_of: HandShape) -> None:
    drawn = draw_chord_diagram(drawn_of, GAP)
    signs = [s for s in drawn if isinstance(s.drawing, Text) or _is_ring(s)]
    others = [s for s in drawn if s not in signs]
    pairs = [*combinations(signs, 2), *((sign, other) for sign in signs for other in others)]
    assert not [
        (one, other) for one, other in pairs for a in one.boxes() for b in other.boxes() if a.overlaps(b)
    ]


def _is_ring(each: Shape) -> bool:
    return isinstance(each.drawing, Dot) and bool(each.drawing.line_width)


def test_the_shape_at_a_moment_is_what_sounds_then() -> None:
    notes = [
        make_note("bass", 0, 2, "C3", string=5, finger=3),
        make_note("inner", 1, 1, "G3"),
        make_note("melody", 2, 2, "E4"),
    ]
    piece = make_arrangement(notes, barres=(make_barre(2, 4, 2, 1),))
    assert [str(stop.place) for stop in hand_shape_at(piece, notes[1].onset).stops] == [
        "string 3 open",
        "string 5 fret 3",
    ]
    assert not hand_shape_at(piece, notes[1].onset).barres
    assert hand_shape_at(piece, notes[2].onset).barres == piece.barres
