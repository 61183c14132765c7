"""What is done side by side finds what is found one after the other."""

import os
from functools import partial

import pytest

from apoyando.arranging import cores
from apoyando.arranging.cores import beside, side_by_side
from apoyando.model.errors import UsageError


def square(number: int) -> int:
    return number * number


def name_process(_: int = 0) -> int:
    return os.getpid()


def refuse() -> int:
    raise UsageError("no")


@pytest.fixture(params=[1, 2])
def _cores(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cores, "cpu_count", lambda: request.param)


@pytest.mark.usefixtures("_cores")
def test_the_answers_come_in_the_order_of_the_questions() -> None:
    assert list(side_by_side(square, [3, 1, 2])) == [9, 1, 4]
    assert [ask() for ask in [beside(partial(square, number)) for number in (3, 1, 2)]] == [9, 1, 4]


@pytest.mark.usefixtures("_cores")
def test_a_refusal_comes_when_the_answer_is_asked_for() -> None:
    ask = beside(refuse)
    with pytest.raises(UsageError, match="no"):
        ask()


def test_with_a_second_core_the_work_is_done_elsewhere_and_a_helper_asks_nobody(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(cores, "cpu_count", lambda: 2)
    assert beside(name_process)() != os.getpid()
    assert os.getpid() not in side_by_side(name_process, [0, 1])
    assert beside(partial(_ask_beside, 0))() is True


def _ask_beside(_: int) -> bool:
    """In a helper: whether what it asks beside it is done by itself."""
    return beside(name_process)() == os.getpid()


def test_with_one_core_nothing_is_done_elsewhere(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cores, "cpu_count", lambda: 1)
    assert beside(name_process)() == os.getpid()
    assert list(side_by_side(name_process, [0, 1])) == [os.getpid()] * 2
