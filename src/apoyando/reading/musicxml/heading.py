"""Title, composer, words and rights of a MusicXML score.

Source: W3C MusicXML 4.0, elements work, movement-title, identification, credit.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import PurePath
from xml.etree.ElementTree import Element

from apoyando.model.arrangement import ARRANGED
from apoyando.reading.musicxml.values import read_decimal, text_of

_PLACEHOLDER = re.compile(r"(?:untitled|title|titel|título|titre)\b.*|music21.*|score", re.IGNORECASE)
_PLACEHOLDER_NAME = re.compile(r"(?:composer|compositeur|komponist|music21|lyricist|arranger)", re.IGNORECASE)

_ARRANGED_BY = re.compile(
    r"(?:arr(?:anged|angement)?\b\.?\s*(?:for\b.*\bby\b|by\b)?\s*:?\s*)?(?P<name>.*)", re.IGNORECASE
)
"""``arr. A. Player``, ``Arranged for guitar by A. Player``, ``A. Player``."""


@dataclass(frozen=True, slots=True)
class Heading:
    title: str
    composer: str
    lyricist: str
    rights: str
    arranger: str
    is_arranged: bool


def read_heading(root: Element, file_name: str) -> Heading:
    """The heading; a song without a title is called by its file's name."""
    titles = (
        text_of(root, "work/work-title"),
        text_of(root, "movement-title"),
        _credit(root, "title"),
        _largest_credit(root),
    )
    return Heading(
        title=next(filter(_is_title, titles), PurePath(file_name).stem),
        composer=_creator(root, "composer", "music") or _credit(root, "composer"),
        lyricist=_creator(root, "lyricist", "poet", "words") or _credit(root, "lyricist"),
        arranger=_creator(root, "arranger") or _arranger(root),
        is_arranged=_is_arranged(root),
        rights="; ".join(_unique(root, "identification/rights")) or _credit(root, "rights"),
    )


def _is_title(text: str) -> bool:
    return bool(text) and not _PLACEHOLDER.fullmatch(text)


def _unique(root: Element, path: str) -> list[str]:
    return list(dict.fromkeys(filter(None, map(text_of, root.iterfind(path)))))


def _creator(root: Element, *roles: str) -> str:
    """All creators of a role; a creator of no role is the composer."""
    names = [
        text_of(creator) for creator in root.iterfind("identification/creator") if _role(creator) in roles
    ]
    return ", ".join(dict.fromkeys(name for name in names if name and not _PLACEHOLDER_NAME.fullmatch(name)))


def _role(creator: Element) -> str:
    return (creator.get("type") or "composer").strip().lower()


def _credit(root: Element, role: str) -> str:
    texts = (
        _credit_text(credit) for credit in root.iterfind("credit") if text_of(credit, "credit-type") == role
    )
    return next(filter(None, texts), "")


def _arranger(root: Element) -> str:
    """Who is named where it is printed that the piece was arranged."""
    named = _ARRANGED_BY.fullmatch(_credit(root, "arranger"))
    name = named["name"] if named and not _is_arranged(root) else ""
    return "" if _PLACEHOLDER_NAME.fullmatch(name) else name


def _is_arranged(root: Element) -> bool:
    return _credit(root, "arranger").lower() == ARRANGED


def _credit_text(credit: Element) -> str:
    return " ".join(filter(None, map(text_of, credit.iterfind("credit-words"))))


def _largest_credit(root: Element) -> str:
    """The words in the largest letters on the first page."""
    sized = sorted(_sized_credits(root), key=lambda pair: -pair[0])
    return sized[0][1] if sized else ""


def _sized_credits(root: Element) -> Iterator[tuple[float, str]]:
    for credit in root.iterfind("credit"):
        words = credit.find("credit-words")
        size = read_decimal(words.get("font-size")) if words is not None else None
        if size is not None and credit.get("page", "1") == "1":
            yield float(size), text_of(words)
