"""The player's choices: the plan file first, then the options over it."""

import json
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from apoyando.files import read_plan_text
from apoyando.model.plan import Plan

Choice = str | int | None


def decide(plan_file: Path | None, choices: Mapping[str, Choice]) -> Plan:
    """The plan in force; an option that was given wins over the file. Raises UsageError."""
    from apoyando.reading import read_plan

    plan = Plan() if plan_file is None else read_plan(read_plan_text(plan_file), str(plan_file))
    for name, value in choices.items():
        if value is not None:
            plan = replace(plan, **{name: getattr(read_plan(_entry(name, value), f"--{name}"), name)})
    return plan


def _entry(name: str, value: str | int) -> str:
    """A line of a plan file. A JSON string is a TOML string too (TOML 1.0, basic strings)."""
    return f"{name} = {json.dumps(value)}"
