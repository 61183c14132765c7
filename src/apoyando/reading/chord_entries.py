"""The ``[[chords]]`` of a plan file: each a small table with bar, beat and chord symbol.

Law: ``read_chord_changes(source, name, write_chord_changes(source, changes)) == changes``.
"""

from collections.abc import Sequence
from fractions import Fraction

from apoyando.model.errors import UsageError
from apoyando.model.plan import ChordChange
from apoyando.reading.chord_symbols import read_chord_symbol
from apoyando.reading.place_entries import read_bar, read_beat, write_bar, write_beat
from apoyando.reading.table_lists import read_list, write_list
from apoyando.reading.toml_entries import Table, bad_entry, refuse_unknown

_ENTRIES = ("bar", "beat", "chord")


def read_chord_changes(source: str, name: str, value: object) -> tuple[ChordChange, ...]:
    """The player's chords, in the file's order. Raises UsageError."""
    return read_list(source, name, value, "chord", _read_change)


def write_chord_changes(source: str, changes: Sequence[ChordChange]) -> list[dict[str, object]]:
    """The tables of some chords. Raises UsageError for one that could not be read back."""
    return write_list(source, changes, "chord", _write_change, _read_change)


def _read_change(place: str, table: Table) -> ChordChange:
    for entry in ("bar", "chord"):
        if entry not in table:
            raise UsageError(f'{place}: the entry {entry} is missing: write bar = 3 and chord = "Am7".')
    place += f" (bar {read_bar(place, 'bar', table['bar'])})"
    refuse_unknown(table, _ENTRIES, place)
    return ChordChange(
        bar=read_bar(place, "bar", table["bar"]),
        beat=read_beat(place, "beat", table["beat"]) if "beat" in table else Fraction(1),
        symbol=_read_symbol(place, table["chord"]),
    )


def _read_symbol(source: str, value: object) -> str:
    reading = read_chord_symbol(value) if isinstance(value, str) else None
    if reading is None or reading.ignored or not isinstance(value, str):
        raise bad_entry(source, "chord", value, 'write a chord symbol as "Am7", "G/B" or "N.C."')
    return value


def _write_change(change: ChordChange) -> dict[str, object]:
    return {"bar": write_bar(change.bar), "beat": write_beat(change.beat), "chord": change.symbol}
