"""A searcher that is asked again gives the same answer as one that is asked for the first time."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apoyando.arranging import pose_in_key
from apoyando.fingering import (
    NoWayError,
    Problem,
    Restriction,
    Searcher,
    find_best_way,
    grips,
    held,
    transitions,
)
from apoyando.fingering.fronts import Front, Task, Walk
from apoyando.fingering.touches import Ints
from apoyando.model.hand import Finger
from apoyando.model.instrument import STANDARD_TUNING
from apoyando.model.plan import Plan
from apoyando.model.song import Song
from excerpts import ROOT, WORLDS, read_real_song

WORLD = WORLDS["intermediate"]


def pose(song: Song) -> Problem:
    return pose_in_key(song, Plan(), WORLD.level, song.key).problem


PROBLEM = Problem(pose(read_real_song(ROOT / "examples" / "first-light.abc")).slices[:64])

FREE = Problem(PROBLEM.slices)
"""The same, each bar for itself."""


def ask_anew(problem: Problem) -> object:
    return find_best_way(problem, tuning=STANDARD_TUNING, level=WORLD.level, prices=WORLD.prices)


def searcher() -> Searcher:
    return Searcher(tuning=STANDARD_TUNING, level=WORLD.level, prices=WORLD.prices)


def restricted(problem: Problem, index: int, restriction: Restriction) -> Problem:
    slices = list(problem.slices)
    slices[index] = replace(slices[index], restriction=restriction)
    return Problem(tuple(slices))


restrictions = st.builds(
    Restriction,
    allows_barre=st.booleans(),
    free_fingers=st.sampled_from(((), (Finger.INDEX,), (Finger.RING, Finger.LITTLE))),
)


@settings(max_examples=20)
@given(st.lists(st.tuples(st.integers(0, len(PROBLEM.slices) - 1), restrictions), min_size=1, max_size=4))
def test_asked_again_with_other_slices_it_answers_as_if_for_the_first_time(
    changes: list[tuple[int, Restriction]],
) -> None:
    asked = searcher()
    asked.find_best_way(PROBLEM)
    problem = PROBLEM
    for index, restriction in changes:
        problem = restricted(problem, index, restriction)
        assert asked.find_best_way(problem) == ask_anew(problem)
    assert asked.find_best_way(PROBLEM) == ask_anew(PROBLEM)


def test_a_shorter_and_a_longer_question_are_answered_too() -> None:
    asked = searcher()
    for problem in (PROBLEM, Problem(PROBLEM.slices[:7]), Problem(), PROBLEM):
        assert asked.find_best_way(problem) == ask_anew(problem)


def test_after_a_question_without_an_answer_it_goes_on() -> None:
    asked = searcher()
    first = asked.find_best_way(PROBLEM)
    pressed = next(
        index
        for index, chosen in enumerate(first.slices)
        if any(voice and voice.touch.finger for voice in chosen.voices[:1])
    )
    no_fingers = Restriction(free_fingers=tuple(finger for finger in Finger if finger))
    with pytest.raises(NoWayError):
        asked.find_best_way(restricted(PROBLEM, pressed, replace(no_fingers, position=1)))
    assert asked.find_best_way(PROBLEM) == first


def test_one_changed_slice_does_not_take_the_whole_song(monkeypatch: pytest.MonkeyPatch) -> None:
    steps = 0
    step = Walk.step

    def counted(self: Walk, front: Front | None, task: Task) -> Front:
        nonlocal steps
        steps += 1
        return step(self, front, task)

    monkeypatch.setattr(Walk, "step", counted)
    asked = searcher()
    asked.find_best_way(FREE)
    assert steps == len(FREE.slices)
    asked.find_best_way(restricted(FREE, 10, Restriction(free_fingers=(Finger.LITTLE,))))
    assert steps <= len(FREE.slices) + len(FREE.slices) // 2


@pytest.mark.parametrize("at_once", [1, 1000])
def test_however_little_is_tried_at_once_the_way_is_the_same(
    at_once: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Rich chords have more grips and transitions than fit into the memory together."""
    problem = Problem(PROBLEM.slices[:24])
    whole = ask_anew(problem)
    monkeypatch.setattr(grips, "MOST_AT_ONCE", at_once)
    monkeypatch.setattr(transitions, "MOST_AT_ONCE", at_once)
    monkeypatch.setattr(held, "MOST_AT_ONCE", at_once)
    assert ask_anew(problem) == whole


@pytest.mark.parametrize("at_once", [1, 4_000_000])
def test_listed_or_block_by_block_the_way_is_the_same(at_once: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where very many grips hold the same their transitions are not listed."""
    whole = ask_anew(PROBLEM)
    monkeypatch.setattr(held, "MOST_LISTED", 0)
    monkeypatch.setattr(held, "MOST_AT_ONCE", at_once)
    assert ask_anew(PROBLEM) == whole


def test_no_more_is_tried_at_once_than_there_is_room_for(monkeypatch: pytest.MonkeyPatch) -> None:
    """The largest table that is made of hands and of transitions has no more entries than the bound, and a row."""
    most = 2000
    sizes: list[int] = []
    with_voice = grips._with_voice

    def look(rows: Ints, price: Ints, pairs: Sequence[Ints], voice: Any, tables: Any) -> tuple[Ints, Ints]:
        sizes.append(len(price) * len(voice.touch))
        return with_voice(rows, price, pairs, voice, tables)

    monkeypatch.setattr(grips, "MOST_AT_ONCE", most)
    monkeypatch.setattr(grips, "_with_voice", look)
    ask_anew(Problem(PROBLEM.slices[:24]))
    assert 0 < max(sizes) <= most
