"""The ``[[locks]]`` of a plan file: each a small table that says where, and one thing that holds there.

Laws: ``read_locks(source, name, write_locks(source, locks)) == locks``. A bad entry is a
``UsageError`` that names the lock by its number in the file (and its bar), the entry, its
value and what would be right.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence

from apoyando.model.arrangement import Role
from apoyando.model.errors import UsageError
from apoyando.model.hand import FINGERS, Finger, roman
from apoyando.model.instrument import LAST_FRET, STRINGS, Fret, StringNumber
from apoyando.model.locks import (
    MUTED,
    AvoidFingerLock,
    FreeFingerLock,
    Lock,
    NoBarreLock,
    NoteLock,
    PositionLock,
    ShapeLock,
    Stretch,
    write_shape,
)
from apoyando.reading.place_entries import read_bar, read_beat, write_bar, write_beat
from apoyando.reading.table_lists import read_list, write_list
from apoyando.reading.toml_entries import Table, bad_entry, read_choice, read_flag, read_whole, refuse_unknown

_NOTE_ENTRIES = ("bar", "beat", "voice", "string", "fret", "finger", "silent")
_WAYS = ("string", "fret", "finger", "silent")
_STRETCH_ENTRIES = ("bar", "to_bar", "beat", "until_beat")
_POSITIONS = {roman(fret): fret for fret in range(1, LAST_FRET + 1)}


def read_locks(source: str, name: str, value: object) -> tuple[Lock, ...]:
    """The locks of a plan, in the file's order. Raises UsageError."""
    return read_list(source, name, value, "lock", _read_lock)


def write_locks(source: str, locks: Sequence[Lock]) -> list[dict[str, object]]:
    """The tables of some locks. Raises UsageError for one that could not be read back."""
    return write_list(source, locks, "lock", _write_lock, _read_lock)


def _read_lock(place: str, table: Table) -> Lock:
    if "bar" in table:
        place += f" (bar {read_bar(place, 'bar', table['bar'])})"
    kinds = [kind for kind in _KINDS if kind in table]
    if len(kinds) + any(way in table for way in _WAYS) > 1:
        both = " and ".join([*kinds, *(way for way in _WAYS if way in table)])
        raise UsageError(f"{place}: {both} in one lock: write a lock for each, under a [[locks]] of its own.")
    return _KINDS[kinds[0]](place, table) if kinds else _read_note(place, table)


def _read_note(source: str, table: Table) -> NoteLock:
    if not any(way in table for way in _WAYS):
        raise UsageError(
            f"{source}: the lock does not say what holds. Write string, fret, finger or silent for a note, "
            f"or {', '.join(_KINDS)} for a bar."
        )
    refuse_unknown(table, _NOTE_ENTRIES, source)
    _need(source, table, ("bar", "beat"), "a lock on a note needs it")
    finger, fret = _read_finger(source, table), _read_optional(source, "fret", table, 0, LAST_FRET)
    if None not in {finger, fret} and (finger == Finger.OPEN) != (fret == 0):
        raise bad_entry(source, "finger", finger, "0 is for the open string (fret 0), 1 to 4 press a fret")
    string = _read_optional(source, "string", table, 1, len(STRINGS))
    voice = Role(read_choice(source, "voice", table.get("voice", "melody"), [str(role) for role in Role]))
    if "silent" in table:
        _check_silent(source, table, voice)
    return NoteLock(
        bar=read_bar(source, "bar", table["bar"]),
        beat=read_beat(source, "beat", table["beat"]),
        voice=voice,
        string=None if string is None else StringNumber(string),
        fret=None if fret is None else Fret(fret),
        finger=None if finger is None else Finger(finger),
        is_silent="silent" in table,
    )


