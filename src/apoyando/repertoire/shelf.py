"""The shelf: songs brought in, found again, worked on and never lost.

Every change is on the disk when the call returns. The files may be edited outside at any
time; each call looks at them anew.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from threading import RLock

from apoyando.files import name_reason, read_song_bytes, sweep, write_folder
from apoyando.model.errors import UsageError
from apoyando.model.level import Level
from apoyando.model.plan import Plan
from apoyando.reading import change_plan, read_plan, read_song, rewrite_plan, write_plan
from apoyando.repertoire.entries import (
    SongEntry,
    State,
    describe_folder,
    identify,
    identify_taken_off,
)
from apoyando.repertoire.folders import (
    NOTES,
    PLAN,
    STATE,
    TAKEN_OFF,
    find_folders,
    free_folder,
    move_folder,
    name_folder,
    read_small_text,
    song_file,
    suffix_of,
    write_text,
)
from apoyando.repertoire.history import (
    Steps,
    add_step,
    amend_step,
    first_step,
    go_to,
    read_plan_file,
    take_up,
)
from apoyando.repertoire.index import Index

TEXT_SUFFIX = ".abc"
"""Songs in this format can be edited as text."""


class UnknownSongError(UsageError):
    """No song on the shelf has this id."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenSong:
    """A song taken from the shelf: its bytes and its decisions as they are on the disk.

    ``plan`` is None where the plan file cannot be read; ``entry.trouble`` then says why.
    """

    entry: SongEntry
    data: bytes
    file_name: str
    plan_text: str
    plan: Plan | None
    notes: str
    steps: Steps

    @property
    def is_text(self) -> bool:
        return self.file_name.lower().endswith(TEXT_SUFFIX)


