"""The levels as a table that a teacher can copy and change: ``levels.toml`` beside this file.

Conventions: spans in millimetres between finger tips on a 650 mm scale; lengths in quarters.
"""

from collections.abc import Callable, Mapping
from fractions import Fraction
from functools import cache, partial
from importlib.resources import files
from types import MappingProxyType

from apoyando.model.hand import FINGER_PAIRS, Finger
from apoyando.model.instrument import LAST_FRET
from apoyando.model.level import BarreKind, Level, SpanLimit
from apoyando.model.pitch import Key, Mode
from apoyando.reading.toml_entries import (
    bad_entry,
    parse_toml,
    read_choices,
    read_flag,
    read_number,
    read_quarters,
    read_table,
    read_whole,
    refuse_unknown,
)

_SOURCE = "levels"
_LONGEST_BARRE_QUARTERS = 256
_LONGEST_REST_QUARTERS = 64
_LONGEST_SHIFT_QUARTERS = 16
_LONGEST_VALUE_QUARTERS = 4
_WIDEST_SPAN_MM = 200.0
_MOST_STRUCK_TOGETHER = 6
_FEWEST_POINTS, _MOST_POINTS = 1.0, 1000.0
_SLOWEST, _FASTEST = 20, 1000
_ANY_KEY = "any"
_SIGNATURES = range(-7, 8)


def _keys_by_name() -> dict[str, Key]:
    """Every key that has a signature: "C", "F#m", "Bb"."""
    keys = [Key(fifths, mode) for mode in (Mode.MAJOR, Mode.MINOR) for fifths in _SIGNATURES]
    return {f"{key.tonic}{'m' if key.mode is Mode.MINOR else ''}": key for key in keys}


_KEYS: Mapping[str, Key] = _keys_by_name()


def read_levels(text: str, source: str = _SOURCE) -> Mapping[str, Level]:
    """The levels of a table, by name, in the table's order. ``source`` is its name in messages.

    Raises UsageError naming the entry, its value and what would be right.
    """
    levels = {name: _read_level(source, name, value) for name, value in parse_toml(text, source).items()}
    if not levels:
        raise bad_entry(source, "the file", "", "it must hold at least one level, as [intermediate]")
    return MappingProxyType(levels)


@cache
def load_default_levels() -> Mapping[str, Level]:
    """The levels that come with the program: early, intermediate, advanced."""
    return read_levels(load_default_table())


def load_default_table() -> str:
    """The text of the table that comes with the program, for a teacher to copy."""
    return (files("apoyando.reading") / "levels.toml").read_text(encoding="utf-8")


def _read_level(file: str, name: str, value: object) -> Level:
    table = read_table(file, name, value)
    source = f"{file}, level {name}"
    refuse_unknown(table, _ENTRIES, source)
    for entry in _ENTRIES:
        if entry not in table:
            raise bad_entry(source, entry, "", "the entry is missing, copy it from another level")
    values = {entry: read(source, entry, table[entry]) for entry, read in _ENTRIES.items()}
    level = Level(name=name, **values)  # type: ignore[arg-type] # each entry reads the type of its field
    _refuse_odd_barres(source, level)
    return level


def _refuse_odd_barres(source: str, level: Level) -> None:
    if bool(level.barre_kinds) is not level.allows_barre:
        right = "it is 0 exactly where barre_kinds is empty; else it says how long a barre may lie"
        raise bad_entry(source, "barre_quarters", str(level.barre_quarters), right)


def _read_fret(source: str, name: str, value: object) -> int:
    return read_whole(source, name, value, 0, LAST_FRET)


def _read_tempo(source: str, name: str, value: object) -> int:
    return read_whole(source, name, value, _SLOWEST, _FASTEST)


def _read_count(source: str, name: str, value: object) -> int:
    return read_whole(source, name, value, 1, _MOST_STRUCK_TOGETHER)


def _read_points(source: str, name: str, value: object) -> float:
    return read_number(source, name, value, _FEWEST_POINTS, _MOST_POINTS)


def _read_length(source: str, name: str, value: object, longest: int) -> Fraction:
    return read_quarters(source, name, value, longest)


def _read_value(source: str, name: str, value: object) -> Fraction:
    quarters = read_quarters(source, name, value, _LONGEST_VALUE_QUARTERS)
    if not quarters:
        raise bad_entry(source, name, value, "no note is that short")
    return quarters


def _read_barre_kinds(source: str, name: str, value: object) -> tuple[BarreKind, ...]:
    return tuple(BarreKind(kind) for kind in read_choices(source, name, value, tuple(BarreKind)))


def _read_keys(source: str, name: str, value: object) -> tuple[Key, ...]:
    return tuple(_KEYS[each] for each in read_choices(source, name, value, tuple(_KEYS)))


def _read_keys_or_any(source: str, name: str, value: object) -> tuple[Key, ...]:
    """Empty for every key."""
    if value == [_ANY_KEY]:
        return ()
    keys = _read_keys(source, name, value)
    if not keys:
        raise bad_entry(source, name, value, f'name some keys, or write ["{_ANY_KEY}"] for every key')
    return keys


def _read_spans(source: str, name: str, value: object) -> Mapping[tuple[Finger, Finger], SpanLimit]:
    table = read_table(source, name, value)
    names = {f"{low:d}-{high:d}": (low, high) for low, high in FINGER_PAIRS}
    refuse_unknown(table, names, f"{source}, {name}")
    return {
        pair: _read_limit(f"{source}, {name}", fingers, table.get(fingers, ""))
        for fingers, pair in names.items()
    }


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


_ENTRIES: Mapping[str, Callable[[str, str, object], object]] = {
    "accompaniment_highest_fret": _read_fret,
    "melody_highest_fret": _read_fret,
    "peak_fret": _read_fret,
    "barre_kinds": _read_barre_kinds,
    "barre_quarters": partial(_read_length, longest=_LONGEST_BARRE_QUARTERS),
    "barre_rest": partial(_read_length, longest=_LONGEST_REST_QUARTERS),
    "small_barres": read_flag,
    "spans_from_nearest": read_flag,
    "shift_frets": _read_fret,
    "shift_quarters": partial(_read_length, longest=_LONGEST_SHIFT_QUARTERS),
    "tempo_quarters_per_minute": _read_tempo,
    "accompaniment_shortest": _read_value,
    "melody_shortest": _read_value,
    "melody_stepwise_shortest": _read_value,
    "melody_simplified": read_flag,
    "struck_together": _read_count,
    "strums": read_flag,
    "harmonics": read_flag,
    "most_points": _read_points,
    "keys": _read_keys_or_any,
    "keys_over_open_basses": _read_keys,
    "spans": _read_spans,
}
"""The entries of a level by the names of the fields they fill, each with how its value is read."""
