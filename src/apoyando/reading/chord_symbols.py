"""Chord symbols as people type them: text in, ``Chord`` out.

The grammar is a root, a quality, any number of departures from it, and a slash bass. It
follows common practice in lead sheets (no source); ABC 2.1 section 4.18 is part of it.
Decisions where practice differs:

* B is B natural; the German H is not guessed but reported.
* C2 and C4 are read as Csus2 and Csus4: their tones are right whether or not a third is meant.
* C7+ is C7 with a raised fifth; C^ and CΔ are Cmaj7; C7alt is C7(#5,#9).
* A small root is read only where the quality is spelled out: am, f#m7, gmaj7.
"""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from apoyando.model.harmony import KIND_DEGREES, Chord, Degree, DegreeChange, chord_degrees
from apoyando.model.pitch import PitchName, Step

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
_SEPARATORS = re.compile(r"[\s(),\[\]/]+")
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
    quality, ignored = _read_suffix(suffix)
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


@dataclass(frozen=True, slots=True)
class _Quality:
    """What follows the root, as far as it has been read."""

    kind: str
    degrees: tuple[Degree, ...] = ()

    @property
    def tones(self) -> dict[int, int]:
        """Degrees of the kind alone, with their alterations."""
        return dict(KIND_DEGREES[self.kind])

    def has(self, value: int) -> bool:
        return value in self.tones or any(degree.value == value for degree in self.degrees)

    def with_degree(self, value: int, alter: int) -> "_Quality":
        """A degree at so many semitones from the major scale, added or altered."""
        others = tuple(degree for degree in self.degrees if degree.value != value)
        if value not in self.tones:
            relative = alter + 1 if value == _SEVENTH else alter
            return _Quality(self.kind, (*others, Degree(value, relative, DegreeChange.ADD)))
        relative = alter - self.tones[value]
        changed = (Degree(value, relative, DegreeChange.ALTER),) if relative else ()
        return _Quality(self.kind, others + changed)

    def without(self, value: int) -> "_Quality":
        others = tuple(degree for degree in self.degrees if degree.value != value)
        dropped = (Degree(value, 0, DegreeChange.SUBTRACT),) if value in self.tones else ()
        return _Quality(self.kind, others + dropped)


_FIFTH, _SEVENTH = 5, 7
_MINOR = r"(?:minor|[Mm][Ii][Nn]|[Mm]i|m(?!a(?!dd))|-(?!5))"
_MAJOR = r"(?:major|[Mm][Aa][Jj]?|M|\^)"
_DIMINISHED = r"(?:[Dd]im|[Dd]im\.|o|0)"
_AUGMENTED = r"(?:[Aa]ug|\+(?!5|11|13))"
_ADD = DegreeChange.ADD
_MAJOR_SEVENTH_ADDED = Degree(7, 1, _ADD)
_NINTH_ADDED = Degree(9, 0, _ADD)
_UP_TO_11TH = (_NINTH_ADDED, Degree(11, 0, _ADD))
_UP_TO_13TH = (*_UP_TO_11TH, Degree(13, 0, _ADD))
_FIFTH_RAISED = Degree(5, 1, DegreeChange.ALTER)

