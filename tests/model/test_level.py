"""What a level allows."""

from dataclasses import replace
from fractions import Fraction

import pytest

from apoyando.reading import load_default_levels

LEVEL = replace(load_default_levels()["intermediate"], most_points=10.0)


@pytest.mark.parametrize(
    ("quarters", "points"),
    [
        (Fraction(1), 10.0),
        (Fraction(3), 10.0),
        (Fraction(4), 10.0),
        (Fraction(6), 15.0),
        (Fraction(12), 30.0),
    ],
)
def test_a_bar_beyond_four_quarters_may_ask_more_in_proportion(quarters: Fraction, points: float) -> None:
    assert LEVEL.points_for(quarters) == points
