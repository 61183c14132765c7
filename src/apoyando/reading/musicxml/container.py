"""Compressed MusicXML (MXL): the one score inside, taken out with care.

Source: W3C MusicXML 4.0, "Compressed .mxl files": a zip archive whose
META-INF/container.xml names the score. Nothing is ever unpacked to disk. Limits keep an
archive that unfolds to gigabytes from being unfolded.
"""

import io
import zipfile
import zlib
from pathlib import PurePosixPath

from apoyando.model.errors import Problem, UnreadableSongError
from apoyando.reading.musicxml.document import LARGEST_DOCUMENT_BYTES, parse_xml

MOST_MEMBERS = 1000
LARGEST_RATIO = 500
"""Real MusicXML shrinks to a tenth or a thirtieth; hostile archives to a thousandth."""

_CONTAINER = "META-INF/container.xml"
_MUSIC_SUFFIXES = (".musicxml", ".xml")
_SAVE_AGAIN = "Save the song again as MusicXML (.musicxml)."


def unpack_score(data: bytes, file_name: str) -> bytes:
    """The MusicXML text in an MXL archive. Raises UnreadableSongError."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            _check_size(archive, file_name)
            return _read_member(archive, _find_score(archive, file_name), file_name)
    except (zipfile.BadZipFile, zlib.error, EOFError, ValueError, OSError, KeyError, OverflowError):
        raise _refusal(file_name, "The compressed file is damaged or not complete.", _SAVE_AGAIN) from None
    except (RuntimeError, NotImplementedError):
        raise _refusal(
            file_name, "The compressed file is locked or of a foreign kind.", _SAVE_AGAIN
        ) from None


def _refusal(file_name: str, what: str, remedy: str) -> UnreadableSongError:
    return UnreadableSongError(file_name, (Problem("", what, remedy),))


def _check_size(archive: zipfile.ZipFile, file_name: str) -> None:
    members = archive.infolist()
    if len(members) > MOST_MEMBERS:
        raise _refusal(file_name, f"The archive holds {len(members)} files: that is no song.", _SAVE_AGAIN)
    if any(_unfolds_too_far(member) for member in members):
        what = "The archive would unfold to an absurd size: it may be hostile and was not opened."
        raise _refusal(file_name, what, "Get the song from a source that you trust.")


def _unfolds_too_far(member: zipfile.ZipInfo) -> bool:
    is_large = member.file_size > LARGEST_DOCUMENT_BYTES // 10
    return is_large and member.file_size > LARGEST_RATIO * max(member.compress_size, 1)


def _find_score(archive: zipfile.ZipFile, file_name: str) -> str:
    """The name of the score: as the container says, else the first music file in the archive."""
    names = archive.namelist()
    named = _named_score(archive, file_name) if _CONTAINER in names else ""
    if named in names:
        return named
    loose = [name for name in names if _is_music(name) and not _is_beside_the_song(name)]
    if not loose:
        raise _refusal(file_name, "The archive holds no MusicXML score.", _SAVE_AGAIN)
    return loose[0]


def _is_music(name: str) -> bool:
    return name.lower().endswith(_MUSIC_SUFFIXES)


def _is_beside_the_song(name: str) -> bool:
    """What is about the archive, or kept by a system beside each file that it packs, as ``__MACOSX/._song.xml``."""
    parts = PurePosixPath(name).parts
    return "META-INF" in parts or "__MACOSX" in parts or parts[-1].startswith(".")


def _named_score(archive: zipfile.ZipFile, file_name: str) -> str:
    root = parse_xml(_read_member(archive, _CONTAINER, file_name), file_name)
    paths = [
        element.get("full-path") or "" for element in root.iter() if _local_name(element.tag) == "rootfile"
    ]
    named = next(filter(_is_music, paths), paths[0] if paths else "")
    if PurePosixPath(named).is_absolute() or ".." in PurePosixPath(named).parts:
        what = f"The archive points outside itself ({named}): it may be hostile and was not read."
        raise _refusal(file_name, what, "Get the song from a source that you trust.")
    return named


def _local_name(tag: object) -> str:
    return str(tag).rpartition("}")[2]


def _read_member(archive: zipfile.ZipFile, name: str, file_name: str) -> bytes:
    """At most the allowed number of bytes, whatever the archive says of its own sizes."""
    with archive.open(name) as member:
        text = member.read(LARGEST_DOCUMENT_BYTES + 1)
    if len(text) > LARGEST_DOCUMENT_BYTES:
        raise _refusal(file_name, "The song in the archive is too large.", _SAVE_AGAIN)
    return text
