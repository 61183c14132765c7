"""The door for songs: which format a file is in, by its content first and its suffix second."""

import re
from dataclasses import replace
from enum import Enum
from pathlib import PurePath

from apoyando.model.errors import Problem, UnreadableSongError
from apoyando.model.song import ReadingRemark, Song
from apoyando.reading import abc, musicxml
from apoyando.reading.assembly import assemble_song

_FOREIGN = (
    (b"%PDF", "a PDF, which is a picture of the page"),
    (b"MThd", "a MIDI file, which has no chord symbols"),
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
_WHAT_IS_READ = "Bring the song as MusicXML (.musicxml, .mxl) or as ABC (.abc)."
_UTF16_MARKS = (b"\xff\xfe", b"\xfe\xff")


class _Format(Enum):
    MUSICXML = "MusicXML"
    ABC = "ABC"


def read_song(data: bytes, file_name: str) -> Song:
    """The song in a MusicXML, MXL or ABC file; of several tunes the first, with a remark.

    Raises UnreadableSongError if the file is damaged, foreign or dangerous, and
    MissingHarmonyError if it has a melody but no chord symbols.
    """
    if _find_format(data, file_name) is _Format.MUSICXML:
        draft = musicxml.draft_musicxml(data, file_name)
        return assemble_song(draft, file_name, musicxml.HOW_TO_WRITE_CHORDS)
    draft = next(abc.draft_tunes(data, file_name))
    others = abc.count_tunes(data) - 1
    if others:
        text = f"The file holds {others} more tune{'s' if others > 1 else ''}; the first one is read."
        draft = replace(draft, remarks=(ReadingRemark("", text), *draft.remarks))
    return assemble_song(draft, file_name, abc.HOW_TO_WRITE_CHORDS)


def read_songs(data: bytes, file_name: str) -> tuple[Song, ...]:
    """All the songs in a file, in order: the tunes of an ABC tunebook, or the one score.

    Raises UnreadableSongError or MissingHarmonyError at the first that cannot be read.
    """
    if _find_format(data, file_name) is _Format.MUSICXML:
        return (read_song(data, file_name),)
    drafts = abc.draft_tunes(data, file_name)
    return tuple(assemble_song(draft, file_name, abc.HOW_TO_WRITE_CHORDS) for draft in drafts)


def _find_format(data: bytes, file_name: str) -> _Format:
    start = data[:64].removeprefix(b"\xef\xbb\xbf").lstrip()
    if not start:
        raise _refuse(file_name, "The file is empty.")
    for mark, what in _FOREIGN:
        if start.startswith(mark):
            raise _refuse(file_name, f"The file is {what}.")
    if start.startswith((b"PK", b"<")) or _is_utf16_markup(data):
        return _Format.MUSICXML
    if PurePath(file_name).suffix.lower() == ".abc" or re.search(rb"(?m)(?:^|\r)[XKT]:", data[:100_000]):
        return _Format.ABC
    raise _refuse(file_name, "The file is neither MusicXML nor ABC.")


def _is_utf16_markup(data: bytes) -> bool:
    return (data.startswith(_UTF16_MARKS) and b"<" in data[2:4]) or data[:4] in (b"<\x00?\x00", b"\x00<\x00?")


def _refuse(file_name: str, what: str) -> UnreadableSongError:
    return UnreadableSongError(file_name, (Problem("", what, _WHAT_IS_READ),))
