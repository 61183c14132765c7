"""What follows the root of a chord symbol: its quality, and the departures from it.

Decisions where practice differs:

* C2 and C4 are read as Csus2 and Csus4: their tones are right whether or not a third is meant.
* C7+ is C7 with a raised fifth; C^ and CΔ are Cmaj7; C7alt is C7(#5,#9).
"""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from apoyando.model.harmony import KIND_DEGREES, Chord, Degree, DegreeChange, chord_degrees
from apoyando.model.pitch import PitchName, Step

_SEPARATORS = re.compile(r"[\s(),\[\]/]+")


@dataclass(frozen=True, slots=True)
class Quality:
    """What follows the root, as far as it has been read."""

    kind: str
    degrees: tuple[Degree, ...] = ()

    @property
    def tones(self) -> dict[int, int]:
        """Degrees of the kind alone, with their alterations."""
        return dict(KIND_DEGREES[self.kind])

    def has(self, value: int) -> bool:
        return value in self.tones or any(degree.value == value for degree in self.degrees)

    def with_degree(self, value: int, alter: int) -> "Quality":
        """A degree at so many semitones from the major scale, added or altered."""
        others = tuple(degree for degree in self.degrees if degree.value != value)
        if value not in self.tones:
            relative = alter + 1 if value == _SEVENTH else alter
            return Quality(self.kind, (*others, Degree(value, relative, DegreeChange.ADD)))
        relative = alter - self.tones[value]
        changed = (Degree(value, relative, DegreeChange.ALTER),) if relative else ()
        return Quality(self.kind, others + changed)

    def without(self, value: int) -> "Quality":
        others = tuple(degree for degree in self.degrees if degree.value != value)
        dropped = (Degree(value, 0, DegreeChange.SUBTRACT),) if value in self.tones else ()
        return Quality(self.kind, others + dropped)


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

_QUALITIES: tuple[tuple[re.Pattern[str], Quality], ...] = tuple(
    (re.compile(pattern), Quality(kind, degrees))
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


def read_quality(suffix: str) -> tuple[Quality, str]:
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


def _first_quality(suffix: str, place: int) -> tuple[re.Match[str], Quality]:
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


def _read_change(quality: Quality, suffix: str, place: int) -> tuple[Quality, int] | None:
    """One departure from the quality, and where it ends."""
    found = _CHANGES.match(suffix, place)
    return (_apply(quality, found), found.end()) if found else None


def _apply(quality: Quality, found: re.Match[str]) -> Quality:
    return next(change(quality, found) for group, change in _READERS if found[group])


_SIGN_ALTERS = {"": 0, "b": -1, "-": -1, "bb": -2, "bbb": -3, "#": 1, "+": 1, "##": 2, "###": 3}


def _add(quality: Quality, found: re.Match[str]) -> Quality:
    return quality.with_degree(int(found["added"]), _added_alter(int(found["added"]), found["sign"]))


def _added_alter(value: int, sign: str | None) -> int:
    """A seventh is minor unless a sharp raises it: 7 and b7 are the same, #7 is major."""
    alter = _SIGN_ALTERS[sign or ""]
    return alter if value != _SEVENTH else min(alter, -1) if alter <= 0 else alter - 1


def _drop(quality: Quality, found: re.Match[str]) -> Quality:
    return quality.without(int(found["dropped"]))


def _alter(quality: Quality, found: re.Match[str]) -> Quality:
    """b10 is another name of #9."""
    value, sign = int(found["changed"]), found["before"]
    return quality.with_degree(9, 1) if value == 10 else quality.with_degree(value, _added_alter(value, sign))  # noqa: PLR2004


def _extend(quality: Quality, found: re.Match[str]) -> Quality:
    """A bare number after the quality: C7/9, C7(13), C7/5+; 4 and 2 after it suspend."""
    value = int(found["tension"])
    if value in (2, 4) and quality.has(3):
        return _suspended(quality, str(value))
    return quality.with_degree(value, _added_alter(value, found["after"]))


def _suspended(quality: Quality, which: str) -> Quality:
    """The third gives way to the second or the fourth; everything above stays."""
    both = len(which) > 1
    kind = "suspended-second" if which == "2" else "suspended-fourth"
    suspended = Quality(kind)
    for value, alter in _full_degrees(quality).items():
        if value not in (1, 2, 3, 4, 11) and suspended.tones.get(value) != alter:
            suspended = suspended.with_degree(value, alter)
    return suspended.with_degree(2, 0) if both else suspended


_READERS: tuple[tuple[str, Callable[[Quality, re.Match[str]], Quality]], ...] = (
    ("seventh", lambda quality, _: quality.with_degree(_SEVENTH, 0)),
    ("added", _add),
    ("dropped", _drop),
    ("sus", lambda quality, found: _suspended(quality, found["suspended"] or "4")),
    ("altered", lambda quality, _: quality.with_degree(5, 1).with_degree(9, 1)),
    ("changed", _alter),
    ("tension", _extend),
    ("raised", lambda quality, _: quality.with_degree(_FIFTH, 1)),
)


def _full_degrees(quality: Quality) -> dict[int, int]:
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


def _simplified(quality: Quality) -> Quality:
    """The kind that has a departure built in, where there is one: m7 with b5 is half-diminished."""
    for kind, degree in _simpler_kinds(quality):
        others = tuple(other for other in quality.degrees if other != degree)
        return _simplified(Quality(kind, others))
    return quality


def _simpler_kinds(quality: Quality) -> Iterator[tuple[str, Degree]]:
    for degree in quality.degrees:
        kind = _SIMPLER.get((quality.kind, degree))
        if kind:
            yield kind, degree
