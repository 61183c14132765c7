"""The index of the shelf: what the files say, kept in SQLite for searching and sorting.

The files are the truth. Each line carries a mark of the files that it was read from (names,
sizes, times of change); what does not agree is read again, and an index that is missing,
foreign or damaged is made anew.
"""

import sqlite3
from collections.abc import Callable, Generator, Mapping
from contextlib import closing, contextmanager
from dataclasses import asdict, fields
from pathlib import Path

from apoyando.repertoire.entries import STATES, SongEntry, State
from apoyando.repertoire.folders import NOTES, PLAN, STATE, find_folders, read_small_text, song_file
from apoyando.repertoire.sorting import SORTINGS

INDEX = "index.sqlite"
_EDITION = 1
"""Raised when the columns change: an index of another edition is made anew."""
_COLUMNS = (*(field.name for field in fields(SongEntry)), "level_rank", "state_rank", "searched", "mark")
_TABLE = f"CREATE TABLE songs ({', '.join(_COLUMNS)}, PRIMARY KEY (id))"
_PUT = f"INSERT OR REPLACE INTO songs ({', '.join(_COLUMNS)}) VALUES ({', '.join('?' * len(_COLUMNS))})"  # noqa: S608 - names of fields
_GET = f"SELECT {', '.join(field.name for field in fields(SongEntry))} FROM songs"  # noqa: S608 - names of fields

Describe = Callable[[Path], SongEntry]


class Index:
    """The index of one shelf. ``describe`` reads a song's folder, ``ranks`` puts the levels in order."""

    def __init__(self, shelf: Path, describe: Describe, ranks: Mapping[str, int]) -> None:
        self._shelf = shelf
        self._describe = describe
        self._ranks = ranks

    def list_entries(self, search: str, sort: str, *, descending: bool) -> tuple[SongEntry, ...]:
        """The songs that have all the words somewhere, sorted; of equals by title."""
        words = search.casefold().split()
        where = " AND ".join(["instr(searched, ?) > 0"] * len(words)) or "1"
        order = f"{SORTINGS.get(sort, 'title')} {'DESC' if descending else 'ASC'}"
        query = f"{_GET} WHERE {where} ORDER BY {order}, title COLLATE NOCASE, id"
        with self._refreshed() as base:
            return tuple(_read_row(row) for row in base.execute(query, words))

    def find_entry(self, song_id: str) -> SongEntry | None:
        with self._refreshed() as base:
            row = base.execute(f"{_GET} WHERE id = ?", (song_id,)).fetchone()
        return _read_row(row) if row else None

    @contextmanager
    def _refreshed(self) -> Generator[sqlite3.Connection]:
        """The index as the files are now; made anew where it cannot be used."""
        try:
            base = self._open()
            self._refresh(base)
        except sqlite3.DatabaseError:
            (self._shelf / INDEX).unlink(missing_ok=True)
            base = self._open()
            self._refresh(base)
        with closing(base):
            yield base

    def _open(self) -> sqlite3.Connection:
        base = sqlite3.connect(self._shelf / INDEX)
        try:
            if base.execute("PRAGMA user_version").fetchone() != (_EDITION,):
                with base:
                    base.execute("DROP TABLE IF EXISTS songs")
                    base.execute(_TABLE)
                    base.execute(f"PRAGMA user_version = {_EDITION}")
        except sqlite3.DatabaseError:
            base.close()
            raise
        return base

    def _refresh(self, base: sqlite3.Connection) -> None:
        known = dict(base.execute("SELECT folder, mark FROM songs"))
        found = {folder.name: folder for folder in find_folders(self._shelf)}
        gone = known.keys() - found.keys()
        changed = [folder for name, folder in found.items() if _mark_of(folder) != known.get(name)]
        if not gone and not changed:
            return
        rows = [self._make_row(folder) for folder in changed]
        with base:
            base.executemany("DELETE FROM songs WHERE folder = ?", [(name,) for name in gone])
            base.executemany(_PUT, rows)

    def _make_row(self, folder: Path) -> tuple[object, ...]:
        mark, entry = _mark_of(folder), self._describe(folder)
        searched = f"{entry.title} {entry.composer} {entry.key} {entry.level} {entry.state}"
        return (
            *asdict(entry).values(),
            self._ranks.get(entry.level, len(self._ranks)),
            STATES.index(entry.state),
            f"{searched} {read_small_text(folder / NOTES)}".casefold(),
            mark,
        )


def _read_row(row: tuple[object, ...]) -> SongEntry:
    values = dict(zip((field.name for field in fields(SongEntry)), row, strict=True))
    return SongEntry(**{**values, "state": State(str(values["state"]))})  # type: ignore[arg-type] # as they were put


def _mark_of(folder: Path) -> str:
    """Names, sizes and times of change of the files that a line is read from."""
    files = (song_file(folder), folder / PLAN, folder / NOTES, folder / STATE)
    seen = [(file.name, file.stat()) for file in files if file.exists()]
    return " ".join(f"{name}:{stat.st_size}:{stat.st_mtime_ns}" for name, stat in seen)
