"""Which bars share a line and which lines share a page."""

from itertools import pairwise

import pytest

from apoyando.engraving.casting import (
    CLOSE,
    USUAL,
    PageRoom,
    choose_lines,
    choose_pages,
    line_gap,
    phrase_positions,
)
from apoyando.model.song import Bar
from builders import change_bar, make_bars

ROOM = 18000.0
PREFIX = 800.0
PAGE = PageRoom(first=1000.0, later=1200.0, least_gap=10.0, most_gap=50.0)


def line_lengths(bars: tuple[Bar, ...], width: float) -> list[int]:
    starts = choose_lines(bars, [width] * len(bars), PREFIX, ROOM)
    return [after - start for start, after in pairwise((*starts, len(bars)))]


def test_bars_of_usual_width_stand_four_to_a_line() -> None:
    assert line_lengths(make_bars(16), 3600) == [4, 4, 4, 4]


def test_a_close_setting_takes_fewer_lines() -> None:
    bars, widths = make_bars(32), [3200.0] * 32
    usual = choose_lines(bars, widths, PREFIX, ROOM, USUAL)
    close = choose_lines(bars, widths, PREFIX, ROOM, CLOSE)
    assert len(close) < len(usual)


def test_wide_bars_stand_two_to_a_line() -> None:
    assert line_lengths(make_bars(8), 7500) == [2, 2, 2, 2]


def test_a_pickup_does_not_shift_the_phrases() -> None:
    assert line_lengths(make_bars(16, pickup=1), 3300) == [5, 4, 4, 4]


def test_a_section_begins_a_line_where_that_costs_little() -> None:
    bars = change_bar(make_bars(14), 7, section="B")
    starts = choose_lines(bars, [3600.0] * 14, PREFIX, ROOM)
    assert 7 in starts


def test_the_last_line_is_never_one_stretched_bar_where_others_can_share() -> None:
    for count in range(5, 40):
        assert line_lengths(make_bars(count), 3600)[-1] > 1, count


def test_no_line_of_several_bars_is_fuller_than_full() -> None:
    for width in range(1000, 9000, 700):
        assert max(line_lengths(make_bars(20), width)) * width <= ROOM * 1.04, width


def test_a_bar_wider_than_the_page_has_its_own_line() -> None:
    assert line_lengths(make_bars(3), 25000) == [1, 1, 1]


def test_every_bar_is_on_a_line() -> None:
    assert sum(line_lengths(make_bars(137, pickup=1), 3100)) == 138


def test_phrases_are_counted_from_where_a_section_begins() -> None:
    bars = change_bar(make_bars(7, pickup=1), 3, repeat_times=2)
    assert phrase_positions(bars) == (0, 0, 1, 2, 0, 1, 2, 3)


def test_lines_that_fit_one_page_stay_on_it() -> None:
    assert choose_pages([100.0] * 9, PAGE) == (0,)
    assert len(choose_pages([100.0] * 10, PAGE)) == 2


def test_no_page_holds_more_than_fits() -> None:
    for count in range(1, 60):
        starts = choose_pages([100.0] * count, PAGE)
        sizes = [b - a for a, b in pairwise((*starts, count))]
        assert sizes[0] <= 9, count
        assert all(size <= 11 for size in sizes[1:]), count


def test_a_line_higher_than_a_page_stands_alone() -> None:
    assert choose_pages([5000.0, 100.0], PAGE) == (0, 1)


@pytest.mark.parametrize(
    ("heights", "expected"), [([100.0] * 9, 12.5), ([100.0] * 2, 50.0), ([100.0] * 10, 10.0), ([100.0], 10.0)]
)
def test_the_gap_between_lines_fills_the_page_within_limits(heights: list[float], expected: float) -> None:
    assert line_gap(heights, 1000.0, PAGE) == expected
