"""Numbers and texts out of MusicXML elements, never trusting what they hold."""

import re
from fractions import Fraction
from xml.etree.ElementTree import Element

_DECIMAL = re.compile(r"\s*([+-]?\d{1,12}(?:\.\d{0,9})?|[+-]?\.\d{1,9})\s*")
_WHOLE = re.compile(r"\s*([+-]?\d{1,9})(?:\.0*)?\s*")

_NOTE_TYPES = {
    "long": Fraction(16),
    "breve": Fraction(8),
    "whole": Fraction(4),
    "half": Fraction(2),
    "quarter": Fraction(1),
    "eighth": Fraction(1, 2),
    "16th": Fraction(1, 4),
    "32nd": Fraction(1, 8),
    "64th": Fraction(1, 16),
}
"""In quarters (MusicXML 4.0, ``note-type-value``); what is longer or shorter is not in use."""
_MOST_DOTS = 4


def read_decimal(text: str | None) -> Fraction | None:
    """An exact number; None where there is none, or one too long to be meant."""
    found = _DECIMAL.fullmatch(text or "")
    return Fraction(found[1]) if found else None


def read_whole(text: str | None) -> int | None:
    found = _WHOLE.fullmatch(text or "")
    return int(found[1]) if found else None


def read_note_value(element: Element, sign: str, dot: str) -> Fraction | None:
    """The quarters of a written value by the names of its sign and its dots; None where there is no such sign."""
    base = _NOTE_TYPES.get(text_of(element, sign))
    dots = min(len(element.findall(dot)), _MOST_DOTS)
    return None if base is None else base * (2 - Fraction(1, 2**dots))


def text_of(element: Element | None, path: str = ".") -> str:
    """The text of an element, white space made single; "" if it is not there."""
    found = None if element is None else element.find(path)
    return " ".join("".join(found.itertext()).split()) if found is not None else ""


def told(element: Element | None, path: str = ".") -> str:
    """As ``text_of``, cut to what a message can say of a value that cannot be meant."""
    return text_of(element, path)[:_LONGEST_TOLD]


_LONGEST_TOLD = 20


def is_yes(text: str | None) -> bool:
    return (text or "").strip().lower() == "yes"
