"""A plan file changed where the plan has changed, and otherwise left as a hand has written it.

Comments, the order of the entries and their way of writing stay for whatever does not change.
A file that no hand has touched is written afresh, in the order that is explained best.

Law: ``read_plan(rewrite_plan(text, plan), name) == plan`` for every text that is a plan.
"""

import re
from collections.abc import Collection, Mapping
from difflib import SequenceMatcher
from typing import Any, cast

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AoT, Table

from apoyando.model.errors import UsageError
from apoyando.model.plan import Plan
from apoyando.reading.plan import read_plan, write_entries, write_plan

_SOURCE = "plan"
Entry = dict[str, object]


def rewrite_plan(text: str, plan: Plan, levels: Collection[str] | None = None) -> str:
    """The text with what is different in the plan; written afresh where it cannot be kept.

    Raises UsageError if the plan holds a value that could not be read back.
    """
    fresh = write_plan(plan)
    try:
        before = read_plan(text, _SOURCE, levels)
        if before == plan:
            return text
        if text == write_plan(before):
            return fresh
        kept = _change(text, write_entries(before), write_entries(plan))
        return kept if read_plan(kept, _SOURCE, levels) == plan else fresh
    except (TOMLKitError, UsageError):
        return fresh


def _change(text: str, before: Mapping[str, object], after: Mapping[str, object]) -> str:
    changed = {name: value for name, value in after.items() if value != before[name]}
    for name, value in changed.items():
        if before[name] is None:
            text = _open_entry(text, name, value)
    document = tomlkit.parse(text)
    for name, value in changed.items():
        _put(document, name, before[name], value)
    return tomlkit.dumps(document)


def _open_entry(text: str, name: str, value: object) -> str:
    """An entry that stood in a comment, as one that is left out does, put into force."""
    line = f"{name} = {tomlkit.item(cast('Any', value)).as_string()}"
    return re.sub(rf"(?m)^# {name} = .*$", lambda _: line, text, count=1)


def _put(document: tomlkit.TOMLDocument, name: str, before: object, value: object) -> None:
    there = document.get(name)
    if value is None or value == []:
        document.pop(name, None)
    elif isinstance(value, dict):
        changes = _changed_entries(cast("Entry", before), value)
        _put_table(document, name, changes, [each for each in cast("Entry", before) if each not in value])
    elif isinstance(there, AoT) and isinstance(value, list):
        _put_tables(there, cast("list[Entry]", before), value)
    else:
        document[name] = value


def _changed_entries(before: Entry, value: Entry) -> Entry:
    return {name: entry for name, entry in value.items() if name not in before or before[name] != entry}


def _put_table(document: tomlkit.TOMLDocument, name: str, changes: Entry, gone: list[str]) -> None:
    """What is different in a table; all else in it stays, also what it leaves out."""
    if name not in document:
        document[name] = tomlkit.table()
    table = cast("Table", document[name])
    for entry in gone:
        table.pop(entry, None)
    for entry, value in changes.items():
        table[entry] = value


def _put_tables(there: AoT, before: list[Entry], after: list[Entry]) -> None:
    """A list of tables: those that stay are not touched."""
    steps = SequenceMatcher(None, [repr(each) for each in before], [repr(each) for each in after])
    for act, start, stop, first, last in reversed(steps.get_opcodes()):
        if act == "equal":
            continue
        for place in range(stop - 1, start - 1, -1):
            del there[place]
        for place, entry in enumerate(after[first:last], start):
            there.insert(place, cast("Table", tomlkit.item(entry)))
