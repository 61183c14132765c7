"""Letters of an ABC file: its encoding, and the text strings of section 8.2."""

import html
import re
import unicodedata

_CHARSET = re.compile(rb"abc-charset\s+([\w-]{1,20})")
_CHARSETS = re.compile(r"iso-8859-\d{1,2}|us-ascii|utf-8", re.IGNORECASE)
_ACCENTS = {
    "`": "\u0300",
    "'": "\u0301",
    "^": "\u0302",
    "~": "\u0303",
    '"': "\u0308",
    "c": "\u0327",
    "u": "\u0306",
    "v": "\u030c",
    "H": "\u030b",
    "o": "\u030a",
}
_LIGATURES = {
    "AA": "Å",
    "aa": "å",
    "/O": "Ø",
    "/o": "ø",
    "ss": "ß",
    "AE": "Æ",
    "ae": "æ",
    "oe": "œ",
    "OE": "Œ",
}
_CONTROLS = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u202d\u202e]")
"""What moves a terminal, turns the direction of letters over, or cannot stand in XML (XML 1.0, 2.2)."""
_ESCAPES = re.compile(
    r"\\(?:u(?P<short>[0-9A-Fa-f]{4})|U(?P<long>[0-9A-Fa-f]{8})"
    r"|(?P<ligature>AA|aa|/O|/o|ss|AE|ae|oe|OE)"
    r"|(?P<accent>[`'^~\"cuvHo])(?P<letter>[A-Za-z])"
    r"|(?P<plain>[\\%&]))"
    r"|(?P<entity>&(?:[A-Za-z]{2,31}|#\d{1,7}|#x[0-9A-Fa-f]{1,6});)"
    r"|(?P<font>\$[0-4])",
)


def decode_abc(data: bytes) -> tuple[str, bool]:
    """The text without control characters, and whether its letters had to be guessed: neither
    UTF-8 nor declared (section 3.1.17).
    """
    text, is_guessed = _decode(data)
    return _CONTROLS.sub("", text), is_guessed


def _decode(data: bytes) -> tuple[str, bool]:
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return data.decode("utf-16", errors="replace"), False
    declared = _CHARSET.search(data[:2000])
    charset = declared[1].decode("ascii") if declared else ""
    if _CHARSETS.fullmatch(charset) and charset.lower() != "utf-8":
        return data.decode(charset, errors="replace"), False
    try:
        return data.decode("utf-8-sig"), False
    except UnicodeDecodeError:
        return data.decode("latin-1"), True


def read_text(text: str) -> str:
    """A text string with its mnemonics, entities and unicode escapes as letters."""
    return " ".join(_ESCAPES.sub(_letter, text).split())


def _letter(found: re.Match[str]) -> str:
    if found["short"] or found["long"]:
        return _character(int(found["short"] or found["long"], 16))
    if found["ligature"]:
        return _LIGATURES[found["ligature"]]
    if found["accent"]:
        return unicodedata.normalize("NFC", found["letter"] + _ACCENTS[found["accent"]])
    if found["entity"]:
        return html.unescape(found["entity"])
    return found["plain"] or ""


def _character(code: int) -> str:
    is_letter = code <= 0x10FFFF and not 0xD800 <= code <= 0xDFFF  # noqa: PLR2004 - Unicode
    return _CONTROLS.sub("", chr(code)) if is_letter else "\ufffd"
