"""The rules of the left hand, two touches at a time."""

from dataclasses import replace

import pytest

from apoyando.fingering.hand_tables import hand_tables
from apoyando.fingering.problem import FORBIDDEN
from apoyando.fingering.touches import NO_TOUCH, TOUCH_INDEX, Touch, touches_at
from apoyando.model.hand import FINGER_PAIRS, FINGERS, Finger
from apoyando.model.instrument import Fret, Place, StringNumber, distance_mm, fret_distance_mm
from apoyando.model.level import SpanLimit
from apoyando.model.prices import Prices
from apoyando.reading import load_default_levels

LEVEL = load_default_levels()["intermediate"]
PRICES = Prices()
TABLES = hand_tables(LEVEL, PRICES, 1.0)
FREE = hand_tables(load_default_levels()["advanced"], PRICES, 1.0)


def touch(string: int, fret: int, finger: int, *, flat: bool = False) -> int:
    return TOUCH_INDEX[Touch(Place(StringNumber(string), Fret(fret)), Finger(finger), flat)]


def can(one: int, other: int) -> bool:
    assert TABLES.together[one, other] == TABLES.together[other, one]
    return bool(TABLES.together[one, other] < FORBIDDEN)


def test_a_silent_voice_goes_with_everything() -> None:
    assert can(NO_TOUCH, touch(1, 3, 4))
    assert can(NO_TOUCH, NO_TOUCH)


@pytest.mark.parametrize("other", [(2, 0, 0), (2, 3, 3)])
def test_two_notes_never_share_a_string(other: tuple[int, int, int]) -> None:
    assert not can(touch(2, 1, 1), touch(*other))


def test_one_finger_is_at_one_place() -> None:
    assert not can(touch(5, 2, 2), touch(4, 2, 2))


def test_a_barre_lies_at_one_fret() -> None:
    assert can(touch(5, 2, 1, flat=True), touch(3, 2, 1, flat=True))
    assert not can(touch(5, 2, 1, flat=True), touch(3, 3, 1, flat=True))
    assert not can(touch(5, 2, 1, flat=True), touch(3, 2, 1))


def test_a_lower_finger_never_lies_on_a_higher_fret() -> None:
    assert can(touch(4, 2, 2), touch(2, 3, 3))
    assert not can(touch(4, 3, 2), touch(2, 2, 3))


def test_at_one_fret_the_lower_finger_takes_the_lower_pitched_string() -> None:
    assert can(touch(4, 2, 2), touch(3, 2, 3))
    assert not can(touch(3, 2, 2), touch(4, 2, 3))


def test_no_open_string_sounds_under_a_barre_but_below_it_one_may() -> None:
    half_barre = touch(4, 2, 1, flat=True)
    assert not can(half_barre, touch(1, 0, 0))
    assert not can(half_barre, touch(3, 0, 0))
    assert can(half_barre, touch(5, 0, 0))


def test_beside_a_barre_the_others_stop_frets_above_it() -> None:
    assert can(touch(6, 1, 1, flat=True), touch(3, 2, 2))
    assert not can(touch(6, 1, 1, flat=True), touch(3, 1, 2))


def test_fingers_open_to_the_outermost_span_and_no_farther() -> None:
    """Fingers 1 and 4 on neighbouring strings, fret by fret, against the level's own table."""
    limit = LEVEL.spans[Finger.INDEX, Finger.LITTLE].outermost_mm
    for fret in range(1, 9):
        apart = distance_mm(Place(StringNumber(3), Fret(1)), Place(StringNumber(2), Fret(fret)))
        assert can(touch(3, 1, 1), touch(2, fret, 4)) == (apart <= limit)


def test_the_outermost_span_is_the_last_that_is_reached() -> None:
    one, other = Place(StringNumber(3), Fret(1)), Place(StringNumber(2), Fret(4))
    apart = distance_mm(one, other)
    for outermost, can_do in ((apart, True), (apart - 0.01, False)):
        level = replace(LEVEL, spans={pair: SpanLimit(10.0, outermost) for pair in FINGER_PAIRS})
        tables = hand_tables(level, PRICES, 1.0)
        assert bool(tables.together[touch(3, 1, 1), touch(2, 4, 4)] < FORBIDDEN) is can_do


@pytest.mark.parametrize(("hand_size", "price"), [(1.0, 250), (0.9, 694), (2.0, 0)])
def test_a_stretch_costs_by_its_share_between_comfort_and_the_outermost(hand_size: float, price: int) -> None:
    """A quarter of the way; (1 - 0.84375) / 0.225 of it for a hand to which both are a tenth less."""
    apart = distance_mm(Place(StringNumber(3), Fret(1)), Place(StringNumber(2), Fret(3)))
    spans = {pair: SpanLimit(apart * 0.9375, apart * 1.1875) for pair in FINGER_PAIRS}
    tables = hand_tables(replace(LEVEL, spans=spans), Prices(stretch_beyond_comfort=1000), hand_size)
    assert tables.together[touch(3, 1, 1), touch(2, 3, 3)] == price


