"""The files of one song's folder, and how a folder gets its name."""

import re
import unicodedata
from collections.abc import Iterator
from pathlib import Path, PurePath

from apoyando.files import SONG_SUFFIXES, name_reason, write_together
from apoyando.model.errors import UsageError

PLAN, NOTES, STATE = "plan.toml", "notes.txt", "state.txt"
HISTORY = "history"
TAKEN_OFF = "taken off"
"""The folder of the songs that were taken off the shelf; no song's folder has a space in its name."""
_LONGEST_NAME = 60
_MOST_LETTERS_OF_STATE = 100


def find_folders(shelf: Path) -> Iterator[Path]:
    """The songs' folders by name: those with a song file right in them. Hidden ones are none."""
    for folder in sorted(shelf.iterdir()) if shelf.is_dir() else ():
        if folder.is_dir() and folder.name[:1] != "." and folder.name != TAKEN_OFF and _song_files(folder):
            yield folder


def song_file(folder: Path) -> Path:
    """The song's file in its folder; of several the first by name. Raises UsageError without one."""
    files = _song_files(folder)
    if not files:
        raise UsageError(
            f"{folder}: there is no song file in it any more. Put one there, or take the folder away."
        )
    return files[0]


def _song_files(folder: Path) -> list[Path]:
    return sorted(
        path
        for path in folder.iterdir()
        if path.suffix.lower() in SONG_SUFFIXES and path.is_file() and not path.name.startswith(".")
    )


def read_state(folder: Path) -> str:
    return read_small_text(folder / STATE)[:_MOST_LETTERS_OF_STATE]


def read_small_text(path: Path) -> str:
    """A text that the player may have written with any editor; "" if there is none."""
    return path.read_text(encoding="utf-8-sig", errors="replace") if path.is_file() else ""


def write_text(path: Path, text: str) -> None:
    write_together({path: text.encode()})


def name_folder(title: str) -> str:
    """A title as a folder's name that every disk can have: small letters, digits and hyphens."""
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:_LONGEST_NAME].strip("-") or "song"


def free_folder(shelf: Path, name: str) -> Path:
    """A folder of this name, numbered where the name is taken."""
    number = 1
    while (folder := shelf / (name if number == 1 else f"{name}-{number}")).exists():
        number += 1
    return folder


def move_folder(folder: Path, to: Path) -> Path:
    """A song's folder moved at once into another one, under its name or the next that is free."""
    to.mkdir(exist_ok=True)
    goal = free_folder(to, folder.name)
    try:
        folder.rename(goal)
    except OSError as error:
        raise UsageError(f"{folder}: the folder cannot be moved to {to} ({name_reason(error)}).") from error
    return goal


def suffix_of(file_name: str) -> str:
    """The suffix of a song's file as one of those that are known: nothing else of the name becomes a path."""
    suffix = PurePath(file_name).suffix.lower()
    if suffix not in SONG_SUFFIXES:
        raise UsageError(f"{file_name}: a song's file ends in one of {', '.join(SONG_SUFFIXES)}.")
    return suffix
