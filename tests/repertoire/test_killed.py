"""Nothing is lost when the process is killed at any moment.

A process works on a shelf as fast as it can and says on its output what it was told is done;
it is killed at a random moment, and the files are looked at.
"""

import random
import subprocess
import sys
import time
from pathlib import Path

import pytest

from apoyando.model.plan import Plan
from apoyando.reading import load_default_levels, read_plan
from apoyando.repertoire import STATES, Shelf

ROUNDS = 12
SONG = """X:1
T:Never Lost
M:4/4
L:1/4
K:C
"C"E G c2 | "G7"B A G2 |]
"""
WORK = """
import itertools, sys
from pathlib import Path
from apoyando.reading import load_default_levels
from apoyando.repertoire import STATES, Shelf
shelf = Shelf(Path(sys.argv[1]), load_default_levels())
song = Path(sys.argv[2]).read_text()
one = shelf.bring_in(song.encode(), "one.abc")
print("ready", flush=True)
for number in itertools.count(int(sys.argv[3])):
    shelf.change_plan(one, {"minutes": 1 + number / 1000})
    print("plan", 1 + number / 1000, flush=True)
    shelf.write_notes(one, f"note {number} " * 500)
    shelf.set_state(one, STATES[number % 3])
    shelf.undo(one)
    shelf.redo(one)
    shelf.change_song(one, song.replace("T:Never Lost", f"T:Never Lost {number}"))
    shelf.bring_in(song.encode(), "more.abc")
    print("brought", flush=True)
"""


@pytest.mark.parametrize("round_number", range(ROUNDS))
def test_whoever_is_killed_leaves_a_whole_shelf(tmp_path: Path, round_number: int) -> None:
    (tmp_path / "song.abc").write_text(SONG)
    told = work_until_killed(tmp_path, round_number)
    shelf = Shelf(tmp_path / "shelf", load_default_levels())

    songs = shelf.list_songs()
    assert all(song.trouble == "" for song in songs)
    assert len(songs) in (1 + told.count("brought"), 2 + told.count("brought"))
    first = next(song for song in songs if song.folder == "never-lost")
    check_steps(shelf, first.id, [float(line.split()[1]) for line in told if line.startswith("plan")])
    check_notes(shelf.folder / first.folder)


def work_until_killed(folder: Path, round_number: int) -> list[str]:
    """What the process had said was done when it was killed."""
    command = [sys.executable, "-c", WORK, str(folder / "shelf"), str(folder / "song.abc"), "1"]
    output = folder / "told.txt"
    with output.open("w") as stream:
        process = subprocess.Popen(command, stdout=stream)
        while "ready" not in output.read_text():
            assert process.poll() is None
            time.sleep(0.01)
        time.sleep(random.Random(round_number).uniform(0.0, 0.6))  # noqa: S311 - when, not what
        process.kill()
        process.wait()
    return output.read_text().splitlines()[1:]


def check_steps(shelf: Shelf, song_id: str, decided: list[float]) -> None:
    """What was said to be done is among the steps, in order, and every step can be gone back to."""
    minutes = []
    while shelf.redo(song_id).can_redo:
        pass
    while True:
        song = shelf.open_song(song_id)
        assert song.plan is not None
        assert song.data.startswith(b"X:1\nT:Never Lost")
        minutes.append(song.plan.minutes)
        if not shelf.undo(song_id).can_undo:
            break
    kept = list(dict.fromkeys(value for value in reversed(minutes) if value))
    assert kept[: len(decided)] == decided
    assert len(kept) <= len(decided) + 1
    assert shelf.open_song(song_id).plan == Plan()


def check_notes(folder: Path) -> None:
    notes = (folder / "notes.txt").read_text()
    assert notes == "" or notes == f"note {notes.split()[1]} " * 500
    assert (folder / "state.txt").read_text().strip() in STATES
    read_plan((folder / "plan.toml").read_text(), "plan.toml")