_QUALITIES: tuple[tuple[re.Pattern[str], _Quality], ...] = tuple(
    (re.compile(pattern), _Quality(kind, degrees))
    for pattern, kind, degrees in (
        (r"(?:It|Ital)\.?\+?6", "Italian", ()),
        (r"Fr\.?\+?6", "French", ()),
        (r"Ger\.?\+?6", "German", ()),
        (r"N6|Neapolitan", "Neapolitan", ()),
        (r"pedal|ped\.?", "pedal", ()),
        (r"Tristan", "Tristan", ()),
        (rf"{_MINOR}\s?[(/]?{_MAJOR}13\)?", "major-minor", _UP_TO_13TH),
        (rf"{_MINOR}\s?[(/]?{_MAJOR}11\)?", "major-minor", _UP_TO_11TH),
        (rf"{_MINOR}\s?[(/]?{_MAJOR}9\)?", "major-minor", (_NINTH_ADDED,)),
        (rf"{_MINOR}\s?[(/]?{_MAJOR}7?\)?", "major-minor", ()),
        (rf"{_MINOR}7\s?[(/]?[b-]5\)?", "half-diminished", ()),
        (rf"{_MINOR}\s?\(?[b-]5\)?", "diminished", ()),
        (rf"{_MINOR}(?:6/9|69|6add9)", "minor-sixth", (_NINTH_ADDED,)),
        (rf"{_MINOR}13", "minor-13th", ()),
        (rf"{_MINOR}11", "minor-11th", ()),
        (rf"{_MINOR}9", "minor-ninth", ()),
        (rf"{_MINOR}7", "minor-seventh", ()),
        (rf"{_MINOR}6", "minor-sixth", ()),
        (_MINOR, "minor", ()),
        (rf"{_MAJOR}13", "major-13th", ()),
        (rf"{_MAJOR}11", "major-11th", ()),
        (rf"{_MAJOR}9", "major-ninth", ()),
        (rf"{_MAJOR}7|7{_MAJOR}|\^|j7", "major-seventh", ()),
        (rf"{_MAJOR}?(?:6/9|69|6add9)", "major-sixth", (_NINTH_ADDED,)),
        (rf"{_MAJOR}?6", "major-sixth", ()),
        (_MAJOR, "major", ()),
        (r"(?:ø|h|half-?dim)13", "half-diminished", _UP_TO_13TH),
        (r"(?:ø|h|half-?dim)11", "half-diminished", _UP_TO_11TH),
        (r"(?:ø|h|half-?dim)9", "half-diminished", (_NINTH_ADDED,)),
        (r"ø7?|h7|half-?dim7?", "half-diminished", ()),
        (rf"{_DIMINISHED}\s?\(?{_MAJOR}7\)?", "diminished", (_MAJOR_SEVENTH_ADDED,)),
        (rf"{_DIMINISHED}11", "diminished-seventh", _UP_TO_11TH),
        (rf"{_DIMINISHED}9", "diminished-seventh", (_NINTH_ADDED,)),
        (rf"{_DIMINISHED}7", "diminished-seventh", ()),
        (_DIMINISHED, "diminished", ()),
        (rf"{_AUGMENTED}\s?\(?{_MAJOR}13\)?", "major-13th", (_FIFTH_RAISED,)),
        (rf"{_AUGMENTED}\s?\(?{_MAJOR}11\)?", "major-11th", (_FIFTH_RAISED,)),
        (rf"{_AUGMENTED}\s?\(?{_MAJOR}9\)?", "major-ninth", (_FIFTH_RAISED,)),
        (rf"{_AUGMENTED}\s?\(?{_MAJOR}7\)?", "major-seventh", (_FIFTH_RAISED,)),
        (rf"{_AUGMENTED}9", "dominant-ninth", (_FIFTH_RAISED,)),
        (rf"{_AUGMENTED}7", "augmented-seventh", ()),
        (rf"\+5|{_AUGMENTED}", "augmented", ()),
        (r"(?:dom)?13", "dominant-13th", ()),
        (r"(?:dom)?11", "dominant-11th", ()),
        (r"(?:dom)?9", "dominant-ninth", ()),
        (r"(?:dom)?7", "dominant", ()),
        (r"(?=alt)", "dominant", ()),
        (r"5", "power", ()),
        (r"4", "suspended-fourth", ()),
        (r"2", "suspended-second", ()),
        (r"", "major", ()),
    )
)


def _read_suffix(suffix: str) -> tuple[_Quality, str]:
    """The quality and its departures, and the end of the suffix that was not understood."""
    place = len(suffix) - len(suffix.lstrip())
    found, quality = _first_quality(suffix, place)
    place = found.end()
    while place < len(suffix):
        separator = _SEPARATORS.match(suffix, place)
        change = _read_change(quality, suffix, separator.end() if separator else place)
        if change is None:
            break
        quality, place = change
    return _simplified(quality), suffix[place:].strip("()[], ")


def _first_quality(suffix: str, place: int) -> tuple[re.Match[str], _Quality]:
    """The first row of the table that fits; the last row fits always."""
    matches = ((pattern.match(suffix, place), quality) for pattern, quality in _QUALITIES)
    return next((found, quality) for found, quality in matches if found)


_CHANGES = re.compile(
    rf"(?P<seventh>(?i:add)?{_MAJOR}7)"
    r"|(?i:add)\s?(?P<sign>b{1,3}|#{1,3}|\+|-)?(?P<added>13|11|9|7|6|5|4|3|2)"
    r"|(?i:no|omit|drop)\s?\.?(?P<dropped>13|11|9|7|6|5|4|3|2|1)(?:rd|th)?"
    r"|(?P<sus>(?i:sus))(?P<suspended>2/?4|4/?2|4|2)?"
    r"|(?P<altered>alt)"
    r"|(?P<before>b{1,3}|#{1,3}|\+|-)(?P<changed>13|11|10|9|7|6|5|4|3|2)"
    r"|(?P<tension>13|11|9|7|6|5|4|2)(?P<after>[+-])?"
    r"|(?P<raised>\+)(?![0-9])",
)


def _read_change(quality: _Quality, suffix: str, place: int) -> tuple[_Quality, int] | None:
    """One departure from the quality, and where it ends."""
    found = _CHANGES.match(suffix, place)
    return (_apply(quality, found), found.end()) if found else None


