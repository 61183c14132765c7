"""Moments counted as whole numbers are counted as the fractions that they are."""

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from apoyando.model.time import Moments, in_order

MOMENTS = st.fractions(min_value=0, max_value=4, max_denominator=7)


def test_a_moment_between_two_thirds_is_after_the_first_and_before_the_second() -> None:
    thirds = Moments([Fraction(0), Fraction(1, 3), Fraction(2, 3)])
    assert thirds.count_before(Fraction(1, 2)) == thirds.count_until(Fraction(1, 2)) == 2
    assert (thirds.count_before(Fraction(2, 3)), thirds.count_until(Fraction(2, 3))) == (2, 3)


@given(st.lists(MOMENTS), MOMENTS)
def test_they_are_counted_as_if_each_were_compared(moments: list[Fraction], moment: Fraction) -> None:
    counted = Moments(sorted(moments))
    assert len(counted) == len(moments)
    assert counted.count_before(moment) == sum(each < moment for each in moments)
    assert counted.count_until(moment) == sum(each <= moment for each in moments)


@given(st.lists(MOMENTS))
def test_in_order_each_moment_stands_once(moments: list[Fraction]) -> None:
    assert in_order(moments) == sorted(set(moments))
