"""What is put right in a song as it was understood: plan to plan, whatever file the song is.

What cannot be meant is told as in a plan file.
"""

from collections.abc import Collection, Mapping
from dataclasses import replace
from typing import TypeVar

from apoyando.model.plan import ChordChange, NoteChange, Plan
from apoyando.model.time import Quarters
from apoyando.reading import change_plan

Placed = TypeVar("Placed", ChordChange, NoteChange)


def put_chord(plan: Plan, given: Mapping[str, str], levels: Collection[str]) -> Plan:
    """One chord of the player's own at ``bar`` and ``beat``, or none of them any more (no ``chord``)."""
    table = {**_read_place(given), "chord": given.get("chord") or "N.C."}
    (chord,) = change_plan(Plan(), {"chords": [table]}, "the chord", levels).chords
    others = _without(plan.chords, chord)
    return replace(plan, chords=(*others, chord) if given.get("chord") else others)


def put_note(plan: Plan, given: Mapping[str, str], levels: Collection[str]) -> Plan:
    """A note at ``bar`` and ``beat``: another ``pitch`` or ``length`` beside what was put right before, or a ``rest``.

    With none of them what the player had there is taken back.
    """
    place = _read_place(given)
    asked: dict[str, object] = {name: given[name] for name in ("pitch", "length") if given.get(name)}
    if given.get("rest"):
        asked = {"rest": True}
    if not asked:
        return take_note_back(plan, given, levels)
    (note,) = change_plan(Plan(), {"notes": [{**place, **asked}]}, "the note", levels).notes
    before = next((each for each in plan.notes if _is_there(each, note)), note)
    merged = note if note.is_rest else _merge(before, note)
    return replace(plan, notes=(*_without(plan.notes, note), merged))


def _merge(before: NoteChange, note: NoteChange) -> NoteChange:
    return replace(note, pitch=note.pitch or before.pitch, length=note.length or before.length)


def take_note_back(plan: Plan, given: Mapping[str, str], levels: Collection[str]) -> Plan:
    """The note at ``bar`` and ``beat`` as the song has it."""
    table = {**_read_place(given), "rest": True}
    (place,) = change_plan(Plan(), {"notes": [table]}, "the note", levels).notes
    return replace(plan, notes=_without(plan.notes, place))


def put_written_key(plan: Plan, given: Mapping[str, str], levels: Collection[str]) -> Plan:
    """``written_key`` as a plan file has it, "" for that of the song."""
    return change_plan(plan, {"written_key": given.get("written_key") or None}, "the key", levels)


def read_pickup(given: Mapping[str, str], levels: Collection[str]) -> Quarters | None:
    """``pickup`` as a plan file has it, None for that of the song."""
    return change_plan(Plan(), {"pickup": given.get("pickup") or None}, "the pickup", levels).pickup


def _read_place(given: Mapping[str, str]) -> dict[str, object]:
    return {"bar": given.get("bar", ""), "beat": given.get("beat") or 1}


def _without(changes: tuple[Placed, ...], change: Placed) -> tuple[Placed, ...]:
    return tuple(each for each in changes if not _is_there(each, change))


def _is_there(one: ChordChange | NoteChange, other: ChordChange | NoteChange) -> bool:
    return (one.bar, one.beat) == (other.bar, other.beat)
