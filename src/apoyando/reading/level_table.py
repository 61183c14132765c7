"""The levels as a table that a teacher can copy and change: ``levels.toml`` beside this file.

Conventions: spans in millimetres between finger tips on a 650 mm scale; lengths in quarters.
"""

from collections.abc import Mapping
from fractions import Fraction
from functools import cache
from importlib.resources import files
from types import MappingProxyType

from apoyando.model.hand import FINGER_PAIRS, Finger
from apoyando.model.instrument import LAST_FRET
from apoyando.model.level import Level, SpanLimit
from apoyando.reading.toml_entries import (
    Table,
    bad_entry,
    parse_toml,
    read_flag,
    read_number,
    read_quarters,
    read_table,
    read_whole,
    refuse_unknown,
)

_SOURCE = "levels"
_LONGEST_BARRE_QUARTERS = 256
_LONGEST_VALUE_QUARTERS = 4
_WIDEST_SPAN_MM = 200.0
_MOST_STRUCK_TOGETHER = 6
_ENTRIES = (
    "accompaniment_highest_fret",
    "melody_highest_fret",
    "peak_fret",
    "barre_quarters",
    "small_barres",
    "shift_frets",
    "accompaniment_shortest",
    "melody_shortest",
    "struck_together",
    "spans",
)


def read_levels(text: str) -> Mapping[str, Level]:
    """The levels of a table, by name, in the table's order.

    Raises UsageError naming the entry, its value and what would be right.
    """
    levels = {name: _read_level(name, value) for name, value in parse_toml(text, _SOURCE).items()}
    if not levels:
        raise bad_entry(_SOURCE, "the file", "", "it must hold at least one level, as [intermediate]")
    return MappingProxyType(levels)


@cache
def load_default_levels() -> Mapping[str, Level]:
    """The levels that come with the program: early, intermediate, advanced."""
    return read_levels((files("apoyando.reading") / "levels.toml").read_text(encoding="utf-8"))


def _read_level(name: str, value: object) -> Level:
    table = read_table(_SOURCE, name, value)
    source = f"{_SOURCE}, level {name}"
    refuse_unknown(table, _ENTRIES, source)
    for entry in _ENTRIES:
        if entry not in table:
            raise bad_entry(source, entry, "", "the entry is missing, copy it from another level")
    return Level(
        name=name,
        accompaniment_highest_fret=_read_fret(source, "accompaniment_highest_fret", table),
        melody_highest_fret=_read_fret(source, "melody_highest_fret", table),
        peak_fret=_read_fret(source, "peak_fret", table),
        spans=_read_spans(source, table["spans"]),
        barre_quarters=read_quarters(
            source, "barre_quarters", table["barre_quarters"], _LONGEST_BARRE_QUARTERS
        ),
        small_barres=read_flag(source, "small_barres", table["small_barres"]),
        shift_frets=_read_fret(source, "shift_frets", table),
        accompaniment_shortest=_read_value(source, "accompaniment_shortest", table),
        melody_shortest=_read_value(source, "melody_shortest", table),
        struck_together=read_whole(
            source, "struck_together", table["struck_together"], 1, _MOST_STRUCK_TOGETHER
        ),
    )


def _read_fret(source: str, name: str, table: Table) -> int:
    return read_whole(source, name, table[name], 0, LAST_FRET)


def _read_value(source: str, name: str, table: Table) -> Fraction:
    quarters = read_quarters(source, name, table[name], _LONGEST_VALUE_QUARTERS)
    if not quarters:
        raise bad_entry(source, name, table[name], "no note is that short")
    return quarters


def _read_spans(source: str, value: object) -> Mapping[tuple[Finger, Finger], SpanLimit]:
    table = read_table(source, "spans", value)
    names = {f"{low:d}-{high:d}": (low, high) for low, high in FINGER_PAIRS}
    refuse_unknown(table, names, f"{source}, spans")
    return {pair: _read_limit(f"{source}, spans", name, table.get(name, "")) for name, pair in names.items()}


def _read_limit(source: str, name: str, value: object) -> SpanLimit:
    match value:
        case [comfortable, outermost]:
            nearer = read_number(source, name, comfortable, 0.0, _WIDEST_SPAN_MM)
            farther = read_number(source, name, outermost, 0.0, _WIDEST_SPAN_MM)
        case _:
            raise bad_entry(source, name, value, "write two millimetre values: [comfortable, outermost]")
    if nearer > farther:
        raise bad_entry(source, name, value, "the outermost span cannot be less than the comfortable one")
    return SpanLimit(nearer, farther)
