"""Ways to set a piece, and what is known of those that were laid out."""

from math import inf

import pytest

from apoyando.engraving.page.trials import USUAL_EXCESS, Task, Trials, list_trials
from apoyando.engraving.staff.casting import Measures
from apoyando.model.sheet import Sheet
from builders import make_arrangement, make_bars, make_line

BARS = 96
STAFF = 700.0


@pytest.fixture(scope="module")
def trials() -> Trials:
    """A piece of several pages, its staff of any size."""
    bars = make_bars(BARS)
    arrangement = make_arrangement(make_line("melody", "E4:4 " * BARS), bars)
    measures = Measures(bars, (3600.0,) * BARS, 800.0, (0.0,) * BARS, (STAFF,) * BARS)
    return list_trials(Task(arrangement, Sheet(), measures, (8.0,) * BARS))


def test_a_way_that_turned_out_dear_gives_way_to_another(trials: Trials) -> None:
    first, price = trials.choose(USUAL_EXCESS, {})
    second, more = trials.choose(USUAL_EXCESS, {first: inf})
    assert second != first
    assert price <= more < inf


def test_a_way_that_turned_out_as_was_thought_is_chosen_again(trials: Trials) -> None:
    first, price = trials.choose(USUAL_EXCESS, {})
    assert trials.choose(USUAL_EXCESS, {first: price}) == (first, price)


def test_a_way_that_turned_out_cheap_is_chosen_whatever_was_thought_of_it(trials: Trials) -> None:
    first, _ = trials.choose(USUAL_EXCESS, {})
    second, _ = trials.choose(USUAL_EXCESS, {first: inf})
    assert trials.choose(USUAL_EXCESS, {second: 0.0}) == (second, 0.0)
