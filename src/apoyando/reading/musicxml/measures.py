"""One part of a score, measure by measure, in time counted from each measure's start.

Source: W3C MusicXML 4.0, elements measure, backup, forward, harmony, direction.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from xml.etree.ElementTree import Element

from apoyando.model.errors import Problem
from apoyando.model.time import Quarters
from apoyando.reading.draft import (
    DraftChord,
    DraftNote,
)
from apoyando.reading.musicxml.barlines import BarlineSigns, read_barline
from apoyando.reading.musicxml.directions import Direction, read_barline_jumps, read_direction
from apoyando.reading.musicxml.harmonies import read_harmony
from apoyando.reading.musicxml.notes import walk_note
from apoyando.reading.musicxml.settings import Setting, read_attributes
from apoyando.reading.musicxml.values import read_decimal, text_of
from apoyando.reading.musicxml.walk import Walk


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """``setting`` is that of the measure's start. ``first_shown`` is where something visible begins.

    ``notes`` are those of the first staff, ``lower_notes`` those of the staves under it.
    ``expression`` names ornaments and articulations.
    """

    number: str
    is_implicit: bool
    setting: Setting
    length: Quarters
    first_shown: Quarters | None
    notes: tuple[DraftNote, ...]
    lower_notes: tuple[DraftNote, ...]
    chords: tuple[DraftChord, ...]
    directions: tuple[tuple[Quarters, Direction], ...]
    left: BarlineSigns
    right: BarlineSigns
    expression: tuple[str, ...]
    remarks: tuple[str, ...]
    problems: tuple[Problem, ...]


def read_measures(part: Element) -> Iterator[Measure]:
    """The measures of a part in order."""
    setting = Setting()
    for element in part.iterfind("measure"):
        measure, setting = _read_measure(element, setting)
        yield measure


def _read_measure(element: Element, setting: Setting) -> tuple[Measure, Setting]:
    number = (element.get("number") or "").strip()[:20]
    walk = Walk(number, setting, setting)
    for child in element:
        reader = _READERS.get(child.tag)
        if reader and len(walk.problems) <= _MOST_PROBLEMS:
            reader(walk, child)
    _remark_on_change_inside(walk)
    measure = Measure(
        number=number,
        is_implicit=element.get("implicit") == "yes",
        setting=walk.start,
        length=walk.length,
        first_shown=walk.first_shown,
        notes=tuple(walk.notes),
        lower_notes=tuple(walk.lower_notes),
        chords=tuple(walk.chords),
        directions=tuple(walk.directions),
        left=walk.signs.get("left", BarlineSigns()),
        right=walk.signs.get("right", BarlineSigns()),
        expression=tuple(walk.expression),
        remarks=tuple(walk.remarks),
        problems=tuple(walk.problems),
    )
    return measure, walk.setting


_MOST_PROBLEMS = 5


def _remark_on_change_inside(walk: Walk) -> None:
    """A change of key or meter inside a bar is taken to count from the next bar."""
    if walk.changed_at is None or walk.changed_at >= walk.length:
        return
    if walk.setting.key != walk.start.key:
        walk.remarks.append("The key changes inside the bar: it is changed at the next barline.")
    if walk.setting.meter != walk.start.meter:
        walk.remarks.append("The meter changes inside the bar: it is changed at the next barline.")


def _walk_attributes(walk: Walk, element: Element) -> None:
    walk.setting = read_attributes(element, walk.setting, walk.report)
    if walk.length == 0:
        walk.start = walk.setting
    walk.changed_at = walk.cursor
    if element.find("measure-style/measure-repeat") is not None:
        walk.remarks.append("A bar-repeat sign is not played out: write the notes into the bar.")


def _walk_backup(walk: Walk, element: Element) -> None:
    walk.cursor = max(walk.cursor - _read_jump_in_time(walk, element), Fraction(0))


def _walk_forward(walk: Walk, element: Element) -> None:
    walk.advance(_read_jump_in_time(walk, element))


def _read_jump_in_time(walk: Walk, element: Element) -> Quarters:
    divided = read_decimal(text_of(element, "duration"))
    if divided is None or divided < 0:
        walk.report(f"The time in the bar goes {'backwards' if divided is not None else 'nowhere'}.")
        return Fraction(0)
    return divided / walk.setting.divisions


def _walk_harmony(walk: Walk, element: Element) -> None:
    if element.get("type") == "alternate":
        walk.remarks.append("An alternate chord symbol is left out.")
        return
    reading = read_harmony(element)
    if isinstance(reading, str):
        walk.remarks.append(reading)
        return
    walk.remarks += [reading.remark] if reading.remark else []
    chord = reading.chord and reading.chord.transposed(walk.setting.transposition.fifths)
    if chord and reading.chord and walk.setting.transposition.fifths == 0:
        chord = reading.chord
    onset = max(walk.cursor + _read_offset(walk, element), Fraction(0))
    walk.chords.append(DraftChord(onset, chord, has_diagram=element.find("frame") is not None))


def _read_offset(walk: Walk, element: Element) -> Quarters:
    return (read_decimal(text_of(element, "offset")) or Fraction(0)) / walk.setting.divisions


def _walk_direction(walk: Walk, element: Element) -> None:
    offset = _read_offset(walk, element)
    walk.directions.append((max(walk.cursor + offset, Fraction(0)), read_direction(element)))


def _walk_barline(walk: Walk, element: Element) -> None:
    side = element.get("location", "right")
    signs = read_barline(element)
    if side == "middle":
        if signs.repeats_forward or signs.repeats_backward:
            walk.remarks.append("A repeat sign inside the bar is left out: divide the bar in two there.")
        return
    if side == "right" and signs.repeats_forward and not signs.repeats_backward and walk.length == 0:
        side = "left"
    walk.signs[side] = signs
    jumps = read_barline_jumps(element)
    if jumps:
        walk.directions.append((Fraction(0) if side == "left" else walk.length, Direction(jumps=jumps)))


_READERS: dict[str, Callable[[Walk, Element], None]] = {
    "attributes": _walk_attributes,
    "note": walk_note,
    "backup": _walk_backup,
    "forward": _walk_forward,
    "harmony": _walk_harmony,
    "direction": _walk_direction,
    "sound": _walk_direction,
    "barline": _walk_barline,
}
