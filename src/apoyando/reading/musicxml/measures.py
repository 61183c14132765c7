"""One part of a score, measure by measure, in time counted from each measure's start.

Source: W3C MusicXML 4.0, elements measure, note, backup, forward, harmony, direction, barline.
"""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from xml.etree.ElementTree import Element

from apoyando.model.errors import Problem
from apoyando.model.pitch import STEPS, Pitch
from apoyando.model.score import Given
from apoyando.model.song import Barline, Lyric
from apoyando.model.time import Quarters
from apoyando.reading.draft import (
    LONGEST_BAR_QUARTERS,
    LONGEST_NOTE_QUARTERS,
    MIDI_RANGE,
    DraftChord,
    DraftNote,
)
from apoyando.reading.form import read_passes
from apoyando.reading.musicxml.directions import Direction, read_direction
from apoyando.reading.musicxml.harmonies import read_harmony, read_name
from apoyando.reading.musicxml.settings import Setting, read_attributes
from apoyando.reading.musicxml.technical import is_natural, read_given
from apoyando.reading.musicxml.values import read_decimal, read_whole, text_of, told

_REMEDY = "Put the bar right in your notation program and export it again."
_TYPES = {
    "breve": Fraction(8),
    "whole": Fraction(4),
    "half": Fraction(2),
    "quarter": Fraction(1),
    "eighth": Fraction(1, 2),
    "16th": Fraction(1, 4),
    "32nd": Fraction(1, 8),
    "64th": Fraction(1, 16),
}
_BARLINES = {
    "light-heavy": Barline.FINAL,
    "light-light": Barline.DOUBLE,
    "heavy-light": Barline.DOUBLE,
    "heavy-heavy": Barline.DOUBLE,
}
_OCTAVES = range(-1, 11)


@dataclass(frozen=True, slots=True, kw_only=True)
class BarlineSigns:
    """What stands on one side of a measure. ``ending_starts``: the passes, or () if none starts."""

    repeats_forward: bool = False
    repeats_backward: int = 0
    ending_starts: tuple[int, ...] = ()
    ending_stops: bool = False
    style: Barline = Barline.REGULAR


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


@dataclass(slots=True)
class _Walk:
    """The state of reading one measure from left to right, and what was found so far."""

    number: str
    setting: Setting
    start: Setting
    changed_at: Quarters | None = None
    cursor: Quarters = Fraction(0)
    length: Quarters = Fraction(0)
    struck: Quarters = Fraction(0)
    struck_duration: Quarters = Fraction(0)
    first_shown: Quarters | None = None
    notes: list[DraftNote] = field(default_factory=list)
    lower_notes: list[DraftNote] = field(default_factory=list)
    chords: list[DraftChord] = field(default_factory=list)
    directions: list[tuple[Quarters, Direction]] = field(default_factory=list)
    signs: dict[str, BarlineSigns] = field(default_factory=dict)
    expression: list[str] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)

    def report(self, what: str) -> None:
        unit = self.setting.meter.beat_unit if self.setting.meter else 4
        beat = self.cursor * unit / 4 + 1
        shown = str(beat) if beat.denominator == 1 else f"{float(beat):.4g}"
        self.problems.append(Problem(f"bar {self.number}, beat {shown}", what, _REMEDY))

    def advance(self, duration: Quarters) -> None:
        self.cursor += duration
        self.length = max(self.length, self.cursor)
        if self.length > LONGEST_BAR_QUARTERS:
            self.report("The bar is absurdly long.")
            self.cursor = self.length = Fraction(0)

    def show(self, onset: Quarters) -> None:
        self.first_shown = onset if self.first_shown is None else min(self.first_shown, onset)


def _read_measure(element: Element, setting: Setting) -> tuple[Measure, Setting]:
    number = (element.get("number") or "").strip()[:20]
    walk = _Walk(number, setting, setting)
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


def _remark_on_change_inside(walk: _Walk) -> None:
    """A change of key or meter inside a bar is taken to count from the next bar."""
    if walk.changed_at is None or walk.changed_at >= walk.length:
        return
    if walk.setting.key != walk.start.key:
        walk.remarks.append("The key changes inside the bar: it is changed at the next barline.")
    if walk.setting.meter != walk.start.meter:
        walk.remarks.append("The meter changes inside the bar: it is changed at the next barline.")


def _walk_attributes(walk: _Walk, element: Element) -> None:
    walk.setting = read_attributes(element, walk.setting, walk.report)
    if walk.length == 0:
        walk.start = walk.setting
    walk.changed_at = walk.cursor
    if element.find("measure-style/measure-repeat") is not None:
        walk.remarks.append("A bar-repeat sign is not played out: write the notes into the bar.")


