"""MusicXML 4.0 and earlier, plain and compressed (W3C)."""

from xml.etree.ElementTree import Element

from apoyando.reading.draft import Draft
from apoyando.reading.lines import FullDraft
from apoyando.reading.minor_keys import settle_minor_key
from apoyando.reading.musicxml.container import unpack_score
from apoyando.reading.musicxml.document import read_score
from apoyando.reading.musicxml.full_score import draft_full
from apoyando.reading.musicxml.guitar import draft_guitar
from apoyando.reading.musicxml.score import draft_score

__all__ = ["HOW_TO_WRITE_CHORDS", "draft_full_score", "draft_guitar_score", "draft_musicxml"]

HOW_TO_WRITE_CHORDS = (
    "Write chord symbols above the staff in your notation program, as Am or G7, and export the song again."
)


def draft_musicxml(data: bytes, file_name: str) -> Draft:
    """The draft of a MusicXML text or an MXL archive. Raises UnreadableSongError."""
    root, letters_guessed = _read_root(data, file_name)
    return settle_minor_key(draft_score(root, file_name, letters_guessed=letters_guessed))


def draft_full_score(data: bytes, file_name: str) -> FullDraft:
    """The draft of a score of several parts or staves, all of them. Raises UnreadableSongError."""
    root, letters_guessed = _read_root(data, file_name)
    return draft_full(root, file_name, letters_guessed=letters_guessed)


def draft_guitar_score(data: bytes, file_name: str) -> Draft:
    """The draft of a score for guitar, all voices and their fingering. Raises UnreadableSongError."""
    root, letters_guessed = _read_root(data, file_name)
    return settle_minor_key(draft_guitar(root, file_name, letters_guessed=letters_guessed))


def _read_root(data: bytes, file_name: str) -> tuple[Element, bool]:
    text = unpack_score(data, file_name) if data[:2] == b"PK" else data
    return read_score(text, file_name)
