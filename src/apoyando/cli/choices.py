"""The player's choices: the plan file first, then the options over it."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from apoyando.cli.command_line import read_typed
from apoyando.files import read_levels_text, read_plan_text
from apoyando.model.level import Level
from apoyando.model.plan import Plan

if TYPE_CHECKING:
    from apoyando.pipeline import Wishes

Choice = str | float | None
_NUMBERS = ("capo", "minutes", "staff", "margin")
"""Entries of a plan that are numbers; the rest is text, whatever it looks like."""


def decide(
    plan_file: Path | None, choices: Mapping[str, Choice], levels: Mapping[str, Level] | None = None
) -> Plan:
    """The plan in force; an option that was given wins over the file. Raises UsageError.

    ``levels`` is the table in force, None for the program's own.
    """
    return _decide(_text_of(plan_file), plan_file, choices, levels)


def _text_of(plan_file: Path | None) -> str:
    return "" if plan_file is None else read_plan_text(plan_file)


def _decide(
    text: str, plan_file: Path | None, choices: Mapping[str, Choice], levels: Mapping[str, Level] | None
) -> Plan:
    from apoyando.reading import read_plan

    plan = read_plan(text, str(plan_file), levels)
    for name, value in _typed(choices):
        if value is not None:
            plan = replace(
                plan,
                **{
                    name: getattr(read_plan(_entry(name, value), f"--{name.replace('_', '-')}", levels), name)
                },
            )
    return plan


def choose_page(plan: Plan, choices: Mapping[str, Choice]) -> Plan:
    """The plan with what was chosen for its page, by the names of the table's entries. Raises UsageError."""
    from apoyando.reading import read_sheet, write_sheet

    page = plan.page
    for name, value in _typed(choices):
        if value is not None:
            page = read_sheet(f"--{name}", "page", {**write_sheet("plan", page), name: value})
    return replace(plan, page=page)


def wish(
    plan_file: Path | None, choices: Mapping[str, Choice], levels: Mapping[str, Level], *, is_anew: bool
) -> "Wishes":
    """What is wanted of a score's fingering; tuning, capo and staves are the score's own where neither
    the options nor a plan name them. Raises UsageError.
    """
    from apoyando.pipeline import Wishes
    from apoyando.reading import list_entries

    text = _text_of(plan_file)
    plan = _decide(text, plan_file, choices, levels)
    named = {*list_entries(text, str(plan_file)), *(name for name in choices if choices[name] is not None)}
    return Wishes(
        plan=plan,
        tuning=plan.tuning if "tuning" in named else "",
        capo=plan.capo if "capo" in named else None,
        staves=plan.page.staves if "page.staves" in named else None,
        is_anew=is_anew,
    )


def choose_levels(file: Path | None) -> Mapping[str, Level]:
    """The table of levels in force: the teacher's own, or the program's. Raises UsageError."""
    from apoyando.reading import load_default_levels, read_levels

    return load_default_levels() if file is None else read_levels(read_levels_text(file), str(file))


def _typed(choices: Mapping[str, Choice]) -> Iterator[tuple[str, Choice]]:
    for name, value in choices.items():
        yield name, read_typed(value) if name in _NUMBERS and isinstance(value, str) else value


def _entry(name: str, value: str | float) -> str:
    """A line of a plan file, as TOML 1.0 writes strings, numbers, and true and false.

    Bytes that are no text are read as question marks.
    """
    import tomlkit

    if isinstance(value, str):
        value = value.encode(errors="replace").decode()
    return tomlkit.item({name: value}).as_string().strip()
