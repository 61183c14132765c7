"""The edge to the disk: songs found and read, results written whole or not at all.

Conventions: a result appears under its name only when every byte of it is on the disk, so
that a pulled plug leaves the old file or the new one, never half of one.
"""

import errno
import os
import shutil
import tempfile
from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from time import time

from apoyando.model.errors import Problem, UnreadableSongError, UsageError

MIDI_SUFFIXES = (".mid", ".midi", ".rmi")
SONG_SUFFIXES = (".abc", *MIDI_SUFFIXES, ".musicxml", ".mxl", ".xml")
SCORE_SUFFIXES = (*MIDI_SUFFIXES, ".musicxml", ".mxl", ".xml")
LARGEST_SONG_BYTES = 32 * 1024 * 1024
"""No lead sheet comes near it; a film given by mistake is not read into memory."""

_PART_SUFFIX = ".part"
_MAKING = ".making-"
_SECONDS_UNTIL_LEFT = 3600.0
"""Nobody writes at a file for so long: what is older was left by a process that was killed."""
_NEW_FILE_MODE = 0o666


def find_songs(given: Iterable[Path], suffixes: Sequence[str] = SONG_SUFFIXES) -> tuple[Path, ...]:
    """The songs meant: files as they are, folders by the song files right inside them.

    ``suffixes`` are those that songs (or scores) end in, in small letters.

    Each song comes once, in the order given; within a folder by name, and a MIDI file not
    beside the same name in notation. Raises UsageError for a folder without songs.
    """
    found: dict[str, Path] = {}
    for path in given:
        for song in _songs_in(path, suffixes) if path.is_dir() else (path,):
            found.setdefault(real_path(song), song)
    return tuple(found.values())


def real_path(path: Path) -> str:
    """The one name of a file that has several. Links that lead round in a circle are no error here:
    whoever reads the file says so.
    """
    return os.path.realpath(path)


def read_song_bytes(path: Path) -> bytes:
    """What is in a song's file. Raises UnreadableSongError if it cannot be had."""
    try:
        if not path.exists():
            raise _unreadable(path, "there is no such file.", "Is the name right?")
        if not path.is_file():
            raise _unreadable(path, "this is not a file.", "Name a song's file, or a folder of songs.")
        if path.stat().st_size > LARGEST_SONG_BYTES:
            raise _unreadable(path, _too_large(path), "Is this the right file?")
        return path.read_bytes()
    except (OSError, ValueError) as error:
        raise _unreadable(
            path, f"the file cannot be read ({name_reason(error)}).", "Mend that first."
        ) from error


def printable_name(path: Path) -> str:
    """The name as text that any page can carry, whatever bytes the disk has."""
    return os.fsencode(path).decode("utf-8", errors="replace")


def read_plan_text(path: Path) -> str:
    """The text of a plan file. Raises UsageError if it cannot be had."""
    return _read_text(path, "plan")


def read_levels_text(path: Path) -> str:
    """The text of a table of levels. Raises UsageError if it cannot be had."""
    return _read_text(path, "table of levels")


def read_lesson_file(path: Path) -> str:
    """The text of a lesson sheet. Raises UsageError if it cannot be had."""
    return _read_text(path, "text of the lesson")


def _read_text(path: Path, what: str) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")
    except (OSError, ValueError) as error:
        raise UsageError(
            f"{path}: the {what} cannot be read ({name_reason(error)}). Is the name right?"
        ) from error


def write_new(path: Path, content: bytes) -> None:
    """Write one file that was not there. Raises UsageError if it is, or cannot be written."""
    if path.exists():
        raise UsageError(f"{path} is there already and stays as it is. Choose another name.")
    write_together({path: content})


def write_together(contents: Mapping[Path, bytes]) -> None:
    """Write several files, none of them before all are safely on the disk; see ``write_as_made``."""
    write_as_made(contents.items())