def _check_silent(source: str, table: Table, voice: Role) -> None:
    """It says all that there is to say of a note of the accompaniment."""
    if not read_flag(source, "silent", table["silent"]):
        raise bad_entry(source, "silent", table["silent"], "only true can be asked for")
    if voice is Role.MELODY:
        raise bad_entry(source, "silent", table["silent"], 'the tune stays; write voice = "bass" or "inner"')
    others = [way for way in _WAYS if way in table and way != "silent"]
    if others:
        raise bad_entry(source, others[0], table[others[0]], "a note that is left out has none")


def _read_position(source: str, table: Table) -> PositionLock:
    stretch, value = _read_stretch(source, table, "position", needs_bar=True), table["position"]
    if isinstance(value, str) and value in _POSITIONS:
        return PositionLock(stretch, _POSITIONS[value])
    if isinstance(value, str):
        raise bad_entry(source, "position", value, f'write a fret as "V" or 5, from 1 to {LAST_FRET}')
    return PositionLock(stretch, read_whole(source, "position", value, 1, LAST_FRET))


def _read_shape(source: str, table: Table) -> ShapeLock:
    stretch = _read_stretch(source, table, "shape", "fingers", needs_bar=True)
    frets = _read_signs(source, "shape", table["shape"], LAST_FRET, "frets")
    if not any(fret is not None for fret in frets):
        raise bad_entry(source, "shape", table["shape"], "at least one string must sound")
    shape = tuple(None if fret is None else Fret(fret) for fret in frets)
    if "fingers" not in table:
        return ShapeLock(stretch, shape)
    numbers = _read_signs(source, "fingers", table["fingers"], FINGERS[-1], "fingers")
    fingers = tuple(None if number is None else Finger(number) for number in numbers)
    _check_fingers(source, table["fingers"], shape, fingers)
    return ShapeLock(stretch, shape, fingers)


def _check_fingers(
    source: str, value: object, frets: Sequence[Fret | None], fingers: Sequence[Finger | None]
) -> None:
    """Silent where the shape is silent, 0 where it is open; one finger lies at one fret."""
    shape = write_shape(frets)
    for fret, finger in zip(frets, fingers, strict=True):
        if (fret is None) != (finger is None):
            raise bad_entry(source, "fingers", value, f"write {MUTED} exactly where the shape {shape} has it")
        if (fret == 0) != (finger == Finger.OPEN):
            raise bad_entry(source, "fingers", value, f"write 0 exactly where the shape {shape} is open")
    for finger in FINGERS:
        if len({fret for fret, by in zip(frets, fingers, strict=True) if by is finger}) > 1:
            raise bad_entry(source, "fingers", value, f"finger {finger:d} cannot lie at two frets at once")


def _read_no_barre(source: str, table: Table) -> NoBarreLock:
    if read_flag(source, "barre", table["barre"]):
        raise bad_entry(
            source, "barre", table["barre"], "only false can be asked for; to lay a barre write a chord shape"
        )
    return NoBarreLock(_read_stretch(source, table, "barre"))


def _read_free_finger(source: str, table: Table) -> FreeFingerLock:
    return FreeFingerLock(
        _read_stretch(source, table, "free_finger"), _read_pressing(source, "free_finger", table)
    )


def _read_avoid_finger(source: str, table: Table) -> AvoidFingerLock:
    stretch = _read_stretch(source, table, "avoid_finger")
    return AvoidFingerLock(stretch, _read_pressing(source, "avoid_finger", table))


_KINDS: dict[str, Callable[[str, Table], Lock]] = {
    "position": _read_position,
    "shape": _read_shape,
    "barre": _read_no_barre,
    "free_finger": _read_free_finger,
    "avoid_finger": _read_avoid_finger,
}
"""What a lock on a bar is known by."""


