"""Which format a file is in, by its content first and its suffix second."""

import re
from enum import Enum
from pathlib import PurePath

from apoyando.model.errors import Problem, UnreadableSongError
from apoyando.reading.midi import is_midi_in_riff

_FOREIGN = (
    (b"%PDF", "a PDF, which is a picture of the page"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"GIF8", "a picture"),
    (b"RIFF", "a recording"),
    (b"ID3", "a recording"),
    (b"OggS", "a recording"),
    (b"fLaC", "a recording"),
    (b"{\\rtf", "a text document"),
    (b"\xd0\xcf\x11\xe0", "a text document"),
)
_UTF16_MARKS = (b"\xff\xfe", b"\xfe\xff")


class Format(Enum):
    """Formats that are known, each with what a player calls it."""

    MUSICXML = "MusicXML"
    ABC = "ABC"
    MIDI = "a MIDI file"


def find_format(data: bytes, file_name: str, what_is_read: str) -> Format:
    """The format of a file. Raises UnreadableSongError with ``what_is_read`` as the remedy."""
    if is_midi_in_riff(data):
        return Format.MIDI
    start = data[:64].removeprefix(b"\xef\xbb\xbf").lstrip()
    foreign = next((what for mark, what in _FOREIGN if start.startswith(mark)), "")
    if not start or foreign:
        what = f"The file is {foreign or 'empty'}."
    elif start.startswith(b"MThd"):
        return Format.MIDI
    elif start.startswith((b"PK", b"<")) or _is_utf16_markup(data):
        return Format.MUSICXML
    elif PurePath(file_name).suffix.lower() == ".abc" or re.search(rb"(?m)(?:^|\r)[XKT]:", data[:100_000]):
        return Format.ABC
    else:
        what = "The file is neither MusicXML nor ABC nor MIDI."
    raise UnreadableSongError(file_name, (Problem("", what, what_is_read),))


def _is_utf16_markup(data: bytes) -> bool:
    return (data.startswith(_UTF16_MARKS) and b"<" in data[2:4]) or data[:4] in (b"<\x00?\x00", b"\x00<\x00?")
