"""The plan file: the player's decisions for one song, as TOML beside it.

Law: ``read_plan(write_plan(plan), name) == plan``, and the same plan gives the same text.
An entry that is left out keeps its default. What may stand there: ``plan_entries``.
"""

from collections.abc import Collection, Mapping
from dataclasses import replace

import tomlkit
from tomlkit.items import AoT, Table

from apoyando.model.plan import Plan
from apoyando.reading.level_table import load_default_levels
from apoyando.reading.plan_entries import ENTRIES, EXAMPLES, LEFT_OPEN, WRITERS, Entry
from apoyando.reading.toml_entries import parse_toml, read_choice, refuse_unknown

_HEADING = (
    "What you have decided for this song. The same song with the same plan gives the same pages.",
    "Change an entry and arrange again; take an entry out to leave the choice to the program.",
)


def read_plan(text: str, file_name: str, levels: Collection[str] | None = None) -> Plan:
    """The decisions in a plan file. ``levels`` are those that there are (None: the program's own).

    Raises UsageError naming the entry, its value and what would be right.
    """
    return change_plan(Plan(), parse_toml(text, file_name), file_name, levels)


def list_entries(text: str, file_name: str) -> frozenset[str]:
    """The entries that a plan file has, those of its page as ``page.staves``. Raises UsageError where it is no TOML."""
    entries = parse_toml(text, file_name)
    page = entries.get("page")
    return frozenset((*entries, *(f"page.{name}" for name in (page if isinstance(page, dict) else ()))))


def change_plan(
    plan: Plan, changes: Mapping[str, object], source: str, levels: Collection[str] | None = None
) -> Plan:
    """The plan with some entries as a plan file would have them, None for one that is left out.

    ``source`` says in errors where they come from. Raises UsageError as ``read_plan`` does.
    """
    refuse_unknown(changes, ENTRIES, source)
    if "level" in changes:
        read_choice(source, "level", changes["level"], load_default_levels() if levels is None else levels)
    values = {
        name: getattr(Plan(), name) if value is None else ENTRIES[name].read(source, name, value)
        for name, value in changes.items()
    }
    return replace(plan, **values)  # type: ignore[arg-type] # each entry reads the type of its field


def write_plan(plan: Plan) -> str:
    """The plan as a TOML text, every entry under a comment that explains it.

    Raises UsageError if the plan holds a value that could not be read back.
    """
    document = tomlkit.document()
    _add_comments(document, _HEADING)
    values = write_entries(plan)
    for name, entry in ENTRIES.items():
        document.add(tomlkit.nl())
        _add_entry(document, name, entry, values[name])
    return tomlkit.dumps(document)


def write_entries(plan: Plan) -> dict[str, object]:
    """Every entry as TOML has it, None for one that is left out.

    Raises UsageError if the plan holds a value that could not be read back.
    """
    return {name: _written(plan, name) for name in ENTRIES}


def _written(plan: Plan, name: str) -> object:
    value = getattr(plan, name)
    if value is None:
        return None
    if name in WRITERS:
        return WRITERS[name]("plan", value)
    return ENTRIES[name].read("plan", name, list(value) if isinstance(value, tuple) else value)


def _add_entry(document: tomlkit.TOMLDocument, name: str, entry: Entry, value: object) -> None:
    if isinstance(value, dict):
        document.add(name, _commented_table(entry.comments, value))
        return
    _add_comments(document, entry.comments)
    if isinstance(value, list):
        _add_tables(document, name, value)
    elif value is None:
        document.add(tomlkit.comment(f"{name} = {LEFT_OPEN[name]}"))
    else:
        document.add(name, tomlkit.item(value))


def _add_tables(document: tomlkit.TOMLDocument, name: str, values: list[dict[str, object]]) -> None:
    if not values:
        _add_comments(document, EXAMPLES[name])
        return
    tables: AoT = tomlkit.aot()
    for value in values:
        tables.append(tomlkit.item(value))
    document.add(name, tables)


def _commented_table(comments: tuple[str, ...], values: Mapping[str, object]) -> Table:
    table = tomlkit.table()
    _add_comments(table, comments)
    for name in values:
        table.add(name, values[name])
    return table


def _add_comments(place: tomlkit.TOMLDocument | Table, comments: tuple[str, ...]) -> None:
    for comment in comments:
        place.add(tomlkit.comment(comment))