class Shelf:
    """The songs in a folder, which is made where there is none. Raises UsageError if it cannot be."""

    def __init__(self, folder: Path, levels: Mapping[str, Level]) -> None:
        self.folder = folder
        self.levels = tuple(levels)
        self._lock = RLock()
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise UsageError(
                f"{folder}: the shelf cannot be opened ({name_reason(error)}). Name another folder."
            ) from error
        sweep(folder)
        ranks = {level: rank for rank, level in enumerate(self.levels)}
        self._index = Index(folder, partial(describe_folder, levels=self.levels), ranks)

    def list_songs(
        self, search: str = "", sort: str = "title", *, descending: bool = False
    ) -> tuple[SongEntry, ...]:
        """The songs that have all words of ``search`` in title, composer, key, level, state or notes."""
        with self._lock:
            return self._index.list_entries(search, sort, descending=descending)

    def open_song(self, song_id: str) -> OpenSong:
        """Raises UnknownSongError."""
        with self._lock:
            entry, folder = self._find(song_id)
            steps, file, text = take_up(folder), song_file(folder), read_plan_file(folder)
            return OpenSong(
                entry=entry,
                data=read_song_bytes(file),
                file_name=file.name,
                plan_text=text,
                plan=self._try_plan(text),
                notes=read_small_text(folder / NOTES),
                steps=steps,
            )

    def bring_in(self, data: bytes, file_name: str) -> str:
        """Put a song on the shelf; the id that it gets. Raises SongError for one that cannot be read."""
        suffix = suffix_of(file_name)
        song = read_song(data, file_name)
        plan = write_plan(Plan())
        with self._lock:
            folder = free_folder(self.folder, name_folder(song.title))
            name = f"{folder.name}{suffix}"
            files = {name: data, PLAN: plan.encode(), STATE: f"{State.DRAFT}\n".encode(), NOTES: b""}
            write_folder(folder, {**files, **first_step(plan, name, data)})
        return identify(folder.name)

    def change_plan(self, song_id: str, changes: Mapping[str, object]) -> Steps:
        """Decide some entries anew, None to leave one open; a step of its own unless nothing changes.

        Raises UsageError for an entry that cannot be meant.
        """
        return self._step(song_id, lambda plan: change_plan(plan, changes, "your choice", self.levels))

    def change_with(self, song_id: str, change: Callable[[Plan], Plan]) -> Steps:
        """The plan made into another by a function of it."""
        return self._step(song_id, change)

    def settle_plan(self, song_id: str, before: str, plan: Plan) -> None:
        """Write what the program has chosen into the step in force, if its plan still is ``before``."""
        with self._lock:
            _, folder = self._find(song_id)
            steps, settled = take_up(folder), rewrite_plan(before, plan, self.levels)
            if read_plan_file(folder) == before:  # asked last: an editor outside may be writing just now
                amend_step(folder, steps, settled)

    def change_song(self, song_id: str, text: str) -> Steps:
        """The song's text written anew, as a step. Raises SongError for one that cannot be read."""
        with self._lock:
            _, folder = self._find(song_id)
            file = song_file(folder)
            if file.suffix.lower() != TEXT_SUFFIX:
                raise UsageError("Only a song in ABC can be edited as text.")
            data = text.encode()
            read_song(data, file.name)
            return add_step(folder, take_up(folder), read_plan_file(folder), data)

    def take_off(self, song_id: str) -> str:
        """Move a song's folder, with all that is in it, to those that were taken off; the id that it has there."""
        with self._lock:
            _, folder = self._find(song_id)
            return identify_taken_off(move_folder(folder, self.folder / TAKEN_OFF).name)

    def list_taken_off(self) -> tuple[SongEntry, ...]:
        """The songs that were taken off, by title, each with the id that brings it back."""
        with self._lock:
            entries = [
                replace(describe_folder(folder, self.levels), id=identify_taken_off(folder.name))
                for folder in find_folders(self.folder / TAKEN_OFF)
            ]
        return tuple(sorted(entries, key=lambda entry: entry.title.casefold()))

    def count_taken_off(self) -> int:
        with self._lock:
            return sum(1 for _ in find_folders(self.folder / TAKEN_OFF))

    def bring_back(self, song_id: str) -> str:
        """Move a song that was taken off back onto the shelf; the id that it has there. Raises UnknownSongError."""
        with self._lock:
            for folder in find_folders(self.folder / TAKEN_OFF):
                if identify_taken_off(folder.name) == song_id:
                    return identify(move_folder(folder, self.folder).name)
        raise UnknownSongError("This song is not among those that were taken off (any more).")

    def undo(self, song_id: str) -> Steps:
        return self._go(song_id, -1)

    def redo(self, song_id: str) -> Steps:
        return self._go(song_id, 1)

    def write_notes(self, song_id: str, notes: str) -> None:
        with self._lock:
            write_text(self._find(song_id)[1] / NOTES, notes)

    def set_state(self, song_id: str, state: str) -> None:
        if state not in tuple(State):
            raise UsageError(f"there is no state {state}. The states are: {', '.join(State)}.")
        with self._lock:
            write_text(self._find(song_id)[1] / STATE, f"{state}\n")

    def _step(self, song_id: str, change: Callable[[Plan], Plan]) -> Steps:
        with self._lock:
            _, folder = self._find(song_id)
            steps, text = take_up(folder), read_plan_file(folder)
            plan = read_plan(text, PLAN, self.levels)
            changed = change(plan)
            if changed == plan:
                return steps
            return add_step(folder, steps, rewrite_plan(text, changed, self.levels))

    def _go(self, song_id: str, way: int) -> Steps:
        with self._lock:
            _, folder = self._find(song_id)
            steps = take_up(folder)
            if not 0 <= steps.now + way <= steps.last:
                return steps
            return go_to(folder, steps, steps.now + way)

    def _find(self, song_id: str) -> tuple[SongEntry, Path]:
        """The id is looked up, and never becomes a path."""
        entry = self._index.find_entry(song_id)
        if entry is None:
            raise UnknownSongError("This song is not on the shelf (any more).")
        return entry, self.folder / entry.folder

    def _try_plan(self, text: str) -> Plan | None:
        try:
            return read_plan(text, PLAN, self.levels)
        except UsageError:
            return None
