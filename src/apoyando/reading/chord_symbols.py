"""Chord symbols as people type them: text in, ``Chord`` out.

The grammar is a root, a quality with any number of departures from it (``chord_qualities``), and
a slash bass. It follows common practice in lead sheets (no source); ABC 2.1 section 4.18 is part of it.
Decisions where practice differs:

* B is B natural; the German H is not guessed but reported.
* A small root is read only where the quality is spelled out: am, f#m7, gmaj7.
"""

import re
from dataclasses import dataclass, replace

from apoyando.model.harmony import Chord
from apoyando.model.pitch import PitchName, Step
from apoyando.reading.chord_qualities import read_quality

_ALTERS = {"": 0, "b": -1, "bb": -2, "#": 1, "##": 2, "x": 2, "♮": 0}
_SIGNS = str.maketrans(
    {
        "♭": "b",
        "♯": "#",
        "𝄫": "bb",
        "𝄪": "##",
        "°": "o",
        "º": "o",
        "˚": "o",
        "Ø": "ø",
        "∅": "ø",
        "Δ": "^",
        "△": "^",
        "∆": "^",
        "−": "-",
        "–": "-",
        "⁺": "+",
        "⁻": "-",
        **dict(zip("⁰¹²³⁴⁵⁶⁷⁸⁹", "0123456789", strict=True)),
        "\u00a0": " ",
    },
)
_NO_CHORD = re.compile(r"n\.?\s*c\.?|no chord|tacet", re.IGNORECASE)
_ROOT = re.compile(r"([A-G])(bb|##|x|b|#|♮)?")
_SMALL_ROOT = re.compile(r"([a-g])(?=(?:b|#)?(?:m|-(?!5)|dim|o7|ø|sus|aug|add))")
_BASS = re.compile(r"/\s*([A-G]|[a-g])(bb|##|b|#|♮)?\s*$")
_LONGEST_TEXT = 60
_WORDS = re.compile(
    r"(?:fine?|coda|chorus|bridge|dal?|d\.?\s*[cs]\b|capo|ending|end|break|guitar|fill|flute|bass|drums?)(?![a-z])"
    r"|[a-g][a-z]{4,}(?![a-z0-9#])"
    r"|[a-g](?:[.:]|\s+[a-z]{3,})",
    re.IGNORECASE,
)
"""Directions and words that begin like a chord: Fine, D.C., Chorus, A section."""


@dataclass(frozen=True, slots=True)
class ChordReading:
    """``chord`` is None for N.C.; ``ignored`` is the end that was not understood, or ""."""

    chord: Chord | None
    ignored: str = ""


def read_chord_symbol(text: str) -> ChordReading | None:
    """The chord in a text, by its longest understood beginning; None where it names no chord."""
    cleaned = text.translate(_SIGNS).strip()
    if len(cleaned) > _LONGEST_TEXT:
        return None
    if _NO_CHORD.fullmatch(cleaned):
        return ChordReading(None)
    reading = _read_symbol(_without_stray_brackets(_with_capital_root(cleaned)))
    if reading is None or (reading.ignored and _WORDS.match(cleaned)):
        return None
    if reading.ignored and cleaned[:1].islower():
        return None
    return replace(reading, chord=replace(reading.chord, text=text.strip())) if reading.chord else None


def describe_unread_chord(text: str) -> str:
    """For the player: that a text was not understood as a chord, and what to write."""
    text = text if len(text) <= _LONGEST_TEXT else f"{text[:_LONGEST_TEXT]}…"
    if re.match(r"[Hh](?![a-z]{3})", text.strip()):
        return (
            f"“{text}” is not read as a chord: H is German for B natural. Write B…, or Bb… for the German B."
        )
    if re.match(r"[a-g](?:[b#]?[0-9]*)?$", text.strip()):
        return f"“{text}” is not read as a chord: a small letter may be major or minor. Write A… or Am…."
    return f"“{text}” is not understood as a chord and was left out. Write it as C, Am7, F#dim or G/B."


def _with_capital_root(text: str) -> str:
    opening = len(text) - len(text.lstrip("(["))
    small = _SMALL_ROOT.match(text, opening)
    return f"{text[:opening]}{small[1].upper()}{text[opening + 1 :]}" if small else text


def _without_stray_brackets(text: str) -> str:
    """An optional chord in brackets, or one half of a pair that spans several chords."""
    text = text.lstrip("([ ")
    while text.endswith((")", "]")) and text.count("(") + text.count("[") < text.count(")") + text.count("]"):
        text = text[:-1].rstrip()
    return text


def _read_symbol(text: str) -> ChordReading | None:
    root = _ROOT.match(text)
    if not root:
        return None
    bass = _BASS.search(text, root.end())
    suffix = text[root.end() : bass.start() if bass else len(text)]
    quality, ignored = read_quality(suffix)
    name = _name(root[1], root[2])
    chord = Chord(
        root=name,
        kind=quality.kind,
        degrees=quality.degrees,
        bass=_bass_name(bass, name),
    )
    return ChordReading(chord, ignored)


def _name(letter: str, sign: str | None) -> PitchName:
    return PitchName(Step(letter.upper()), _ALTERS[sign or ""])


def _bass_name(bass: re.Match[str] | None, root: PitchName) -> PitchName | None:
    """A bass on the root itself says nothing."""
    name = _name(bass[1], bass[2]) if bass else None
    return None if name == root else name