def write_as_made(made: Iterable[tuple[Path, bytes]]) -> tuple[Path, ...]:
    """Write files as they are made, one in memory at a time; give the names of all.

    Each is first written beside its place and forced to the disk; only when the last is
    there do they get their names. Folders that are missing are made. Raises UsageError if it
    cannot be done, and then, or if the making fails, leaves nothing half done behind.
    """
    parts: dict[Path, Path] = {}
    try:
        for path, content in made:
            parts[path] = _write_part(path, content)
        written = tuple(parts)
        for path in written:
            parts[path].replace(path)
            del parts[path]
        for folder in {path.parent for path in written}:
            _force_to_disk(folder)
    except OSError as error:
        raise UsageError(
            f"{error.filename or 'the result'}: cannot be written ({name_reason(error)}). {_mend(error)}"
        ) from error
    finally:
        for part in parts.values():
            part.unlink(missing_ok=True)
    return written


def write_folder(folder: Path, contents: Mapping[str, bytes]) -> None:
    """A new folder with all its files, whole or not at all; the names may have folders in them.

    Raises UsageError if it cannot be made.
    """
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=_MAKING, dir=folder.parent) as making:
            made = Path(making) / folder.name
            write_together({made / name: content for name, content in contents.items()})
            made.rename(folder)
        _force_to_disk(folder.parent)
    except OSError as error:
        raise UsageError(
            f"{folder}: cannot be made ({name_reason(error)}). Make room there, or choose another shelf."
        ) from error


def sweep(folder: Path) -> None:
    """Take away what processes that were killed have left half made in a folder and those inside it."""
    for path in (*folder.rglob(f".*{_PART_SUFFIX}"), *folder.glob(f"{_MAKING}*")):
        with suppress(OSError):
            if time() - path.stat().st_mtime > _SECONDS_UNTIL_LEFT:
                shutil.rmtree(path) if path.is_dir() else path.unlink()


def _songs_in(folder: Path, suffixes: Sequence[str]) -> list[Path]:
    try:
        inside = sorted(folder.iterdir())
    except OSError as error:
        raise UsageError(f"{folder}: the folder cannot be looked into ({name_reason(error)}).") from error
    songs = _without_sound_of([path for path in inside if path.suffix.lower() in suffixes and path.is_file()])
    if not songs:
        raise UsageError(f"{folder}: no songs in this folder. Songs end in {', '.join(suffixes)}.")
    return songs


def _without_sound_of(songs: Sequence[Path]) -> list[Path]:
    """Without the MIDI files beside a song of the same name in notation: they are how it sounds."""
    written = {path.stem for path in songs if path.suffix.lower() not in MIDI_SUFFIXES}
    return [path for path in songs if path.suffix.lower() not in MIDI_SUFFIXES or path.stem not in written]


def _write_part(path: Path, content: bytes) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    if path.is_dir():
        raise IsADirectoryError(None, "a folder has this name", str(path))
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", suffix=_PART_SUFFIX, dir=path.parent)
    part = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        part.chmod(_mode_for(path))
    except BaseException:
        part.unlink(missing_ok=True)
        raise
    return part


def _mode_for(path: Path) -> int:
    """The mode of the file that is replaced; for a new file what the player's umask says."""
    with suppress(FileNotFoundError):
        return path.stat().st_mode & 0o777
    umask = os.umask(0)
    os.umask(umask)
    return _NEW_FILE_MODE & ~umask


def _force_to_disk(folder: Path) -> None:
    """Make the new names last too. Where folders cannot be opened (Windows) the system sees to it."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _mend(error: OSError) -> str:
    if error.errno == errno.ENAMETOOLONG:
        return "Give the song's file a shorter name."
    return "Choose another folder with --out, or make room there."


def _too_large(path: Path) -> str:
    return f"{path.stat().st_size // 2**20} MB are more than any lead sheet holds."


def name_reason(error: OSError | ValueError) -> str:
    """Why the disk would not, in the system's words."""
    if isinstance(error, UnicodeDecodeError):
        return "it is not text in UTF-8"
    words = error.strerror if isinstance(error, OSError) else None
    return (words or str(error)).lower()


def _unreadable(path: Path, what: str, remedy: str) -> UnreadableSongError:
    return UnreadableSongError(str(path), (Problem("", what, remedy),))
