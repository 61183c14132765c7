"""The ``[page]`` table of a plan: how the piece is put on paper.

Law: ``read_sheet(source, name, write_sheet(source, sheet)) == sheet``.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

from apoyando.model.sheet import Marking, Paper, Sheet, Staves
from apoyando.reading.toml_entries import read_choice, read_flag, read_number, read_table, refuse_unknown

_MARGINS_MM = (5.0, 40.0)
_STAVES_MM = (4.0, 14.0)


@dataclass(frozen=True, slots=True)
class _Entry:
    """``name`` is what the player writes, ``field`` what the sheet calls it."""

    name: str
    field: str
    read: Callable[[str, str, object], object]


def _read_paper(source: str, name: str, value: object) -> Paper:
    return Paper(read_choice(source, name, value, tuple(Paper)))


def _read_margin(source: str, name: str, value: object) -> float:
    return read_number(source, name, value, *_MARGINS_MM)


def _read_staff(source: str, name: str, value: object) -> float:
    return 0.0 if value == 0 else read_number(source, name, value, *_STAVES_MM)


def _read_marking(source: str, name: str, value: object) -> Marking:
    return Marking(read_choice(source, name, value, tuple(Marking)))


def _read_staves(source: str, name: str, value: object) -> Staves:
    return Staves(read_choice(source, name, value, tuple(Staves)))


_ENTRIES = (
    _Entry("paper", "paper", _read_paper),
    _Entry("margin", "margin_mm", _read_margin),
    _Entry("staff", "staff_mm", _read_staff),
    _Entry("marking", "marking", _read_marking),
    _Entry("staves", "staves", _read_staves),
    _Entry("lyrics", "lyrics", read_flag),
    _Entry("chord_symbols", "chord_symbols", read_flag),
    _Entry("chord_diagrams", "chord_diagrams", read_flag),
    _Entry("dynamics", "dynamics", read_flag),
    _Entry("hold_lines", "hold_lines", read_flag),
)


def read_sheet(source: str, name: str, value: object) -> Sheet:
    """The page that a table asks for. Raises UsageError naming the entry, its value and what would be right."""
    table = read_table(source, name, value)
    place = f"{source}, {name}"
    refuse_unknown(table, [entry.name for entry in _ENTRIES], place)
    values = {e.field: e.read(place, e.name, table[e.name]) for e in _ENTRIES if e.name in table}
    return replace(Sheet(), **values)  # type: ignore[arg-type] # each entry reads the type of its field


def write_sheet(source: str, sheet: Sheet) -> dict[str, object]:
    """The whole table. Raises UsageError for a value that could not be read back."""
    return {e.name: _plain(e.read(f"{source}, page", e.name, getattr(sheet, e.field))) for e in _ENTRIES}


def _plain(value: object) -> object:
    return str(value) if isinstance(value, str) else value