def _read_stretch(source: str, table: Table, *entries: str, needs_bar: bool = False) -> Stretch:
    refuse_unknown(table, (*_STRETCH_ENTRIES, *entries), source)
    if needs_bar or any(entry in table for entry in _STRETCH_ENTRIES):
        _need(source, table, ("bar",), f"{entries[0]} needs it")
    if "bar" not in table:
        return Stretch()
    stretch = Stretch(
        bar=read_bar(source, "bar", table["bar"]),
        to_bar=read_bar(source, "to_bar", table["to_bar"]) if "to_bar" in table else "",
        beat=read_beat(source, "beat", table["beat"]) if "beat" in table else None,
        until_beat=read_beat(source, "until_beat", table["until_beat"]) if "until_beat" in table else None,
    )
    if not stretch.to_bar and stretch.until_beat is not None and stretch.until_beat <= (stretch.beat or 1):
        raise bad_entry(source, "until_beat", table["until_beat"], "it must come after the beat it begins at")
    return stretch


def _need(source: str, table: Table, entries: Iterable[str], why: str) -> None:
    for entry in entries:
        if entry not in table:
            raise UsageError(
                f"{source}: the entry {entry} is missing, and {why}: write {entry} = 1 or the like."
            )


def _read_optional(source: str, name: str, table: Table, lowest: int, highest: int) -> int | None:
    return read_whole(source, name, table[name], lowest, highest) if name in table else None


def _read_finger(source: str, table: Table) -> int | None:
    return _read_optional(source, "finger", table, Finger.OPEN, FINGERS[-1])


def _read_pressing(source: str, name: str, table: Table) -> Finger:
    return Finger(read_whole(source, name, table[name], FINGERS[0], FINGERS[-1]))


def _read_signs(source: str, name: str, value: object, highest: int, what: str) -> tuple[int | None, ...]:
    """Six numbers from string 6 to string 1, x for a string that does not sound."""
    signs = _split(value) if isinstance(value, str) else []
    numbers = [_read_sign(sign) for sign in signs]
    if len(signs) != len(STRINGS) or any(
        number is not None and not 0 <= number <= highest for number in numbers
    ):
        right = f'write six {what} from string 6 to string 1, up to {highest}, as "x32010" or "x 3 2 0 1 0"'
        raise bad_entry(source, name, value, right)
    return tuple(numbers)


def _split(value: str) -> list[str]:
    return value.split() if " " in value.strip() else list(value.strip())


def _read_sign(sign: str) -> int | None:
    """None for a muted string, -1 for what is no number."""
    if sign.lower() == MUTED:
        return None
    return int(sign) if sign.isascii() and sign.isdigit() and len(sign) <= len(str(LAST_FRET)) else -1


def _write_lock(lock: Lock) -> dict[str, object]:
    match lock:
        case NoteLock():
            given = {"string": lock.string, "fret": lock.fret, "finger": lock.finger}
            numbers = {name: int(number) for name, number in given.items() if number is not None}
            silent = {"silent": True} if lock.is_silent else {}
            where = {"bar": write_bar(lock.bar), "beat": write_beat(lock.beat), "voice": str(lock.voice)}
            return {**where, **numbers, **silent}
        case PositionLock():
            what: dict[str, object] = {"position": _write_position(lock.position)}
        case ShapeLock():
            fingers = {"fingers": write_shape(lock.fingers)} if lock.fingers else {}
            what = {"shape": write_shape(lock.frets), **fingers}
        case NoBarreLock():
            what = {"barre": False}
        case FreeFingerLock():
            what = {"free_finger": int(lock.finger)}
        case AvoidFingerLock():
            what = {"avoid_finger": int(lock.finger)}
    return {**_write_stretch(lock.stretch), **what}


def _write_stretch(stretch: Stretch) -> Mapping[str, object]:
    bars = {name: write_bar(bar) for name, bar in (("bar", stretch.bar), ("to_bar", stretch.to_bar)) if bar}
    beats = (("beat", stretch.beat), ("until_beat", stretch.until_beat))
    return {**bars, **{name: write_beat(beat) for name, beat in beats if beat is not None}}


def _write_position(position: int) -> str | int:
    return roman(position) if position in _POSITIONS.values() else position
