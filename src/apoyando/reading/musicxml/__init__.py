"""MusicXML 4.0 and earlier, plain and compressed (W3C)."""

from apoyando.reading.draft import Draft
from apoyando.reading.minor_keys import settle_minor_key
from apoyando.reading.musicxml.container import unpack_score
from apoyando.reading.musicxml.document import read_score
from apoyando.reading.musicxml.score import draft_score

__all__ = ["HOW_TO_WRITE_CHORDS", "draft_musicxml"]

HOW_TO_WRITE_CHORDS = (
    "Write chord symbols above the staff in your notation program, as Am or G7, and export the song again."
)


def draft_musicxml(data: bytes, file_name: str) -> Draft:
    """The draft of a MusicXML text or an MXL archive. Raises UnreadableSongError."""
    text = unpack_score(data, file_name) if data[:2] == b"PK" else data
    root, letters_guessed = read_score(text, file_name)
    return settle_minor_key(draft_score(root, file_name, letters_guessed=letters_guessed))
