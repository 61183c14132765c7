"""Which bars share a line."""

from collections.abc import Sequence
from itertools import pairwise

from apoyando.engraving.staff.casting import (
    CLOSE,
    SNUG,
    USUAL,
    Measures,
    choose_lines,
    phrase_positions,
    price_lines,
    sum_prices,
)
from apoyando.model.song import Bar
from builders import change_bar, make_bars

ROOM = 18000.0
PREFIX = 800.0


def measures(bars: Sequence[Bar], width: float) -> Measures:
    return Measures(tuple(bars), (width,) * len(bars), PREFIX)


def line_lengths(bars: tuple[Bar, ...], width: float) -> list[int]:
    starts = choose_lines(price_lines(measures(bars, width), ROOM))
    return [after - start for start, after in pairwise((*starts, len(bars)))]


def test_bars_of_usual_width_stand_four_to_a_line() -> None:
    assert line_lengths(make_bars(16), 3600) == [4, 4, 4, 4]


def test_a_close_setting_takes_fewer_lines() -> None:
    counts = [
        len(choose_lines(price_lines(measures(make_bars(32), 3200), ROOM, setting)))
        for setting in (USUAL, SNUG, CLOSE)
    ]
    assert counts[0] >= counts[1] >= counts[2]
    assert counts[0] > counts[2]


def test_the_usual_setting_is_the_best_by_its_own_price() -> None:
    bars = measures(make_bars(32), 3200)
    usual = price_lines(bars, ROOM)
    chosen = [choose_lines(price_lines(bars, ROOM, setting)) for setting in (USUAL, SNUG, CLOSE)]
    prices = [sum_prices(usual, starts) for starts in chosen]
    assert prices[0] == min(prices)
    assert prices[0] < prices[2]


def test_a_line_begins_where_something_is_gained_by_it() -> None:
    prices = price_lines(measures(make_bars(32), 3600), ROOM)
    gains = [2.0 if index == 11 else 0.0 for index in range(32)]
    assert 11 not in choose_lines(prices)
    assert 11 in choose_lines(prices, gains)


def test_wide_bars_stand_two_to_a_line() -> None:
    assert line_lengths(make_bars(8), 7500) == [2, 2, 2, 2]


def test_a_pickup_does_not_shift_the_phrases() -> None:
    assert line_lengths(make_bars(16, pickup=1), 3300) == [5, 4, 4, 4]


def test_a_section_begins_a_line_where_that_costs_little() -> None:
    bars = change_bar(make_bars(14), 7, section="B")
    starts = choose_lines(price_lines(measures(bars, 3600), ROOM))
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
