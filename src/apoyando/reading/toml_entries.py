"""Entries of a settings file, checked one by one.

A bad entry is a ``UsageError`` that names the entry, its value and what would be right.
"""

import tomllib
from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from math import isfinite
from typing import cast

from apoyando.model.errors import UsageError

Table = Mapping[str, object]


def parse_toml(text: str, source: str) -> Table:
    """The tables of a TOML 1.0 text. Raises UsageError where it is not TOML."""
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise UsageError(f"{source}: this is not a settings file (TOML): {error}.") from error


def refuse_unknown(table: Table, known: Iterable[str], source: str) -> None:
    """Raises UsageError for the first entry whose name nobody reads."""
    names = tuple(known)
    for name, value in table.items():
        if name not in names:
            raise UsageError(
                f"{source}: there is no entry {name} (here {_shown(value)}). "
                f"The entries are: {', '.join(names)}.",
            )


def bad_entry(source: str, name: str, value: object, right: str) -> UsageError:
    return UsageError(f"{source}: {name} = {_shown(value)} cannot be meant: {right}.")


def read_whole(source: str, name: str, value: object, lowest: int, highest: int) -> int:
    """A whole number within bounds, both included."""
    if not isinstance(value, int) or isinstance(value, bool) or not lowest <= value <= highest:
        raise bad_entry(source, name, value, f"write a whole number from {lowest} to {highest}")
    return value


def read_number(source: str, name: str, value: object, lowest: float, highest: float) -> float:
    """A number within bounds, both included."""
    right = f"write a number from {lowest:g} to {highest:g}"
    if not isinstance(value, int | float) or isinstance(value, bool):
        raise bad_entry(source, name, value, right)
    if not isfinite(value) or not lowest <= value <= highest:
        raise bad_entry(source, name, value, right)
    return float(value)


def read_flag(source: str, name: str, value: object) -> bool:
    if not isinstance(value, bool):
        raise bad_entry(source, name, value, "write true or false")
    return value


def read_choice(source: str, name: str, value: object, choices: Iterable[str]) -> str:
    known = tuple(choices)
    if not isinstance(value, str) or value not in known:
        raise bad_entry(source, name, value, f"write one of {', '.join(known)}")
    return value


def read_choices(source: str, name: str, value: object, choices: Sequence[str]) -> tuple[str, ...]:
    """A list of some of the choices, each once; the empty list too."""
    right = f'write a list of some of {", ".join(choices)}, as ["{choices[0]}", "{choices[1]}"]'
    if not isinstance(value, list):
        raise bad_entry(source, name, value, right)
    for each in cast("list[object]", value):
        if each not in choices:
            raise bad_entry(source, name, each, right)
    return tuple(dict.fromkeys(cast("list[str]", value)))


def read_quarters(source: str, name: str, value: object, highest: int) -> Fraction:
    """A length in quarters, 0 included: a number, or a fraction in quotation marks."""
    right = f'write quarters from 0 to {highest}, as 2, 0.5 or "1/2"'
    if not isinstance(value, int | float | str) or isinstance(value, bool):
        raise bad_entry(source, name, value, right)
    try:
        quarters = Fraction(str(value))
    except (ValueError, ZeroDivisionError):
        raise bad_entry(source, name, value, right) from None
    if not 0 <= quarters <= highest:
        raise bad_entry(source, name, value, right)
    return quarters


def read_table(source: str, name: str, value: object) -> Table:
    if not isinstance(value, Mapping):
        raise bad_entry(source, name, value, "write a table of entries")
    return {str(key): entry for key, entry in value.items()}


def _shown(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, Mapping):
        return "a table"
    return f'"{value}"' if isinstance(value, str) else str(value)
