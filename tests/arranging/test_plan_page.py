"""docs/plan.md: its examples are read, its locks are arranged, its messages are the program's."""

import re
from dataclasses import fields
from fractions import Fraction
from pathlib import Path

import pytest

from apoyando.arranging import arrange_song
from apoyando.model.arrangement import Role
from apoyando.model.errors import UsageError
from apoyando.model.hand import Finger
from apoyando.model.instrument import StringNumber
from apoyando.model.locks import AvoidFingerLock, Lock, NoteLock, Stretch
from apoyando.model.plan import Plan
from apoyando.reading import load_default_levels, read_plan, read_song

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "plan.md").read_text(encoding="utf-8")
EXAMPLES = re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL)
MESSAGES = re.findall(r"```text\n(.*?)\n```", PAGE, re.DOTALL)
SONG = read_song((ROOT / "examples" / "first-light.abc").read_bytes(), "first-light.abc")
LEVEL = load_default_levels()["intermediate"]
MELODY = NoteLock(bar="1", beat=Fraction(1), voice=Role.MELODY, string=StringNumber(3), finger=Finger.LITTLE)


def test_every_entry_of_a_plan_has_its_line_in_the_table_and_its_example() -> None:
    names = [field.name for field in fields(Plan)]
    assert [name for name in names if f"| `{name}` |" not in PAGE] == []
    assert [name for name in names if name not in "".join(EXAMPLES)] == []


def test_each_kind_of_lock_has_its_example() -> None:
    kinds = {type(lock) for example in EXAMPLES for lock in read_plan(example, "plan.md").locks}
    assert kinds == set(Lock.__args__)


def test_the_examples_together_are_a_plan_that_can_be_kept() -> None:
    plan = read_plan("".join(EXAMPLES), "plan.md")
    assert len(plan.locks) == len(re.findall(r"\[\[locks\]\]", "".join(EXAMPLES)))
    assert arrange_song(SONG, plan, LEVEL).level == plan.level


@pytest.mark.parametrize(
    ("message", "locks"),
    [
        (MESSAGES[0], (NoteLock(bar="1", beat=Fraction(2), string=StringNumber(2)),)),
        (MESSAGES[1], (MELODY, AvoidFingerLock(Stretch(), Finger.LITTLE))),
    ],
)
def test_the_messages_are_the_program_s_own(message: str, locks: tuple[Lock, ...]) -> None:
    with pytest.raises(UsageError) as told:
        arrange_song(SONG, Plan(key="G", locks=locks), LEVEL)
    assert str(told.value) == message
