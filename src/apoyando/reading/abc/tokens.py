"""Music code cut into tokens (ABC 2.1 section 4).

One regular expression, its alternatives in the order in which they must be tried; every
alternative is a named group, and the name is the token's kind.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

_LENGTH = r"\d{0,5}/*\d{0,5}"
_ACCIDENTAL = r"(?:\^\^|\^|__|_|=)?"
_NOTE = rf"{_ACCIDENTAL}[A-Ga-g][,']*{_LENGTH}"
_STRING = r'"(?:[^"\\]|\\.)*"'
_DECORATION = r"![^!|\[\]:\s]+!|\+[a-z0-9.<>()]{2,}\+"

_TOKENS = re.compile(
    "|".join(
        f"(?P<{kind}>{pattern})"
        for kind, pattern in (
            ("space", r"[\s`$\\]+"),
            ("inline", r"\[[A-Za-z]:[^\]\[]*\]"),
            ("string", _STRING),
            ("decoration", _DECORATION),
            ("grace", r"\{[^{}]*\}"),
            ("ending", r"\[(?=[\d\"])(?:\d[\d,.\-]*|\"[^\"]*\")"),
            ("bar", r"\.?(?:\[\|\]|\[\|[|:]*|:*\|+(?:\]:*|\[\|+:*|:*)|:{2,}\]?|:\])"),
            ("group", rf"\[(?:[^\]\[|\"!]|{_STRING}|{_DECORATION})*\]{_LENGTH}"),
            ("tuplet", r"\(\d{1,2}(?::\d{0,2}){0,2}"),
            ("overlay_line", r"&&"),
            ("overlay", r"\(&|&\)|&"),
            ("tie", r"\.?-"),
            ("slur", r"\.?[()]"),
            ("note", _NOTE),
            ("rest", rf"[zx]{_LENGTH}"),
            ("bars_rest", r"[ZX]\d{0,3}"),
            ("spacer", rf"y{_LENGTH}"),
            ("broken", r">{1,3}|<{1,3}"),
            ("symbol", r"[H-Wh-w~.]"),
            ("reserved", r"[#*;?@!]"),
            ("digits", r"\d+[,\d]*"),
            ("other", r"."),
        )
    ),
    re.DOTALL,
)
_NOTE_PARTS = re.compile(
    r"(?P<accidental>\^\^|\^|__|_|=)?(?P<letter>[A-Ga-g])(?P<marks>[,']*)(?P<length>\d{0,5}/*\d{0,5})(?P<tie>-?)",
)
_LENGTH_PARTS = re.compile(r"(\d*)(/*)(\d*)")
_DEEPEST_SLASHES = 8


@dataclass(frozen=True, slots=True)
class Token:
    """``line`` and ``column`` count from 1."""

    kind: str
    text: str
    line: int
    column: int


@dataclass(frozen=True, slots=True)
class WrittenNote:
    """A note as written: ``letter`` with its case, ``octaves`` from its marks, length in units.

    ``accidental`` is the sign, "" for none.
    """

    accidental: str
    letter: str
    octaves: int
    length: Fraction
    ties_on: bool


def cut_music(text: str, line: int, column: int) -> Iterator[Token]:
    """The tokens of a line of music, without spaces."""
    for found in _TOKENS.finditer(text):
        kind = found.lastgroup or "other"
        if kind != "space":
            yield Token(kind, found[0], line, column + found.start())


def read_length(text: str) -> Fraction | None:
    """A length in units: "" is 1, "3/2", "/" is 1/2, "//" is 1/4; None for one without meaning."""
    found = _LENGTH_PARTS.fullmatch(text)
    if not found or len(found[2]) > _DEEPEST_SLASHES:
        return None
    top, slashes, bottom = found.groups()
    divisor = int(bottom) if bottom else 2 ** len(slashes)
    length = Fraction(int(top or 1), divisor) if divisor else Fraction(0)
    return length if length > 0 else None


def read_note(text: str) -> WrittenNote | None:
    """A single note; None if its length has no meaning."""
    found = _NOTE_PARTS.fullmatch(text)
    length = read_length(found["length"]) if found else None
    if found is None or length is None:
        return None
    return WrittenNote(
        accidental=found["accidental"] or "",
        letter=found["letter"],
        octaves=found["marks"].count("'") - found["marks"].count(","),
        length=length,
        ties_on=bool(found["tie"]),
    )


@dataclass(frozen=True, slots=True)
class Group:
    """Notes on one stem: ``inside`` their tokens, ``length`` the factor outside the brackets."""

    notes: tuple[WrittenNote, ...]
    decorations: tuple[str, ...]
    strings: tuple[str, ...]
    strangers: str
    length: Fraction


def read_group(text: str) -> Group | None:
    """The notes of a bracketed group (section 4.17); None if it holds none or has no length."""
    inside, _, outside = text[1:].rpartition("]")
    length = read_length(outside)
    tokens = list(cut_music(inside, 1, 1))
    notes = [read_note(found) for found in _group_notes(tokens)]
    if length is None or not notes or None in notes:
        return None
    return Group(
        notes=tuple(note for note in notes if note),
        decorations=tuple(token.text for token in tokens if token.kind in ("decoration", "symbol")),
        strings=tuple(token.text for token in tokens if token.kind == "string"),
        strangers="".join(token.text for token in tokens if token.kind not in _INSIDE_GROUP),
        length=length,
    )


_INSIDE_GROUP = frozenset({"note", "tie", "decoration", "symbol", "string", "slur", "reserved"})


def _group_notes(tokens: list[Token]) -> Iterator[str]:
    """Each note with the tie that follows it."""
    for place, token in enumerate(tokens):
        if token.kind == "note":
            following = tokens[place + 1] if place + 1 < len(tokens) else None
            yield token.text + ("-" if following and following.kind == "tie" else "")
