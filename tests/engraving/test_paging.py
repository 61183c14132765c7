"""Which lines share a page, and where it is turned."""

from collections.abc import Iterator, Sequence
from itertools import combinations, pairwise

import pytest

from apoyando.engraving.page.paging import PageRoom, choose_pages, follows_turn, line_gap

ROOM = PageRoom(first=1000.0, later=1200.0, least_gap=10.0, most_gap=50.0)


def starts(count: int, turns: Sequence[float] = ()) -> tuple[int, ...]:
    """Of so many lines, nine of which fit the first page and eleven a later one."""
    return choose_pages([100.0] * count, turns or [0.0] * count, ROOM).starts


def sizes(count: int, turns: Sequence[float] = ()) -> list[int]:
    return [b - a for a, b in pairwise((*starts(count, turns), count))]


def test_lines_that_fit_one_page_stay_on_it() -> None:
    assert sizes(9) == [9]
    assert len(sizes(10)) == 2


def test_no_page_holds_more_than_fits() -> None:
    for count in range(1, 60):
        first, *later = sizes(count)
        assert first <= 9, count
        assert all(size <= 11 for size in later), count


def test_there_are_no_more_pages_than_needed_where_turning_costs_nothing() -> None:
    for count in range(1, 60):
        assert len(sizes(count)) == 1 + max(0, -(-(count - 9) // 11)), count


def test_a_line_higher_than_a_page_stands_alone() -> None:
    assert choose_pages([5000.0, 100.0], [0.0, 0.0], ROOM).starts == (0, 1)


def test_two_pages_face_each_other_and_so_do_the_third_and_the_fourth() -> None:
    assert [number for number in range(1, 8) if follows_turn(number)] == [3, 5, 7]


def test_pages_that_face_each_other_need_no_turn() -> None:
    dear = [99.0] * 15
    assert choose_pages([100.0] * 15, dear, ROOM) == choose_pages([100.0] * 15, [0.0] * 15, ROOM)


def test_the_turn_is_where_it_costs_least() -> None:
    turns = [20.0] * 25
    assert starts(25, turns)[2] != 15
    turns[15] = 0.0
    assert starts(25, turns)[2] == 15


def test_a_page_is_left_emptier_for_a_better_turn_but_the_lines_stay_in_order() -> None:
    turns = [20.0] * 28
    turns[12] = 0.0
    pages = sizes(28, turns)
    assert sum(pages[:2]) == 12
    assert sum(pages) == 28


def test_they_are_the_cheapest_of_all_ways() -> None:
    """Every way to cut a few lines into pages, priced one by one."""
    heights = [300.0, 250.0, 400.0, 200.0, 350.0, 300.0, 150.0, 420.0]
    turns = [0.0, 9.0, 5.0, 7.0, 1.0, 8.0, 3.0, 6.0]
    best = min(_price(heights, turns, cuts) for cuts in _all_cuts(len(heights)))
    assert choose_pages(heights, turns, ROOM).price == pytest.approx(best)


def _all_cuts(count: int) -> Iterator[tuple[int, ...]]:
    for pages in range(count):
        for cuts in combinations(range(1, count), pages):
            yield (0, *cuts)


def _price(heights: Sequence[float], turns: Sequence[float], cuts: Sequence[int]) -> float:
    """The rule in words: 8 a page, 2 for the square of what stays empty, and the turns."""
    price = 0.0
    for number, (start, stop) in enumerate(pairwise((*cuts, len(heights))), 1):
        room = 1000.0 if number == 1 else 1200.0
        full = (sum(heights[start:stop]) + 10.0 * (stop - start - 1)) / room
        if full > 1 and stop - start > 1:
            return float("inf")
        price += 8.0 + 2.0 * max(0.0, 1 - full) ** 2
        price += turns[start] if number in {3, 5, 7} else 0.0
    return price


@pytest.mark.parametrize(
    ("heights", "expected"), [([100.0] * 9, 12.5), ([100.0] * 2, 50.0), ([100.0] * 10, 10.0), ([100.0], 10.0)]
)
def test_the_gap_between_lines_fills_the_page_within_limits(heights: list[float], expected: float) -> None:
    assert line_gap(heights, 1000.0, ROOM) == expected
