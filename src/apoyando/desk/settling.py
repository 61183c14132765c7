"""What a touch means for the plan: locks on notes and bars, textures and steps of a bar.

Plan to plan; nothing else is changed. What cannot be meant is told as in a plan file.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from apoyando.desk.paper import Named
from apoyando.model.arrangement import Role
from apoyando.model.errors import UsageError
from apoyando.model.instrument import Place
from apoyando.model.locks import (
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
from apoyando.model.plan import Plan, Section
from apoyando.reading import change_plan

SOURCE = "your choice"
_KINDS: Mapping[str, type[Lock]] = {
    "position": PositionLock,
    "shape": ShapeLock,
    "barre": NoBarreLock,
    "free_finger": FreeFingerLock,
    "avoid_finger": AvoidFingerLock,
}
BAR_ENTRIES = ("texture", "easier", *_KINDS)


def settle_note(
    plan: Plan,
    named: Named,
    way: Mapping[str, object],
    levels: Collection[str],
    beside: Sequence[NoteLock] = (),
) -> Plan:
    """The note locked so (``string``, ``fret``, ``finger`` or ``silent`` as in a plan file), whatever it was before.

    ``beside`` are locks on the notes struck together with it: they are settled with it.
    """
    table = {"bar": named.bar, "beat": str(named.beat), "voice": str(named.voice), **way}
    freed = free_note(plan, named)
    kept = (lock for lock in beside if lock not in freed.locks)
    return replace(freed, locks=(*freed.locks, *kept, _read_lock(table, levels)))


def lock_beside(plan: Plan, named: Named, places: Sequence[Place]) -> tuple[NoteLock, ...]:
    """Locks that keep the notes struck together with one in their places: those of the plan, or new ones."""
    there = [lock for lock in plan.locks if isinstance(lock, NoteLock) and lock.shares_note(named.lock)]
    return tuple(
        next(
            (lock for lock in there if lock.string == place.string),
            replace(named.lock, string=place.string, fret=place.fret),
        )
        for place in places
    )


def free_note(plan: Plan, named: Named) -> Plan:
    """No lock on the note any more."""
    return replace(plan, locks=tuple(lock for lock in plan.locks if lock not in locks_on(plan, named)))


def let_free(plan: Plan, named: Named) -> Plan:
    """The note let free again, and with it the notes beside that were only kept in their places for its sake."""
    freed = free_note(plan, named)
    return replace(freed, locks=tuple(lock for lock in freed.locks if not _is_kept_beside(lock, named)))


def _is_kept_beside(lock: Lock, named: Named) -> bool:
    """As ``lock_beside`` makes it: a place without a finger, which no choice on the fingerboard leaves out."""
    if not isinstance(lock, NoteLock) or not lock.shares_note(named.lock):
        return False
    is_place = lock.string is not None and lock.fret is not None and lock.finger is None
    return is_place and lock.voice is Role.INNER


def locks_on(plan: Plan, named: Named) -> tuple[NoteLock, ...]:
    """The locks on a note; of inner notes struck together those that may be on this one."""
    return tuple(lock for lock in plan.locks if isinstance(lock, NoteLock) and _is_on(lock, named))


def _is_on(lock: NoteLock, named: Named) -> bool:
    is_another = lock.voice is Role.INNER and named.string and lock.string not in {None, named.string}
    return lock.shares_note(named.lock) and not is_another


def _read_lock(table: Mapping[str, object], levels: Collection[str]) -> Lock:
    (lock,) = change_plan(Plan(), {"locks": [dict(table)]}, SOURCE, levels).locks
    return lock


@dataclass(frozen=True, slots=True)
class BarSettings:
    """What is settled for one whole bar; "" for what is not. ``locks`` are those of its notes."""

    texture: str = ""
    easier: str = ""
    position: str = ""
    shape: str = ""
    fingers: str = ""
    barre: str = ""
    free_finger: str = ""
    avoid_finger: str = ""
    locks: tuple[NoteLock, ...] = ()


def read_bar_settings(plan: Plan, bar: str) -> BarSettings:
    """What the plan says of this bar alone."""
    section = _section_on(plan, bar)
    values = {kind: _write_value(lock) for kind in _KINDS for lock in _locks_of_kind(plan, bar, kind)}
    fingers = [lock.fingers for lock in plan.locks if isinstance(lock, ShapeLock) and _is_whole(lock, bar)]
    return BarSettings(
        texture=section.texture,
        easier=str(section.easier or ""),
        fingers=write_shape(fingers[-1]) if fingers and fingers[-1] else "",
        locks=tuple(lock for lock in plan.locks if isinstance(lock, NoteLock) and lock.bar == bar),
        **values,
    )


def settle_bar(plan: Plan, bar: str, entry: str, value: str, fingers: str, levels: Collection[str]) -> Plan:
    """One entry of a bar decided anew, "" to leave it open; ``fingers`` go with a shape. Raises UsageError."""
    if entry not in BAR_ENTRIES:
        raise UsageError(f"there is nothing called {entry} to settle in a bar.")
    if entry in _KINDS:
        return _settle_lock(plan, bar, entry, value.strip(), fingers.strip(), levels)
    return _settle_section(plan, bar, entry, value.strip(), levels)


def _settle_lock(plan: Plan, bar: str, kind: str, value: str, fingers: str, levels: Collection[str]) -> Plan:
    others = tuple(lock for lock in plan.locks if lock not in _locks_of_kind(plan, bar, kind))
    if not value:
        return replace(plan, locks=others)
    table = {"bar": bar, kind: _read_value(kind, value), **({"fingers": fingers} if fingers else {})}
    return replace(plan, locks=(*others, _read_lock(table, levels)))


def _read_value(kind: str, value: str) -> object:
    if kind == "barre":
        return False
    return int(value) if kind != "shape" and value.isascii() and value.isdecimal() else value


def _settle_section(plan: Plan, bar: str, entry: str, value: str, levels: Collection[str]) -> Plan:
    now = _section_on(plan, bar)
    values = {"texture": now.texture, "easier": str(now.easier or ""), entry: value}
    others = tuple(section for section in plan.sections if not _is_alone(section, bar))
    table: dict[str, object] = {"bar": bar}
    if values["texture"]:
        table["texture"] = values["texture"]
    if values["easier"] not in {"", "0"}:
        table["easier"] = _read_value("easier", values["easier"])
    if len(table) == 1:
        return replace(plan, sections=others)
    settled = change_plan(Plan(), {"sections": [table]}, SOURCE, levels).sections
    return replace(plan, sections=(*others, *settled))


def _section_on(plan: Plan, bar: str) -> Section:
    return next((section for section in reversed(plan.sections) if _is_alone(section, bar)), Section(bar))


def _is_alone(section: Section, bar: str) -> bool:
    return section.bar == bar and section.to_bar in {"", bar}


def _locks_of_kind(plan: Plan, bar: str, kind: str) -> tuple[Lock, ...]:
    return tuple(lock for lock in plan.locks if isinstance(lock, _KINDS[kind]) and _is_whole(lock, bar))


def _is_whole(lock: Lock, bar: str) -> bool:
    """On this bar from beginning to end, and on no other."""
    return not isinstance(lock, NoteLock) and lock.stretch in {Stretch(bar=bar), Stretch(bar=bar, to_bar=bar)}


def _write_value(lock: Lock) -> str:
    match lock:
        case PositionLock():
            return str(lock.position)
        case ShapeLock():
            return write_shape(lock.frets)
        case FreeFingerLock() | AvoidFingerLock():
            return str(int(lock.finger))
        case _:
            return "false"


def take_out(plan: Plan, text: str) -> Plan:
    """Without the locks and the sections that are called so."""
    return replace(
        plan,
        locks=tuple(lock for lock in plan.locks if str(lock) != text),
        sections=tuple(section for section in plan.sections if str(section) != text),
    )