def _apply(quality: _Quality, found: re.Match[str]) -> _Quality:
    return next(change(quality, found) for group, change in _READERS if found[group])


_SIGN_ALTERS = {"": 0, "b": -1, "-": -1, "bb": -2, "bbb": -3, "#": 1, "+": 1, "##": 2, "###": 3}


def _add(quality: _Quality, found: re.Match[str]) -> _Quality:
    return quality.with_degree(int(found["added"]), _added_alter(int(found["added"]), found["sign"]))


def _added_alter(value: int, sign: str | None) -> int:
    """A seventh is minor unless a sharp raises it: 7 and b7 are the same, #7 is major."""
    alter = _SIGN_ALTERS[sign or ""]
    return alter if value != _SEVENTH else min(alter, -1) if alter <= 0 else alter - 1


def _drop(quality: _Quality, found: re.Match[str]) -> _Quality:
    return quality.without(int(found["dropped"]))


def _alter(quality: _Quality, found: re.Match[str]) -> _Quality:
    """b10 is another name of #9."""
    value, sign = int(found["changed"]), found["before"]
    return quality.with_degree(9, 1) if value == 10 else quality.with_degree(value, _added_alter(value, sign))  # noqa: PLR2004


def _extend(quality: _Quality, found: re.Match[str]) -> _Quality:
    """A bare number after the quality: C7/9, C7(13), C7/5+; 4 and 2 after it suspend."""
    value = int(found["tension"])
    if value in (2, 4) and quality.has(3):
        return _suspended(quality, str(value))
    return quality.with_degree(value, _added_alter(value, found["after"]))


def _suspended(quality: _Quality, which: str) -> _Quality:
    """The third gives way to the second or the fourth; everything above stays."""
    both = len(which) > 1
    kind = "suspended-second" if which == "2" else "suspended-fourth"
    suspended = _Quality(kind)
    for value, alter in _full_degrees(quality).items():
        if value not in (1, 2, 3, 4, 11) and suspended.tones.get(value) != alter:
            suspended = suspended.with_degree(value, alter)
    return suspended.with_degree(2, 0) if both else suspended


_READERS: tuple[tuple[str, Callable[[_Quality, re.Match[str]], _Quality]], ...] = (
    ("seventh", lambda quality, _: quality.with_degree(_SEVENTH, 0)),
    ("added", _add),
    ("dropped", _drop),
    ("sus", lambda quality, found: _suspended(quality, found["suspended"] or "4")),
    ("altered", lambda quality, _: quality.with_degree(5, 1).with_degree(9, 1)),
    ("changed", _alter),
    ("tension", _extend),
    ("raised", lambda quality, _: quality.with_degree(_FIFTH, 1)),
)


def _full_degrees(quality: _Quality) -> dict[int, int]:
    return chord_degrees(Chord(root=PitchName(Step.C), kind=quality.kind, degrees=quality.degrees))


_SIMPLER: dict[tuple[str, Degree], str] = {
    ("major", Degree(5, 1, DegreeChange.ALTER)): "augmented",
    ("minor", Degree(5, -1, DegreeChange.ALTER)): "diminished",
    ("dominant", Degree(5, 1, DegreeChange.ALTER)): "augmented-seventh",
    ("minor-seventh", Degree(5, -1, DegreeChange.ALTER)): "half-diminished",
    ("dominant", _NINTH_ADDED): "dominant-ninth",
    ("minor-seventh", _NINTH_ADDED): "minor-ninth",
    ("major-seventh", _NINTH_ADDED): "major-ninth",
    ("major", Degree(6, 0, _ADD)): "major-sixth",
    ("minor", Degree(6, 0, _ADD)): "minor-sixth",
    ("minor", _MAJOR_SEVENTH_ADDED): "major-minor",
    ("major", _MAJOR_SEVENTH_ADDED): "major-seventh",
    ("major", Degree(7, 0, _ADD)): "dominant",
    ("minor", Degree(7, 0, _ADD)): "minor-seventh",
    ("augmented", Degree(7, 0, _ADD)): "augmented-seventh",
}


def _simplified(quality: _Quality) -> _Quality:
    """The kind that has a departure built in, where there is one: m7 with b5 is half-diminished."""
    for kind, degree in _simpler_kinds(quality):
        others = tuple(other for other in quality.degrees if other != degree)
        return _simplified(_Quality(kind, others))
    return quality


def _simpler_kinds(quality: _Quality) -> Iterator[tuple[str, Degree]]:
    for degree in quality.degrees:
        kind = _SIMPLER.get((quality.kind, degree))
        if kind:
            yield kind, degree
