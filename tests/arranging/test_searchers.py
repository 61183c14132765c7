"""A searcher is kept for the next question, and the answer is that of one that was never asked before."""

from dataclasses import replace
from pathlib import Path

import pytest

from apoyando.arranging import arrange_in_key, searchers, twelve_keys
from apoyando.arranging.searchers import find_searcher
from apoyando.arranging.setting import Setting
from apoyando.model.arrangement import Arrangement
from apoyando.model.instrument import STANDARD_TUNING, TUNINGS
from apoyando.model.plan import Plan
from apoyando.model.prices import Prices
from apoyando.reading import load_default_levels, read_song

LEVELS = load_default_levels()
EXAMPLE = Path(__file__).parents[2] / "examples" / "amazing-grace.abc"
SONG = read_song(EXAMPLE.read_bytes(), EXAMPLE.name)
SETTING = Setting(STANDARD_TUNING, LEVELS["intermediate"], Prices(), 0.6)


@pytest.fixture(autouse=True)
def _nothing_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(searchers, "_kept", [])


def test_the_same_hand_has_one_searcher_and_any_other_hand_another() -> None:
    kept = find_searcher(SETTING, 1.0)
    assert find_searcher(replace(SETTING, seconds_per_quarter=0.5), 1.0) is kept
    others = [
        find_searcher(SETTING, 0.9),
        find_searcher(replace(SETTING, level=LEVELS["early"]), 1.0),
        find_searcher(replace(SETTING, prices=Prices(shift=1)), 1.0),
        find_searcher(replace(SETTING, tuning=TUNINGS["drop-d"]), 1.0),
    ]
    assert len({id(each) for each in (kept, *others)}) == 5


def test_those_asked_longest_ago_are_let_go() -> None:
    kept = find_searcher(SETTING, 1.0)
    for tenths in range(1, 6):
        find_searcher(SETTING, 1.0 + tenths / 10)
    assert find_searcher(SETTING, 1.0) is kept
    for tenths in range(1, 7):
        find_searcher(SETTING, 1.0 + tenths / 10)
    assert find_searcher(SETTING, 1.0) is not kept


def test_what_was_asked_before_changes_no_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    questions = [
        (Plan(texture=texture, level=level), key)
        for level in ("intermediate", "early")
        for texture in ("sustained", "arpeggio")
        for key in twelve_keys(SONG)[:2]
    ]

    def ask(plan: Plan, number: int) -> Arrangement:
        return arrange_in_key(SONG, plan, LEVELS[plan.level], twelve_keys(SONG)[number])

    asked = [(plan, twelve_keys(SONG).index(key)) for plan, key in questions]
    one_after_the_other = [ask(*each) for each in (*asked, *asked)]
    for index, each in enumerate(asked):
        monkeypatch.setattr(searchers, "_kept", [])
        assert ask(*each) == one_after_the_other[index] == one_after_the_other[index + len(asked)]
