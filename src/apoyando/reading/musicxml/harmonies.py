"""The ``harmony`` element to a ``Chord``.

Source: W3C MusicXML 4.0, elements harmony, root, kind, degree, bass, inversion, numeral.
"""

from dataclasses import dataclass, replace
from xml.etree.ElementTree import Element

from apoyando.model.chord_text import write_chord_symbol
from apoyando.model.harmony import KIND_DEGREES, Chord, Degree, DegreeChange, chord_tones
from apoyando.model.pitch import PitchName, Step
from apoyando.reading.chord_symbols import read_chord_symbol
from apoyando.reading.musicxml.values import read_decimal, read_whole, text_of

_HIGHEST_DEGREE = 13
_FARTHEST_ALTER = 2
_OLD_KINDS = {"": "major", "maj": "major", "min": "minor", "aug": "augmented", "dim": "diminished"}


KINDS_IN_THE_WILD = {
    "dominant-seventh": "7",
    "seventh-flat-five": "7b5",
    "suspended-fourth-seventh": "7sus4",
    "minor-major-seventh": "m(maj7)",
    "minor-major-ninth": "m(maj9)",
    "minor-major-11th": "m(maj11)",
    "minor-major-13th": "m(maj13)",
    "augmented-major-seventh": "maj7#5",
    "augmented-major-ninth": "maj9#5",
    "augmented-major-11th": "maj11#5",
    "augmented-major-13th": "maj13#5",
    "augmented-dominant-ninth": "9#5",
    "augmented-11th": "11#5",
    "augmented-dominant-13th": "13#5",
    "half-diminished-seventh": "ø7",
    "half-diminished-ninth": "ø9",
    "half-diminished-minor-ninth": "ø7(b9)",
    "half-diminished-11th": "ø11",
    "half-diminished-13th": "ø13",
    "diminished-ninth": "dim9",
    "diminished-minor-ninth": "dim7(b9)",
    "diminished-11th": "dim11",
}
"""Kinds outside MusicXML's own list that programs write all the same, as chord symbols."""


@dataclass(frozen=True, slots=True)
class HarmonyReading:
    """``chord`` is None for N.C.; ``remark`` says what was not understood, or is ""."""

    chord: Chord | None
    remark: str = ""


def read_harmony(element: Element) -> HarmonyReading | str:
    """What a harmony element says; a text for the player if it names no chord at all."""
    kind = element.find("kind")
    kind_value, kind_text = text_of(kind), (kind.get("text") or "").strip() if kind is not None else ""
    root = read_name(element.find("root"), "root-")
    if kind_value == "none":
        return HarmonyReading(None)
    if root is None:
        return _read_without_root(element, kind_text)
    chord, remark = _read_kind(root, kind_value, kind_text)
    degrees = _read_degrees(element)
    chord = replace(chord, degrees=chord.degrees + degrees)
    chord = replace(chord, bass=_read_bass(element, chord))
    if len(degrees) < len(element.findall("degree")):
        remark = remark or "An added or altered degree of a chord symbol is not understood and left out."
    if len(element.findall("kind")) > 1:
        remark = remark or "Two chords are written one over the other: only the first is read."
    return HarmonyReading(replace(chord, text=_source_text(chord, kind_text)), remark)


def read_name(element: Element | None, prefix: str) -> PitchName | None:
    """A spelled pitch class from ``<prefix step>`` and ``<prefix alter>``, to the nearest semitone."""
    step = text_of(element, f"{prefix}step")
    alter = read_decimal(text_of(element, f"{prefix}alter") or "0")
    if step not in Step.__members__ or alter is None or abs(alter) > _FARTHEST_ALTER:
        return None
    return PitchName(Step(step), round(alter))


def _read_without_root(element: Element, kind_text: str) -> HarmonyReading | str:
    """N.C. written as text, or a chord named by its function only."""
    reading = read_chord_symbol(kind_text) if kind_text else None
    if reading and reading.chord is None:
        return HarmonyReading(None)
    named = text_of(element, "function") or text_of(element, "numeral/numeral-root")
    shown = f"The chord “{named}” is named by its function" if named else "A chord symbol has no root"
    return f"{shown} and was left out. Write it with its root, as Am7."


def _read_kind(root: PitchName, kind: str, kind_text: str) -> tuple[Chord, str]:
    """The kind by its MusicXML name, else by its text."""
    kind = kind if not kind and kind_text else _OLD_KINDS.get(kind, kind)
    if kind in KIND_DEGREES:
        return Chord(root=root, kind=kind), ""
    kind_text = KINDS_IN_THE_WILD.get(kind, kind_text)
    reading = read_chord_symbol(f"{root}{_apart(kind_text)}") if kind_text else None
    if reading and reading.chord:
        chord = replace(reading.chord, root=root, text="")
        return (
            chord,
            f"In “{root}{kind_text}” “{reading.ignored}” is not understood." if reading.ignored else "",
        )
    return Chord(root=root, kind="major"), (
        f"The chord kind “{kind_text or kind}” is not understood: read as {root} major."
    )


def _apart(kind_text: str) -> str:
    """The kind so that its first sign does not alter the root: ``C(b5)`` is no C flat."""
    return f"({kind_text})" if kind_text.startswith(("b", "#", "♭", "♯")) else kind_text


def _read_degrees(element: Element) -> tuple[Degree, ...]:
    return tuple(degree for item in element.iterfind("degree") if (degree := _read_degree(item)))


def _read_degree(element: Element) -> Degree | None:
    value = read_whole(text_of(element, "degree-value"))
    alter = read_decimal(text_of(element, "degree-alter") or "0")
    change = text_of(element, "degree-type")
    if value is None or alter is None or change not in set(DegreeChange):
        return None
    if not 1 <= value <= _HIGHEST_DEGREE or abs(alter) > _FARTHEST_ALTER:
        return None
    return Degree(value, round(alter), DegreeChange(change))


def _read_bass(element: Element, chord: Chord) -> PitchName | None:
    """The slash bass; an inversion without a bass names the tone that it counts."""
    bass = read_name(element.find("bass"), "bass-")
    inversion = read_whole(text_of(element, "inversion")) or 0
    tones = chord_tones(chord)
    if bass is None and 0 < inversion < len(tones):
        bass = tones[inversion].name
    return None if bass == chord.root else bass


def _source_text(chord: Chord, kind_text: str) -> str:
    if not kind_text:
        return write_chord_symbol(chord)
    bass = f"/{chord.bass}" if chord.bass else ""
    return f"{chord.root}{kind_text}{bass}"