def test_a_smaller_hand_opens_less() -> None:
    small = hand_tables(LEVEL, Prices(), 0.8)
    one, other = touch(3, 1, 1), touch(2, 4, 4)
    assert TABLES.together[one, other] < FORBIDDEN <= small.together[one, other]


def test_a_slide_along_the_string_is_cheaper_than_a_jump_to_another() -> None:
    slide = TABLES.in_turn[touch(2, 3, 2), touch(2, 5, 2)]
    jump = TABLES.in_turn[touch(2, 3, 2), touch(3, 5, 2)]
    assert slide < 0 < jump


def test_where_the_hand_lifts_as_a_whole_only_the_way_counts() -> None:
    near, far = touch(2, 3, 2), touch(5, 3, 2)
    place = touch(3, 2, 2)
    jumps = [TABLES.lifted_in_turn[start, place] for start in (near, far)]
    assert 0 < jumps[0] < jumps[1] < TABLES.in_turn[near, place]
    slide = touch(2, 3, 2), touch(2, 5, 2)
    assert TABLES.lifted_in_turn[slide] == TABLES.in_turn[slide]


def test_a_finger_that_stays_or_rests_pays_nothing() -> None:
    assert TABLES.in_turn[touch(2, 3, 2), touch(2, 3, 2)] == 0
    assert TABLES.in_turn[touch(2, 3, 2), touch(3, 5, 3)] == 0
    assert TABLES.in_turn[touch(2, 0, 0), touch(2, 3, 2)] == 0


def test_a_finger_exchanged_for_another_at_its_place_pays_unless_the_hand_lifts_as_a_whole() -> None:
    exchange = touch(2, 3, 3), touch(2, 3, 4)
    assert TABLES.in_turn[exchange] == TABLES.melody_in_turn[exchange] == Prices().finger_exchanged
    assert TABLES.lifted_in_turn[exchange] == TABLES.melody_lifted_in_turn[exchange] == 0


def test_a_level_without_barres_lays_none() -> None:
    place = Place(StringNumber(3), Fret(2))
    assert len(touches_at(place, ())) == 4
    assert len(touches_at(place, (Finger.INDEX,))) == 5


def test_only_a_level_with_small_barres_lays_other_fingers_flat() -> None:
    assert LEVEL.flat_fingers == (Finger.INDEX,)
    assert load_default_levels()["early"].flat_fingers == ()
    assert load_default_levels()["advanced"].flat_fingers == FINGERS


@pytest.mark.parametrize(("fret", "millimetres"), [(1, 36.5), (4, 134.1), (5, 163.1), (12, 325.0)])
def test_frets_lie_where_equal_temperament_puts_them(fret: int, millimetres: float) -> None:
    """L (1 - 2^(-n/12)) on 650 mm; the values are those of the project's table of levels, to 0.1 mm."""
    assert fret_distance_mm(fret) == pytest.approx(millimetres, abs=0.06)


def voice_shape(*places: tuple[int, int, int]) -> list[int]:
    return [touch(*place) for place in places]


@pytest.mark.parametrize(
    "shape",
    [
        voice_shape((5, 3, 3), (4, 2, 2), (3, 0, 0), (2, 1, 1), (1, 0, 0)),  # C
        voice_shape((6, 3, 2), (5, 2, 1), (4, 0, 0), (3, 0, 0), (2, 0, 0), (1, 3, 3)),  # G
        voice_shape((4, 0, 0), (3, 2, 1), (2, 3, 3), (1, 2, 2)),  # D
        voice_shape((5, 0, 0), (4, 2, 1), (3, 2, 2), (2, 2, 3), (1, 0, 0)),  # A
        voice_shape((6, 0, 0), (5, 2, 2), (4, 2, 3), (3, 1, 1), (2, 0, 0), (1, 0, 0)),  # E
        voice_shape((5, 0, 0), (4, 2, 2), (3, 2, 3), (2, 1, 1), (1, 0, 0)),  # Am
        voice_shape((6, 0, 0), (5, 2, 2), (4, 2, 3), (3, 0, 0), (2, 0, 0), (1, 0, 0)),  # Em
        voice_shape((4, 0, 0), (3, 2, 2), (2, 3, 3), (1, 1, 1)),  # Dm
    ],
)
def test_the_hand_can_hold_the_open_chords(shape: list[int]) -> None:
    """Open-position chord shapes (common practice, no source)."""
    assert all(can(one, other) for index, one in enumerate(shape) for other in shape[index + 1 :])


def price(*pair: int) -> int:
    """What two touches cost together, where small barres are allowed."""
    return int(FREE.together[pair])


