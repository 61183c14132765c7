"""What ``attributes`` sets for the music that follows: divisions, key, meter, transposition.

Source: W3C MusicXML 4.0, elements attributes, key, time, transpose.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction
from xml.etree.ElementTree import Element

from apoyando.model.pitch import MOST_FIFTHS, UNISON, Interval, Key, Mode
from apoyando.model.song import Meter
from apoyando.reading.draft import is_meter
from apoyando.reading.intervals import spell_interval
from apoyando.reading.musicxml.values import read_decimal, read_whole, text_of, told

_SYMBOLS = {"common": "common", "cut": "cut"}
_C_MAJOR = Key(0)
_COMMON_TIME = Meter(4, 4)


@dataclass(frozen=True, slots=True)
class Setting:
    """``divisions`` of a quarter note. ``meter`` is None in free time. Keys are as written.

    ``tablatures`` are the numbers of the staves written in tablature.
    """

    divisions: Fraction = Fraction(1)
    key: Key = _C_MAJOR
    meter: Meter | None = _COMMON_TIME
    transposition: Interval = UNISON
    tablatures: frozenset[str] = frozenset()

    @property
    def sounding_key(self) -> Key:
        return self.key.transposed(self.transposition.fifths)


Report = Callable[[str], None]
"""Takes what is wrong, in words for the player."""


def read_attributes(element: Element, setting: Setting, report: Report) -> Setting:
    """The setting after an ``attributes`` element; what cannot be meant is reported and left as it was."""
    divisions = element.find("divisions")
    if divisions is not None:
        setting = replace(setting, divisions=_read_divisions(divisions, setting.divisions, report))
    key = _of_first_staff(element, "key")
    if key is not None:
        setting = replace(setting, key=_read_key(key, setting.key, report))
    time = _of_first_staff(element, "time")
    if time is not None:
        setting = replace(setting, meter=_read_meter(time, setting.meter, report))
    transpose = _of_first_staff(element, "transpose")
    if transpose is not None:
        setting = replace(setting, transposition=_read_transposition(transpose, report))
    return _in_usual_keys(replace(setting, tablatures=_read_tablatures(element, setting.tablatures)))


def _read_tablatures(element: Element, old: frozenset[str]) -> frozenset[str]:
    """A clef changes its own staff and no other."""
    clefs = {clef.get("number", "1"): text_of(clef, "sign") for clef in element.iterfind("clef")}
    return frozenset(staff for staff in (*old, *clefs) if clefs.get(staff, "TAB") == "TAB")


def _of_first_staff(element: Element, tag: str) -> Element | None:
    return next((item for item in element.iterfind(tag) if item.get("number", "1") == "1"), None)


def _read_divisions(element: Element, old: Fraction, report: Report) -> Fraction:
    divisions = read_decimal(element.text)
    if divisions is None or divisions <= 0:
        report(f"A quarter note is divided in {told(element) or 'no'} parts.")
        return old
    return divisions


def _read_key(element: Element, old: Key, report: Report) -> Key:
    if element.find("key-step") is not None:
        return Key(0)
    fifths = read_whole(text_of(element, "fifths"))
    if fifths is None or abs(fifths) > MOST_FIFTHS:
        report(f"The key signature has {told(element, 'fifths') or 'no number of'} sharps or flats.")
        return old
    mode = text_of(element, "mode").lower()
    return Key(fifths, Mode(mode) if mode in set(Mode) else Mode.MAJOR)


def _read_meter(element: Element, old: Meter | None, report: Report) -> Meter | None:
    """Signatures such as 3+2/8, or several side by side, are added up, and their parts are its groups."""
    if element.find("senza-misura") is not None:
        return None
    summed = [_addends(text_of(item)) for item in element.iterfind("beats")]
    beats = [sum(addends) for addends in summed]
    units = [read_whole(text_of(item)) for item in element.iterfind("beat-type")]
    if not beats or len(beats) != len(units) or not all(map(is_meter, beats, units)):
        report(f"The meter {told(element, 'beats')}/{told(element, 'beat-type')} cannot be meant.")
        return old
    unit = max(filter(None, units))
    counts = [
        group
        for addends, one in zip(summed, units, strict=True)
        if one
        for count in addends
        for group in ((unit // one,) * count if unit > one else (count,))
    ]
    groups = tuple(counts) if len(counts) > 1 and all(counts) else ()
    return Meter(sum(counts), unit, _SYMBOLS.get(element.get("symbol", ""), ""), groups)


def _addends(text: str) -> list[int]:
    """What is added up where 3 or 3+2 is written; nothing, which is no meter, for anything else."""
    is_sum = re.fullmatch(r"\d{1,3}(?: ?\+ ?\d{1,3})*", text)
    return [int(number) for number in re.findall(r"\d+", text)] if is_sum else []


def _read_transposition(element: Element, report: Report) -> Interval:
    """From written to sounding pitch."""
    semitones = read_whole(text_of(element, "chromatic"))
    octaves = read_whole(text_of(element, "octave-change") or "0")
    if semitones is None or octaves is None or abs(semitones) + 12 * abs(octaves) > 48:  # noqa: PLR2004 - four octaves
        report(f"The part transposes by {told(element, 'chromatic') or 'no number of'} semitones.")
        return UNISON
    steps = read_whole(text_of(element, "diatonic"))
    return spell_interval(semitones + 12 * octaves, None if steps is None else steps + 7 * octaves)


def _in_usual_keys(setting: Setting) -> Setting:
    """A transposition into more than seven sharps or flats is spelled the other way round."""
    fifths = setting.sounding_key.fifths
    if abs(fifths) <= MOST_FIFTHS or setting.transposition == UNISON:
        return setting
    turn = -12 if fifths > 0 else 12
    old = setting.transposition
    return replace(setting, transposition=Interval(old.fifths + turn, old.semitones))