def _walk_note(walk: _Walk, element: Element) -> None:
    if element.find("grace") is not None:
        walk.remarks.append(f"The grace note {_name_of(element)} is left out.")
        return
    is_stacked = element.find("chord") is not None
    duration = walk.struck_duration if is_stacked else _read_duration(walk, element)
    if duration is None:
        return
    onset = walk.struck if is_stacked else walk.cursor
    if not is_stacked:
        walk.struck, walk.struck_duration = onset, duration
    if _is_shown(element):
        walk.show(onset)
    _place_note(walk, element, onset, duration)
    if not is_stacked:
        walk.advance(duration)


def _name_of(element: Element) -> str:
    return f"{told(element, 'pitch/step')}{told(element, 'pitch/octave')}" or "without pitch"


def _is_shown(element: Element) -> bool:
    return element.get("print-object") != "no"


def _read_duration(walk: _Walk, element: Element) -> Quarters | None:
    """The length of a note or rest; None, with a problem or a remark, if it has none."""
    rest = element.find("rest")
    if rest is not None and rest.get("measure") == "yes" and walk.setting.meter and walk.cursor == 0:
        return walk.setting.meter.bar_length
    divided = read_decimal(text_of(element, "duration"))
    if divided is None or divided < 0:
        walk.report(f"A note has {'a negative' if divided is not None else 'no readable'} length.")
        return None
    duration = divided / walk.setting.divisions
    if duration > LONGEST_NOTE_QUARTERS and element.find("rest") is None:
        walk.report("A note is absurdly long.")
        return None
    if duration == 0:
        walk.remarks.append(f"The note {_name_of(element)} without length is left out.")
        return None
    return _unrounded(element, duration, walk.setting.divisions)


def _unrounded(element: Element, duration: Quarters, divisions: Fraction) -> Quarters:
    """A triplet written in whole divisions that do not divide by three gets its true length."""
    actual = read_whole(text_of(element, "time-modification/actual-notes"))
    normal = read_whole(text_of(element, "time-modification/normal-notes"))
    base = _TYPES.get(text_of(element, "type"))
    if not actual or not normal or base is None or actual < 0 or normal < 0:
        return duration
    dots = min(len(element.findall("dot")), 4)
    exact = base * (2 - Fraction(1, 2**dots)) * normal / actual
    return exact if abs(exact - duration) * divisions < 1 else duration


def _place_note(walk: _Walk, element: Element, onset: Quarters, duration: Quarters) -> None:
    """A pitched note that is meant to be sung becomes part of the draft; the rest only takes time."""
    staff = text_of(element, "staff") or "1"
    if element.find("pitch") is None:
        return
    reason = _reason_to_leave_out(element)
    if reason:
        walk.remarks += [f"The note {_name_of(element)} is left out: {reason}."] if staff == "1" else []
        return
    harmonic = element.find("notations/technical/harmonic")
    if harmonic is not None and not is_natural(harmonic):
        walk.remarks.append(f"The artificial harmonic {_name_of(element)} is read as an ordinary note.")
    pitch = _read_pitch(walk, element)
    if pitch is None:
        return
    walk.expression += _read_expression(element)
    line = walk.notes if staff == "1" else walk.lower_notes
    line.append(
        DraftNote(
            onset=onset,
            duration=duration,
            pitch=pitch,
            voice=text_of(element, "voice"),
            lyrics=tuple(_read_lyrics(element)),
            has_fermata=element.find("notations/fermata") is not None,
            is_rolled=element.find("notations/arpeggiate") is not None,
            is_harmonic=harmonic is not None and is_natural(harmonic),
            ties_on=_has_tie(element, "start"),
            ties_back=_has_tie(element, "stop"),
            is_tablature=staff in walk.setting.tablatures,
            given=_read_given(walk, element),
        ),
    )


def _read_expression(element: Element) -> Iterator[str]:
    """Ornaments and articulations by the names of their elements."""
    for path in ("notations/ornaments/*", "notations/articulations/*"):
        yield from (sign.tag.replace("-", " ") for sign in element.iterfind(path))


def _read_given(walk: _Walk, element: Element) -> Given:
    """What is written of the hand; a string or a fret that the guitar does not have is told."""
    given = read_given(element)
    written = {tag: told(element, f"notations/technical/{tag}") for tag in ("string", "fret")}
    read = {"string": given.string, "fret": given.fret}
    odd = " and ".join(f"{tag} {text}" for tag, text in written.items() if text and read[tag] is None)
    if odd:
        walk.remarks.append(f"The guitar has no {odd}: left out at {_name_of(element)}.")
    return given


def _reason_to_leave_out(element: Element) -> str:
    if element.find("cue") is not None:
        return "it is a cue"
    if text_of(element, "notehead") == "slash":
        return "it is a slash for the rhythm only"
    return "" if _is_shown(element) else "it is hidden in the score"


