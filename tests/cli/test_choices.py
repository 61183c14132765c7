"""The plan in force: the file first, options over it."""

from pathlib import Path

import pytest

from apoyando.cli.choices import decide
from apoyando.model.errors import UsageError
from apoyando.model.plan import Plan


def test_without_choices_the_plan_is_the_default_one() -> None:
    assert decide(None, {"key": None, "capo": None}) == Plan()


def test_options_are_decisions() -> None:
    assert decide(None, {"key": "Bb", "level": "early", "tuning": "drop-d", "capo": 2}) == Plan(
        key="Bb", level="early", tuning="drop-d", capo=2
    )


def test_an_option_wins_over_the_plan_file_and_leaves_its_other_entries(tmp_path: Path) -> None:
    plan_file = tmp_path / "tune.plan.toml"
    plan_file.write_text('key = "A"\ncapo = 3\nhand_size = 0.9\n')

    assert decide(plan_file, {"key": "D", "capo": None}) == Plan(key="D", capo=3, hand_size=0.9)


def test_an_option_can_take_a_decision_back(tmp_path: Path) -> None:
    plan_file = tmp_path / "tune.plan.toml"
    plan_file.write_text('key = "A"\ncapo = 3\n')

    assert decide(plan_file, {"key": "", "capo": 0}) == Plan()


@pytest.mark.parametrize(
    ("name", "value", "message"),
    [
        ("key", "H", r'^--key: key = "H" cannot be meant: write a tonic as "G"'),
        ("key", "g", r"^--key: "),
        ("level", "hard", r"^--level: .*early, intermediate, advanced"),
        ("minutes", 0.0, r"^--minutes: .*from 0.1 to 60"),
        ("ending", "bang", r'^--ending: .*"fermata", "rolled-chord"'),
        ("texture", "polka", r"^--texture: .*running-eighths"),
        ("tuning", "open-g", r"^--tuning: .*standard, drop-d"),
        ("capo", -1, r"^--capo: .*from 0 to"),
        ("capo", 99, r"^--capo: .*from 0 to"),
        ("key", 'G"\ncapo = 3 #', r"^--key: "),
    ],
)
def test_an_option_that_cannot_be_meant_is_named_with_what_would_be_right(
    name: str, value: str | int, message: str
) -> None:
    with pytest.raises(UsageError, match=message):
        decide(None, {name: value})


def test_a_bad_plan_file_is_named(tmp_path: Path) -> None:
    plan_file = tmp_path / "tune.plan.toml"
    plan_file.write_text('kye = "A"\n')

    with pytest.raises(UsageError, match=r"tune\.plan\.toml: there is no entry kye"):
        decide(plan_file, {})


def test_a_plan_file_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match=r"gone\.plan\.toml: the plan cannot be read \(no such file"):
        decide(tmp_path / "gone.plan.toml", {})


@pytest.mark.parametrize("value", [float("nan"), float("inf"), 1e300])
def test_a_number_that_is_none_is_told_like_any_other_that_cannot_be_meant(value: float) -> None:
    with pytest.raises(UsageError, match=r"^--minutes: minutes = .* write a number from 0.1 to 60"):
        decide(None, {"minutes": value})
