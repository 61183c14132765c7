"""The steps of the work on one song: plain files, so that every step can be gone back to.

A step is the plan as it then was, and the song's text where the step changed it:

    history/000007.plan.toml   history/000007.song.abc   history/now.txt

Laws: the step in force says what ``plan.toml`` and the song's file say. Whoever is killed
between two files leaves the step in force or its neighbour; whoever edits the files outside
makes a new step. Both are settled by ``take_up``, which asks the files.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from apoyando.files import write_together
from apoyando.repertoire.folders import HISTORY, PLAN, read_small_text, song_file

NOW = "now.txt"
_STEP_FILE = re.compile(r"(\d{6,})\.plan\.toml")


@dataclass(frozen=True, slots=True)
class Steps:
    """The step in force and the last one, counted from 0."""

    now: int
    last: int

    @property
    def can_undo(self) -> bool:
        return self.now > 0

    @property
    def can_redo(self) -> bool:
        return self.now < self.last


def take_up(folder: Path) -> Steps:
    """The steps as they are; files that were changed outside become a step of their own."""
    last = _find_last(folder)
    if last < 0:
        return _write_step(folder, 0, read_plan_file(folder), song_file(folder).read_bytes())
    now = _read_now(folder, last)
    for step in (now, now + 1, now - 1):
        if 0 <= step <= last and _agrees(folder, step):
            return _set_now(folder, step, last) if step != now else Steps(now, last)
    return add_step(folder, Steps(now, last), read_plan_file(folder), song_file(folder).read_bytes())


def add_step(folder: Path, steps: Steps, plan: str, song: bytes | None = None) -> Steps:
    """A new step after the one in force, put into force; what had been undone before is dropped."""
    for dropped in range(steps.last, steps.now, -1):
        for path in _files_of(folder, dropped):
            path.unlink(missing_ok=True)
    return _write_step(folder, steps.now + 1, plan, song)


def amend_step(folder: Path, steps: Steps, plan: str) -> Steps:
    """The step in force said more fully: the program's own choice written beside the player's."""
    write_together({_plan_file(folder, steps.now): plan.encode()})
    write_together({folder / PLAN: plan.encode()})
    return steps


def go_to(folder: Path, steps: Steps, step: int) -> Steps:
    """Another step put into force."""
    kept = _song_at(folder, step)
    if kept is not None and kept.read_bytes() != song_file(folder).read_bytes():
        write_together({song_file(folder): kept.read_bytes()})
    write_together({folder / PLAN: _plan_file(folder, step).read_bytes()})
    return _set_now(folder, step, steps.last)


def first_step(plan: str, song_name: str, song: bytes) -> Mapping[str, bytes]:
    """The files of a new song's first step, by their places in its folder."""
    suffix = Path(song_name).suffix
    return {
        f"{HISTORY}/{0:06}.plan.toml": plan.encode(),
        f"{HISTORY}/{0:06}.song{suffix}": song,
        f"{HISTORY}/{NOW}": b"0\n",
    }


def read_plan_file(folder: Path) -> str:
    return read_small_text(folder / PLAN)


def _write_step(folder: Path, step: int, plan: str, song: bytes | None) -> Steps:
    """First the step itself, then the files that are the truth, then which step is in force."""
    if song is not None and not _is_kept(folder, step, song):
        write_together({_song_copy(folder, step): song})
    write_together({_plan_file(folder, step): plan.encode()})
    if song is not None and song != song_file(folder).read_bytes():
        write_together({song_file(folder): song})
    if plan != read_plan_file(folder):
        write_together({folder / PLAN: plan.encode()})
    return _set_now(folder, step, step)


def _agrees(folder: Path, step: int) -> bool:
    """Whether a step says what the song's files say."""
    kept = _song_at(folder, step)
    same_song = kept is None or kept.read_bytes() == song_file(folder).read_bytes()
    return same_song and read_small_text(_plan_file(folder, step)) == read_plan_file(folder)


def _is_kept(folder: Path, step: int, song: bytes) -> bool:
    kept = _song_at(folder, step - 1)
    return kept is not None and kept.read_bytes() == song


def _song_at(folder: Path, step: int) -> Path | None:
    """The copy of the song that was in force at a step: the last one made up to then."""
    copies = sorted((folder / HISTORY).glob("*.song.*"))
    return next((copy for copy in reversed(copies) if int(copy.name.split(".")[0]) <= step), None)


def _set_now(folder: Path, step: int, last: int) -> Steps:
    write_together({folder / HISTORY / NOW: f"{step}\n".encode()})
    return Steps(step, last)


def _read_now(folder: Path, last: int) -> int:
    text = read_small_text(folder / HISTORY / NOW).strip()
    return min(int(text), last) if re.fullmatch(r"\d{1,9}", text, re.ASCII) else last


def _find_last(folder: Path) -> int:
    names = [path.name for path in (folder / HISTORY).iterdir()] if (folder / HISTORY).is_dir() else []
    return max((int(found[1]) for name in names if (found := _STEP_FILE.fullmatch(name))), default=-1)


def _plan_file(folder: Path, step: int) -> Path:
    return folder / HISTORY / f"{step:06}.plan.toml"


def _song_copy(folder: Path, step: int) -> Path:
    return folder / HISTORY / f"{step:06}.song{song_file(folder).suffix}"


def _files_of(folder: Path, step: int) -> list[Path]:
    return [_plan_file(folder, step), *(folder / HISTORY).glob(f"{step:06}.song.*")]
