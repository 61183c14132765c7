"""Lists of tables in a plan file, as ``[[locks]]``: each table is one thing, and is written so that it is read back.

Conventions: ``noun`` is what one of them is called in messages; ``read_one`` takes where a table stands,
for messages, and the table.
"""

from collections.abc import Callable, Sequence
from typing import TypeVar

from apoyando.model.errors import UsageError
from apoyando.reading.toml_entries import Table, bad_entry, read_table

Item = TypeVar("Item")


def read_list(
    source: str, name: str, value: object, noun: str, read_one: Callable[[str, Table], Item]
) -> tuple[Item, ...]:
    """What each table says, in the file's order. Raises UsageError."""
    if not isinstance(value, list | tuple):
        raise bad_entry(source, name, value, f"write each {noun} under a line [[{name}]]")
    return tuple(
        read_one(f"{source}, {noun} {number}", read_table(source, f"{noun} {number}", entry))
        for number, entry in enumerate(value, 1)
    )


def write_list(
    source: str,
    items: Sequence[Item],
    noun: str,
    write_one: Callable[[Item], dict[str, object]],
    read_one: Callable[[str, Table], Item],
) -> list[dict[str, object]]:
    """The tables of some things. Raises UsageError for one that could not be read back."""
    tables = [write_one(item) for item in items]
    for number, (item, table) in enumerate(zip(items, tables, strict=True), 1):
        place = f"{source}, {noun} {number}"
        if read_one(place, table) != item:
            raise UsageError(f"{place}: {item} cannot be written so that it is read back.")
    return tables
