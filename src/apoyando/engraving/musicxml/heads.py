"""What a written head is, in notation and in tablature: pitch, value, ties, tuplet, harmonic."""

from fractions import Fraction

from apoyando.engraving.musicxml.xmltree import Element, element
from apoyando.engraving.notation.score import NoteValue, Sounding, Tuplet
from apoyando.engraving.notation.values import LONGEST
from apoyando.model.pitch import Pitch

TYPE_NAMES = (
    "breve",
    "whole",
    "half",
    "quarter",
    "eighth",
    "16th",
    "32nd",
    "64th",
    "128th",
    "256th",
    "512th",
    "1024th",
)
"""MusicXML 4.0 ``note-type-value``, from two wholes down, each half of the one before."""


def write_pitch(pitch: Pitch) -> Element:
    return element(
        "pitch",
        element("step", pitch.name.step),
        element("alter", pitch.name.alter) if pitch.name.alter else None,
        element("octave", pitch.octave),
    )


def write_ties(tag: str, event: Sounding) -> list[Element]:
    stop = [element(tag, type="stop")] if event.is_tied_from_before else []
    start = [element(tag, type="start")] if event.is_tied_to_next else []
    return stop + start


def write_value(value: NoteValue) -> list[Element]:
    return [element("type", type_name(value.base)), *(element("dot") for _ in range(value.dots))]


def type_name(base: Fraction) -> str:
    """MusicXML's word for a note value: 1 -> quarter."""
    return TYPE_NAMES[(LONGEST / base).numerator.bit_length() - 1]


def write_time_modification(tuplet: Tuplet | None) -> Element:
    if tuplet is None:
        return None
    return element(
        "time-modification",
        element("actual-notes", tuplet.actual),
        element("normal-notes", tuplet.normal),
    )


def write_harmonic() -> Element:
    """The note is written where it sounds; its fret is where the string is touched."""
    return element("harmonic", element("natural"), element("sounding-pitch"))
