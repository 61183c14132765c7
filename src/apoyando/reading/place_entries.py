"""Bars and beats in a plan file.

Laws: ``read_bar`` and ``read_beat`` take what ``write_bar`` and ``write_beat`` give.
"""

from fractions import Fraction

from apoyando.model.beat import read_count
from apoyando.reading.toml_entries import bad_entry

_LONGEST_NUMBER = 20
"""No printed bar number is longer."""


def read_bar(source: str, name: str, value: object) -> str:
    """A printed bar number: mostly a number, sometimes "12b"."""
    if isinstance(value, int) and not isinstance(value, bool):
        value = str(value)
    if not isinstance(value, str) or not value.strip() or len(value) > _LONGEST_NUMBER:
        raise bad_entry(source, name, value, 'write a bar number as it is printed: 3, or "3b"')
    return value


def read_beat(source: str, name: str, value: object) -> Fraction:
    """A beat counted from 1 by the felt pulse."""
    is_written = isinstance(value, int | float | str) and not isinstance(value, bool)
    beat = read_count(str(value)) if is_written else None
    if beat is None or beat < 1:
        raise bad_entry(source, name, value, 'write a beat, counted from 1, as 2, 2.5 or "7/3"')
    return beat


def write_bar(bar: str) -> int | str:
    return int(bar) if bar.isascii() and bar.isdigit() and str(int(bar)) == bar else bar


def write_beat(beat: Fraction) -> int | str:
    return beat.numerator if beat.denominator == 1 else str(beat)
