"""``apoyando keys``: the keys of one song, with tuning and capo, the best first."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from apoyando.cli.screen import Entry, show_table
from apoyando.files import printable_name, read_song_bytes
from apoyando.model.level import Level
from apoyando.model.plan import Plan
from apoyando.pipeline import compare_song_keys
from apoyando.report import describe_keys

_COLUMNS = {
    "key": "key",
    "capo": "capo",
    "tuning": "tuning",
    "price": "price",
    "open basses": "open_basses",
    "barres": "barres",
    "highest fret": "highest_fret",
    "hardest bar": "hardest_bar",
    "why": "reasons",
}
_NUMBERS = ("capo", "price", "open basses", "barres", "highest fret", "hardest bar")
_ONLY_IF_DIFFERENT = ("capo", "tuning")
"""Not shown where all keys have the same."""


@dataclass(frozen=True, slots=True)
class Compared:
    song: Path
    keys: list[Entry]


def compare(song: Path, *, plan: Plan, levels: Mapping[str, Level]) -> Compared:
    comparisons = compare_song_keys(read_song_bytes(song), printable_name(song), plan, levels)
    return Compared(song, describe_keys(comparisons))


def describe(compared: Compared) -> Entry:
    return {"keys": compared.keys}


def say(compared: Compared) -> None:
    columns = [
        column for column in _COLUMNS if column not in _ONLY_IF_DIFFERENT or _differs(compared, column)
    ]
    rows = ([_shown(entry[_COLUMNS[column]]) for column in columns] for entry in compared.keys)
    show_table(str(compared.song), columns, rows, numbers=_NUMBERS)


def _differs(compared: Compared, column: str) -> bool:
    return len({entry[_COLUMNS[column]] for entry in compared.keys}) > 1


def _shown(value: object) -> str:
    if isinstance(value, list):
        return "; ".join(map(str, value))
    return "none" if value is None else str(value)
