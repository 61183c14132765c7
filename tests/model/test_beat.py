"""Beats as they are counted, written and read."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apoyando.model.beat import count_beat, find_beat, name_count, read_count
from builders import make_bars


@pytest.mark.parametrize("meter", ["4/4", "3/4", "6/8", "12/8", "C|", "5/8"])
@pytest.mark.parametrize("pickup", ["0", "1/2"])
@given(beat=st.fractions(1, 12, max_denominator=12))
def test_a_beat_is_found_where_it_is_counted(meter: str, pickup: str, beat: Fraction) -> None:
    for bar in make_bars(2, meter, pickup=pickup):
        assert count_beat(bar, find_beat(bar, beat)) == beat


def test_a_compound_meter_has_dotted_beats() -> None:
    """6/8 is felt in two (common practice, no source)."""
    assert find_beat(make_bars(1, "6/8")[0], Fraction(2)) == Fraction(3, 2)


def test_a_pickup_begins_late_in_its_bar() -> None:
    pickup, first = make_bars(1, "4/4", pickup="1")
    assert find_beat(pickup, Fraction(4)) == 0
    assert find_beat(first, Fraction(1)) == 1


@given(st.fractions(0, 9999, max_denominator=9999))
def test_a_written_count_is_read_back(number: Fraction) -> None:
    assert read_count(name_count(number)) == number


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("3", "3"),
        ("2½", "5/2"),
        ("2 ½", "5/2"),
        ("½", "1/2"),
        ("5/2", "5/2"),
        ("2.5", "5/2"),
        ("1 + 2/5", "7/5"),
    ],
)
def test_a_count_is_read_as_people_write_it(text: str, number: str) -> None:
    assert read_count(text) == Fraction(number)


@pytest.mark.parametrize(
    "text", ["", "x", "-1", "1/0", "2+", "1e9", "1e999999999", "nan", "٣", "1" * 5, "2,5"]
)
def test_what_is_no_count_is_none(text: str) -> None:
    assert read_count(text) is None
