"""The notes of a measure, with what is written of each.

Source: W3C MusicXML 4.0, element note.
"""

import re
from collections.abc import Iterator
from fractions import Fraction
from xml.etree.ElementTree import Element

from apoyando.model.pitch import STEPS, Pitch
from apoyando.model.score import Given
from apoyando.model.song import Lyric
from apoyando.model.time import Quarters
from apoyando.reading.draft import (
    LONGEST_NOTE_QUARTERS,
    MIDI_RANGE,
    DraftNote,
)
from apoyando.reading.musicxml.harmonies import read_name
from apoyando.reading.musicxml.technical import is_natural, read_given, read_role
from apoyando.reading.musicxml.values import read_decimal, read_note_value, read_whole, text_of, told
from apoyando.reading.musicxml.walk import Walk

_OCTAVES = range(-1, 11)


def walk_note(walk: Walk, element: Element) -> None:
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


def _read_duration(walk: Walk, element: Element) -> Quarters | None:
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
    value = read_note_value(element, "type", "dot")
    if not actual or not normal or value is None or actual < 0 or normal < 0:
        return duration
    exact = value * normal / actual
    return exact if abs(exact - duration) * divisions < 1 else duration


def _place_note(walk: Walk, element: Element, onset: Quarters, duration: Quarters) -> None:
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
            voice=text_of(element, "voice") or "1",
            lyrics=tuple(_read_lyrics(element)),
            has_fermata=element.find("notations/fermata") is not None,
            is_rolled=element.find("notations/arpeggiate") is not None,
            is_harmonic=harmonic is not None and is_natural(harmonic),
            lets_ring=element.find("notations/tied[@type='let-ring']") is not None,
            ties_on=_has_tie(element, "start"),
            ties_back=_has_tie(element, "stop"),
            is_tablature=staff in walk.setting.tablatures,
            role=read_role(element),
            given=_read_given(walk, element),
        ),
    )


def _read_expression(element: Element) -> Iterator[str]:
    """Ornaments and articulations by the names of their elements."""
    for path in ("notations/ornaments/*", "notations/articulations/*"):
        yield from (sign.tag.replace("-", " ") for sign in element.iterfind(path))


def _read_given(walk: Walk, element: Element) -> Given:
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


def _read_pitch(walk: Walk, element: Element) -> Pitch | None:
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
