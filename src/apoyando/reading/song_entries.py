"""What a plan file puts right in the song itself: ``written_key``, ``pickup`` and ``[[notes]]``.

Laws: each reader takes what its writer gives. A bad entry is a ``UsageError`` that names the
note by its number in the file (and its bar), the entry, its value and what would be right.
"""

import re
from collections.abc import Sequence
from fractions import Fraction

from apoyando.model.errors import UsageError
from apoyando.model.note_values import VALUE_NAMES
from apoyando.model.pitch import MOST_FIFTHS, Key, Mode, Pitch, PitchName, Step
from apoyando.model.plan import NoteChange
from apoyando.model.time import Quarters
from apoyando.reading.draft import LONGEST_NOTE_QUARTERS, MIDI_RANGE
from apoyando.reading.place_entries import read_bar, read_beat, write_bar, write_beat
from apoyando.reading.table_lists import read_list, write_list
from apoyando.reading.toml_entries import Table, bad_entry, read_flag, read_quarters, refuse_unknown

NO_PICKUP = "none"
_ENTRIES = ("bar", "beat", "pitch", "length", "rest")
_PITCH = re.compile(r"([A-Ga-g])(##|bb|#|b|)(\d)", re.ASCII)
_KEY = re.compile(r"([A-Ga-g])([#b]?)\s+([a-z]+)", re.ASCII)
_LENGTHS = {name: quarters for quarters, name in VALUE_NAMES.items()}
_ALTERS = {"##": 2, "#": 1, "": 0, "b": -1, "bb": -2}


def read_written_key(source: str, name: str, value: object) -> Key | None:
    """A key with its mode, None for ""."""
    if value == "":
        return None
    found = _KEY.fullmatch(_plain_signs(value)) if isinstance(value, str) else None
    if found and found[3] in tuple(Mode):
        tonic = PitchName(Step(found[1].upper()), _ALTERS[found[2]])
        key = Key(tonic.fifths - Key(0, Mode(found[3])).tonic.fifths, Mode(found[3]))
        if abs(key.fifths) <= MOST_FIFTHS:
            return key
    raise bad_entry(source, name, value, 'write a key as "D minor" or "Bb major", or "" as the song has it')


def write_written_key(_: str, key: Key) -> str:
    return str(key)


def read_pickup(source: str, name: str, value: object) -> Quarters | None:
    """The length of a pickup in quarters, 0 for "none", None for ""."""
    if value == "":
        return None
    if value == NO_PICKUP:
        return Fraction(0)
    right = f'write a note value as "quarter" or "dotted quarter", "{NO_PICKUP}", or "" as the song has it'
    return _read_length(source, name, value, right)


def write_pickup(_: str, pickup: Quarters) -> int | str:
    return _write_length(pickup) if pickup else NO_PICKUP


def read_note_changes(source: str, name: str, value: object) -> tuple[NoteChange, ...]:
    """The player's notes, in the file's order. Raises UsageError."""
    return read_list(source, name, value, "note", _read_change)


def write_note_changes(source: str, changes: Sequence[NoteChange]) -> list[dict[str, object]]:
    """The tables of some notes. Raises UsageError for one that could not be read back."""
    return write_list(source, changes, "note", _write_change, _read_change)


def _read_change(place: str, table: Table) -> NoteChange:
    if "bar" not in table:
        raise UsageError(f"{place}: the entry bar is missing: write bar = 3 or the like.")
    place += f" (bar {read_bar(place, 'bar', table['bar'])})"
    refuse_unknown(table, _ENTRIES, place)
    is_rest = "rest" in table and read_flag(place, "rest", table["rest"])
    given = {"pitch", "length"} & table.keys()
    if bool(given) == is_rest:
        raise UsageError(f'{place}: write pitch = "F#4", length = "half note", or both; or rest = true.')
    return NoteChange(
        bar=read_bar(place, "bar", table["bar"]),
        beat=read_beat(place, "beat", table["beat"]) if "beat" in table else Fraction(1),
        pitch=read_pitch(place, "pitch", table["pitch"]) if "pitch" in table else None,
        length=_read_length(place, "length", table["length"], _RIGHT_LENGTH) if "length" in table else None,
        is_rest=is_rest,
    )


def _write_change(change: NoteChange) -> dict[str, object]:
    pitch = {"pitch": str(change.pitch)} if change.pitch else {}
    length = {"length": _write_length(change.length)} if change.length else {}
    rest = {"rest": True} if change.is_rest else {}
    return {"bar": write_bar(change.bar), "beat": write_beat(change.beat), **pitch, **length, **rest}


def read_pitch(source: str, name: str, value: object) -> Pitch:
    """A pitch as musicians write it: "F#4", "B♭3". C4 is middle C."""
    found = _PITCH.fullmatch(_plain_signs(value)) if isinstance(value, str) else None
    pitch = Pitch.of(found[1].upper(), _ALTERS[found[2]], int(found[3])) if found else None
    if pitch is None or pitch.midi not in MIDI_RANGE:
        raise bad_entry(source, name, value, 'write a note with its octave as "F#4" or "Bb3"; C4 is middle C')
    return pitch


def _plain_signs(text: str) -> str:
    return text.strip().replace("♯", "#").replace("♭", "b")


_RIGHT_LENGTH = 'write a note value as "quarter" or "dotted half note", or quarters as 5 or "7/2"'


def _read_length(source: str, name: str, value: object, right: str) -> Quarters:
    """A note value by its name, or its length in quarters."""
    if isinstance(value, str) and value.strip() in _LENGTHS:
        return _LENGTHS[value.strip()]
    try:
        length = read_quarters(source, name, value, LONGEST_NOTE_QUARTERS)
    except UsageError:
        raise bad_entry(source, name, value, right) from None
    if not length:
        raise bad_entry(source, name, value, right)
    return length


def _write_length(length: Quarters) -> int | str:
    return VALUE_NAMES.get(length) or write_beat(length)