def test_a_finger_nearer_to_string_1_than_its_neighbour_has_its_price_for_each_string() -> None:
    across = PRICES.neighbour_to_treble_per_string
    assert [price(touch(4, 2, 2), touch(string, 3, 3)) for string in (3, 2, 1)] == [
        across,
        2 * across,
        3 * across,
    ]
    # Towards the lower-pitched strings the hand slants by itself, and fingers 1 and 3 are no neighbours.
    assert price(touch(2, 2, 2), touch(4, 3, 3)) == 0
    assert price(touch(3, 1, 1), touch(2, 3, 3)) == 0


def test_the_fret_next_to_a_barre_is_crowded_for_the_higher_fingers() -> None:
    barre, across = touch(6, 3, 1, flat=True), PRICES.neighbour_to_treble_per_string
    assert price(barre, touch(5, 4, 2)) == across
    assert price(barre, touch(5, 4, 3)) == PRICES.crowded_by_barre_per_fret
    assert price(barre, touch(5, 4, 4)) == 2 * PRICES.crowded_by_barre_per_fret
    # Two frets from the barre the little finger stands as freely as the third.
    assert price(barre, touch(5, 5, 4)) == price(barre, touch(5, 5, 3)) == 0


def test_two_fingers_close_up_by_one_fret_for_nothing_and_by_more_at_a_price() -> None:
    assert price(touch(4, 5, 2), touch(5, 6, 4)) == 0
    assert price(touch(4, 5, 1), touch(5, 6, 4)) == PRICES.contraction_per_fret
    assert price(touch(4, 5, 1), touch(3, 5, 4)) == 2 * PRICES.contraction_per_fret
    # From a finger laid flat, the first excepted, as from a tip.
    assert price(touch(4, 5, 2, flat=True), touch(2, 5, 4)) == PRICES.contraction_per_fret
    assert price(touch(4, 5, 1, flat=True), touch(3, 5, 4)) == 0


def test_fingers_open_wider_than_a_fret_each_at_a_price_for_every_fret() -> None:
    """From a barre less, but for each of its notes; and no millimetres."""
    level = replace(LEVEL, spans={pair: SpanLimit(200.0, 300.0) for pair in FINGER_PAIRS})
    wide = hand_tables(level, PRICES, 1.0)
    assert wide.together[touch(3, 1, 1), touch(4, 3, 2)] == PRICES.extension_per_fret
    assert wide.together[touch(3, 1, 1), touch(4, 5, 3)] == 2 * PRICES.extension_per_fret
    barre = touch(5, 1, 1, flat=True)
    assert wide.together[barre, touch(5, 3, 2)] == FORBIDDEN  # one string
    assert wide.together[barre, touch(6, 3, 2)] == PRICES.extension_from_barre_per_fret
    assert TABLES.together[barre, touch(4, 4, 4)] == 0  # 97 mm, and comfort ends at 96


@pytest.mark.parametrize(
    ("place", "expected"),
    [
        ((1, 4, 1), PRICES.finger_pressed),
        ((1, 4, 2), PRICES.finger_pressed + PRICES.middle_finger),
        ((1, 4, 3), PRICES.finger_pressed + PRICES.ring_finger),
        ((1, 4, 4), PRICES.finger_pressed + PRICES.little_finger),
        ((6, 7, 1), PRICES.finger_pressed + 3 * PRICES.high_fret_per_fret),
        ((6, 0, 0), 0),
    ],
)
def test_a_note_costs_its_finger_and_its_fret_above_the_fourth(
    place: tuple[int, int, int], expected: int
) -> None:
    assert TABLES.touch[touch(*place)] == expected


def test_a_small_barre_costs_for_each_string_and_one_of_finger_1_does_not() -> None:
    flat = FREE.touch[touch(3, 4, 3, flat=True)] - FREE.touch[touch(3, 4, 3)]
    assert flat == PRICES.small_barre_per_string
    assert FREE.touch[touch(3, 4, 1, flat=True)] == FREE.touch[touch(3, 4, 1)]
    assert FREE.touch[NO_TOUCH] == 0


def test_an_open_string_beside_a_barre_has_its_price_on_either_side() -> None:
    barre = touch(4, 2, 1, flat=True)
    assert price(barre, touch(5, 0, 0)) == price(barre, touch(1, 0, 0)) == PRICES.barre_beside_open_per_string
    assert price(touch(4, 2, 1), touch(5, 0, 0)) == 0


def test_comfort_may_last_to_the_outermost_span() -> None:
    """A teacher may write one number twice: a span then costs no strain until it is impossible."""
    level = replace(LEVEL, spans={pair: SpanLimit(80.0, 80.0) for pair in FINGER_PAIRS})
    tables = hand_tables(level, Prices(extension_per_fret=0, contraction_per_fret=0), 1.0)
    assert tables.together[touch(3, 1, 1), touch(2, 3, 3)] == 0  # 68 mm
    assert tables.together[touch(3, 1, 1), touch(2, 4, 3)] == FORBIDDEN  # 99 mm
