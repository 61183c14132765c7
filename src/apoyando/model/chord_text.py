"""A chord symbol as it is printed: Cmaj7, Cm7b5, C7sus4, C/E.

Conventions: ASCII ``b`` and ``#``; one departure from the kind stands bare (C7b9), several
stand in parentheses (C7(b9,#11)). Law: what is written here, the reader of chord symbols
reads back as a chord with the same tones.
"""

from apoyando.model.harmony import KIND_DEGREES, Chord, chord_degrees
from apoyando.model.pitch import ALTER_SIGNS

KIND_TEXT: dict[str, str] = {
    "major": "",
    "minor": "m",
    "augmented": "aug",
    "diminished": "dim",
    "dominant": "7",
    "major-seventh": "maj7",
    "minor-seventh": "m7",
    "diminished-seventh": "dim7",
    "augmented-seventh": "aug7",
    "half-diminished": "m7b5",
    "major-minor": "m(maj7)",
    "major-sixth": "6",
    "minor-sixth": "m6",
    "dominant-ninth": "9",
    "major-ninth": "maj9",
    "minor-ninth": "m9",
    "dominant-11th": "11",
    "major-11th": "maj11",
    "minor-11th": "m11",
    "dominant-13th": "13",
    "major-13th": "maj13",
    "minor-13th": "m13",
    "suspended-second": "sus2",
    "suspended-fourth": "sus4",
    "Neapolitan": "N6",
    "Italian": "It+6",
    "French": "Fr+6",
    "German": "Ger+6",
    "pedal": "ped",
    "power": "5",
    "Tristan": "Tristan",
}
"""What follows the root (common practice, no source; the last seven have no custom in lead sheets)."""

_SUSPENDED = {"suspended-second": "sus2", "suspended-fourth": "sus4"}
_ADDED_TO_SUSPENDED: tuple[tuple[dict[int, int], str], ...] = (
    ({7: -1, 9: 0, 13: 0}, "13"),
    ({7: -1, 9: 0}, "9"),
    ({7: 0, 9: 0}, "maj9"),
    ({7: -1}, "7"),
    ({7: 0}, "maj7"),
)
_SIX_NINE = {"major-sixth": "6/9", "minor-sixth": "m6/9"}


def write_chord_symbol(chord: Chord) -> str:
    """The chord in standard printed form."""
    suffix, written = _write_kind(chord)
    changes = _write_changes(written, chord_degrees(chord))
    if len(changes) > 1 or (changes and _could_mislead(suffix, changes[0])):
        suffix += f"({','.join(changes)})"
    else:
        suffix += "".join(changes)
    bass = f"/{chord.bass}" if chord.bass else ""
    return f"{chord.root}{suffix}{bass}"


def _write_kind(chord: Chord) -> tuple[str, dict[int, int]]:
    """The text of the kind, and the degrees that this text already says."""
    base = dict(KIND_DEGREES[chord.kind])
    degrees = chord_degrees(chord)
    if chord.kind in _SUSPENDED:
        for added, text in _ADDED_TO_SUSPENDED:
            if added.items() <= degrees.items():
                return text + _SUSPENDED[chord.kind], base | added
    if chord.kind in _SIX_NINE and degrees.get(9) == 0:
        return _SIX_NINE[chord.kind], base | {9: 0}
    return KIND_TEXT[chord.kind], base


def _write_changes(written: dict[int, int], wanted: dict[int, int]) -> list[str]:
    """Each departure of the wanted degrees from those already written, lowest first."""
    changes = []
    for value in sorted(written.keys() | wanted.keys()):
        if value not in wanted:
            changes.append(f"no{value}")
        elif written.get(value) != wanted[value]:
            changes.append(_write_degree(value, wanted[value], is_new=value not in written))
    return changes


def _write_degree(value: int, alter: int, *, is_new: bool) -> str:
    if value == 7:  # noqa: PLR2004 - the seventh is minor unless it is called major
        return {1: "add##7", 0: "addmaj7", -1: "add7"}.get(alter, f"add{ALTER_SIGNS[alter]}7")
    sign = ALTER_SIGNS[alter]
    return f"{sign}{value}" if sign and not (is_new and value in _NEEDS_ADD) else f"add{sign}{value}"


_NEEDS_ADD = frozenset({1, 2, 3, 4, 6})
"""Degrees that nobody expects to be altered: a new one is announced."""


def _could_mislead(suffix: str, change: str) -> bool:
    """C and b5 would read as C flat 5; 6 and 9 as 69; m and add as madd is fine."""
    return (not suffix and change[0] in "b#") or (suffix[-1:].isdigit() and change[0].isdigit())
