"""``apoyando keys``: the twelve keys of one song, side by side."""

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
    "price": "price",
    "open basses": "open_basses",
    "barres": "barres",
    "highest fret": "highest_fret",
    "hardest bar": "hardest_bar",
}


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
    rows = ([_shown(entry[field]) for field in _COLUMNS.values()] for entry in compared.keys)
    show_table(str(compared.song), tuple(_COLUMNS), rows, numbers=tuple(_COLUMNS)[1:])


def _shown(value: object) -> str:
    if value is None:
        return "none"
    return f"{value:.0f}" if isinstance(value, float) else str(value)
