"""Groups of beats: as the source has them, else as is usual (common practice, no source)."""

from fractions import Fraction

import pytest

from builders import make_meter


@pytest.mark.parametrize(
    ("meter", "onsets"),
    [
        ("5/8", "0 3/2"),
        ("2+3/8", "0 1"),
        ("7/8", "0 1 2"),
        ("3+2+2/8", "0 3/2 5/2"),
        ("5/4", "0 3"),
        ("2+3/4", "0 2"),
        ("11/8", "0 1 2 3 4"),
        ("6/8", "0 3/2"),
        ("3/4", "0 1 2"),
    ],
)
def test_groups_begin_where_the_source_or_use_has_them(meter: str, onsets: str) -> None:
    assert make_meter(meter).group_onsets == tuple(map(Fraction, onsets.split()))


def test_uneven_meters_are_those_whose_felt_beats_are_twos_and_threes() -> None:
    assert [text for text in ("5/8", "7/8", "11/8", "2+3/8", "7/16") if not make_meter(text).is_uneven] == []
    assert not any(make_meter(text).is_uneven for text in ("3/8", "6/8", "9/8", "4/4", "5/4", "7/4", "8/8"))


def test_a_meter_is_named_by_its_sum() -> None:
    assert str(make_meter("3+2/8")) == "5/8"