def _read_pitch(walk: _Walk, element: Element) -> Pitch | None:
    """The sounding pitch; None, with a problem, if there is no such pitch."""
    name = read_name(element.find("pitch"), "")
    if name is None and text_of(element, "pitch/step") in STEPS:
        walk.report(f"The accidental of {_name_of(element)} is not understood.")
        return None
    octave = read_whole(text_of(element, "pitch/octave"))
    if name is None or octave is None or octave not in _OCTAVES:
        walk.report(f"There is no pitch {_name_of(element)}.")
        return None
    if "." in text_of(element, "pitch/alter").removesuffix(".0"):
        walk.remarks.append(f"The quarter tone on {_name_of(element)} is read as the nearest semitone.")
    sounding = Pitch(name, octave).transposed(walk.setting.transposition)
    if sounding.midi not in MIDI_RANGE:
        walk.report(f"The pitch {_name_of(element)} is out of every range.")
        return None
    return sounding


def _has_tie(element: Element, kind: str) -> bool:
    ties = (*element.iterfind("tie"), *element.iterfind("notations/tied"))
    return any(tie.get("type") == kind for tie in ties)


def _read_lyrics(element: Element) -> Iterator[Lyric]:
    """Syllables; those of an elision are joined, as they are sung on one note."""
    for place, lyric in enumerate(element.iterfind("lyric"), start=1):
        text = " ".join(filter(None, (text_of(item) for item in lyric.iterfind("text"))))
        digits = re.search(r"(\d{1,3})$", lyric.get("number") or "")
        if text:
            verse = int(digits[1]) if digits else place
            yield Lyric(
                max(verse, 1),
                text,
                text_of(lyric, "syllabic") or "single",
                is_held=lyric.find("extend") is not None,
            )


def _walk_backup(walk: _Walk, element: Element) -> None:
    walk.cursor = max(walk.cursor - _read_jump_in_time(walk, element), Fraction(0))


def _walk_forward(walk: _Walk, element: Element) -> None:
    walk.advance(_read_jump_in_time(walk, element))


def _read_jump_in_time(walk: _Walk, element: Element) -> Quarters:
    divided = read_decimal(text_of(element, "duration"))
    if divided is None or divided < 0:
        walk.report(f"The time in the bar goes {'backwards' if divided is not None else 'nowhere'}.")
        return Fraction(0)
    return divided / walk.setting.divisions


def _walk_harmony(walk: _Walk, element: Element) -> None:
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
    walk.chords.append(DraftChord(onset, chord))


def _read_offset(walk: _Walk, element: Element) -> Quarters:
    return (read_decimal(text_of(element, "offset")) or Fraction(0)) / walk.setting.divisions


def _walk_direction(walk: _Walk, element: Element) -> None:
    offset = _read_offset(walk, element)
    walk.directions.append((max(walk.cursor + offset, Fraction(0)), read_direction(element)))


def _walk_barline(walk: _Walk, element: Element) -> None:
    side = element.get("location", "right")
    signs = _read_barline(element)
    if side == "middle":
        return
    if side == "right" and signs.repeats_forward and not signs.repeats_backward and walk.length == 0:
        side = "left"
    walk.signs[side] = signs


def _read_barline(element: Element) -> BarlineSigns:
    repeat = element.find("repeat")
    direction = repeat.get("direction") if repeat is not None else ""
    ending = element.find("ending")
    ending_type = ending.get("type") if ending is not None else ""
    return BarlineSigns(
        repeats_forward=direction == "forward",
        repeats_backward=_repeat_times(repeat) if direction == "backward" else 0,
        ending_starts=_ending_numbers(ending) if ending_type == "start" else (),
        ending_stops=ending_type in ("stop", "discontinue"),
        style=_BARLINES.get(text_of(element, "bar-style"), Barline.REGULAR),
    )


def _repeat_times(repeat: Element | None) -> int:
    times = read_whole(repeat.get("times")) if repeat is not None else None
    return min(max(times or 2, 2), 99)


def _ending_numbers(ending: Element | None) -> tuple[int, ...]:
    """The passes of an ending: "1", "1, 2", "1-3", or what is printed in the bracket."""
    if ending is None:
        return ()
    return read_passes(ending.get("number") or "") or read_passes(text_of(ending)) or (1,)


_READERS: dict[str, Callable[[_Walk, Element], None]] = {
    "attributes": _walk_attributes,
    "note": _walk_note,
    "backup": _walk_backup,
    "forward": _walk_forward,
    "harmony": _walk_harmony,
    "direction": _walk_direction,
    "sound": _walk_direction,
    "barline": _walk_barline,
}
