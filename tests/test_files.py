"""The edge to the disk: what is found, what is refused, and that nothing is ever half written."""

import errno
import os
import signal
import stat
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from time import time

import pytest

from apoyando import files
from apoyando.files import (
    find_songs,
    read_plan_text,
    read_song_bytes,
    sweep,
    write_as_made,
    write_folder,
    write_together,
)
from apoyando.model.errors import UnreadableSongError, UsageError


def test_a_folder_gives_the_song_files_right_inside_it_by_name(tmp_path: Path) -> None:
    for name in ("b.abc", "a.mxl", "c.MusicXML", "d.xml", "notes.txt", "e.pdf"):
        (tmp_path / name).write_bytes(b"")
    (tmp_path / "deeper").mkdir()
    (tmp_path / "deeper" / "f.abc").write_bytes(b"")

    assert [song.name for song in find_songs([tmp_path])] == ["a.mxl", "b.abc", "c.MusicXML", "d.xml"]


def test_a_midi_file_beside_its_song_in_notation_is_only_how_it_sounds(tmp_path: Path) -> None:
    for name in ("tune.abc", "tune.mid", "other.midi", "carol.mid", "carol.midi"):
        (tmp_path / name).write_bytes(b"")

    assert [song.name for song in find_songs([tmp_path])] == [
        "carol.mid",
        "carol.midi",
        "other.midi",
        "tune.abc",
    ]
    assert find_songs([tmp_path / "tune.mid"]) == (tmp_path / "tune.mid",)


def test_songs_keep_the_order_in_which_they_were_given_and_come_once(tmp_path: Path) -> None:
    one, two = tmp_path / "one.abc", tmp_path / "two.abc"
    for song in (one, two):
        song.write_bytes(b"")

    assert find_songs([two, tmp_path, one]) == (two, one)


@pytest.mark.skipif(os.name != "posix", reason="links as POSIX has them")
def test_a_link_that_leads_to_itself_is_kept_for_the_reader_to_complain_of(tmp_path: Path) -> None:
    loop = tmp_path / "loop.abc"
    loop.symlink_to(loop)

    assert find_songs([loop]) == (loop,)
    with pytest.raises(UnreadableSongError, match=r"loop\.abc: "):
        read_song_bytes(loop)


def test_a_file_that_is_not_there_is_kept_for_the_reader_to_complain_of(tmp_path: Path) -> None:
    assert find_songs([tmp_path / "gone.abc"]) == (tmp_path / "gone.abc",)


def test_a_folder_without_songs_is_wrong_use(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match=r"no songs in this folder. Songs end in .abc"):
        find_songs([tmp_path])


@pytest.mark.parametrize(
    ("name", "message"), [("gone.abc", "there is no such file"), ("folder.abc", "this is not a file")]
)
def test_what_is_no_file_cannot_be_read(tmp_path: Path, name: str, message: str) -> None:
    (tmp_path / "folder.abc").mkdir()

    with pytest.raises(UnreadableSongError, match=message):
        read_song_bytes(tmp_path / name)


def test_a_device_is_not_read_for_ever() -> None:
    with pytest.raises(UnreadableSongError, match="this is not a file"):
        read_song_bytes(Path(os.devnull))


def test_a_file_of_the_largest_size_is_read_and_one_byte_more_is_not(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(files, "LARGEST_SONG_BYTES", 10)
    song = tmp_path / "long.abc"

    song.write_bytes(b"x" * 10)
    assert read_song_bytes(song) == b"x" * 10

    song.write_bytes(b"x" * 11)
    with pytest.raises(UnreadableSongError, match="more than any lead sheet"):
        read_song_bytes(song)


def test_a_plan_that_is_not_text_is_wrong_use(tmp_path: Path) -> None:
    plan = tmp_path / "tune.plan.toml"
    plan.write_bytes(b"\xff\xfe")

    with pytest.raises(UsageError, match="the plan cannot be read"):
        read_plan_text(plan)


def test_files_are_written_together_into_a_folder_that_is_made(tmp_path: Path) -> None:
    pdf, midi = tmp_path / "new" / "a.pdf", tmp_path / "new" / "a.mid"

    write_together({pdf: b"page", midi: b"sound"})

    assert (pdf.read_bytes(), midi.read_bytes()) == (b"page", b"sound")
    assert sorted(tmp_path.rglob("*")) == sorted([tmp_path / "new", pdf, midi])


def test_a_new_file_has_the_mode_that_the_umask_says(tmp_path: Path) -> None:
    before = os.umask(0o027)
    try:
        write_together({tmp_path / "a.pdf": b"page"})
    finally:
        os.umask(before)

    assert stat.S_IMODE((tmp_path / "a.pdf").stat().st_mode) == 0o640


def test_a_replaced_file_keeps_its_mode(tmp_path: Path) -> None:
    page = tmp_path / "a.pdf"
    page.write_bytes(b"old")
    page.chmod(0o604)

    write_together({page: b"new"})

    assert (page.read_bytes(), stat.S_IMODE(page.stat().st_mode)) == (b"new", 0o604)


def test_when_the_disk_is_full_the_old_files_stay_and_nothing_is_left_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first, second = tmp_path / "a.pdf", tmp_path / "a.mid"
    write_together({first: b"old page", second: b"old sound"})
    synced: list[int] = []

    def full_at_the_second_file(handle: int) -> None:
        synced.append(handle)
        if len(synced) == 2:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full_at_the_second_file)
    with pytest.raises(UsageError, match="no space left on device"):
        write_together({first: b"new page", second: b"new sound"})

    assert (first.read_bytes(), second.read_bytes()) == (b"old page", b"old sound")
    assert sorted(tmp_path.iterdir()) == [second, first]


def test_a_folder_where_a_result_should_go_is_named_and_the_other_results_are_not_written(
    tmp_path: Path,
) -> None:
    (tmp_path / "a.mid").mkdir()

    with pytest.raises(UsageError, match=r"a\.mid: cannot be written"):
        write_together({tmp_path / "a.pdf": b"page", tmp_path / "a.mid": b"sound"})

    assert sorted(tmp_path.iterdir()) == [tmp_path / "a.mid"]


KILLED_BEFORE_THE_NAME_IS_GIVEN = """
import os, signal, sys
from pathlib import Path
from time import time
from apoyando.files import write_together
Path.replace = lambda *_: os.kill(os.getpid(), signal.SIGKILL)
write_together({Path(sys.argv[1]): b"new" * 1_000_000})
"""


@pytest.mark.skipif(os.name != "posix", reason="SIGKILL is POSIX")
def test_a_run_that_is_killed_leaves_the_old_file_whole(tmp_path: Path) -> None:
    page = tmp_path / "a.pdf"
    page.write_bytes(b"old")

    killed = subprocess.run([sys.executable, "-c", KILLED_BEFORE_THE_NAME_IS_GIVEN, page], check=False)

    assert killed.returncode == -signal.SIGKILL
    assert page.read_bytes() == b"old"


def test_files_are_made_one_at_a_time_and_appear_together(tmp_path: Path) -> None:
    seen: list[int] = []

    def make() -> Iterator[tuple[Path, bytes]]:
        for name in ("one", "two"):
            seen.append(sum(not path.name.startswith(".") for path in tmp_path.iterdir()))
            yield tmp_path / name, name.encode()

    assert write_as_made(make()) == (tmp_path / "one", tmp_path / "two")
    assert seen == [0, 0]
    assert (tmp_path / "two").read_bytes() == b"two"


def test_where_the_making_fails_nothing_is_left_behind(tmp_path: Path) -> None:
    def make() -> Iterator[tuple[Path, bytes]]:
        yield tmp_path / "one", b"one"
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        write_as_made(make())
    assert list(tmp_path.iterdir()) == []


def test_what_a_killed_process_left_half_made_is_swept_away_after_an_hour(tmp_path: Path) -> None:
    (tmp_path / "song").mkdir()
    (tmp_path / ".making-abc").mkdir()
    old = [tmp_path / "song" / ".plan.toml.x1.part", tmp_path / ".making-abc" / "plan.toml"]
    new, kept = tmp_path / ".plan.toml.x2.part", tmp_path / "song" / "plan.toml"
    for path in (*old, new, kept):
        path.write_text("text")
    for path in (*old, kept, tmp_path / ".making-abc"):
        os.utime(path, (time() - 3700, time() - 3700))

    sweep(tmp_path)

    assert not any(path.exists() for path in old)
    assert not (tmp_path / ".making-abc").exists()
    assert new.exists()
    assert kept.exists()


def test_a_folder_is_there_with_all_its_files_or_not_at_all(tmp_path: Path) -> None:
    write_folder(tmp_path / "song", {"plan.toml": b"1", "history/now.txt": b"0"})
    assert (tmp_path / "song" / "history" / "now.txt").read_bytes() == b"0"

    with pytest.raises(UsageError, match="cannot be made"):
        write_folder(tmp_path / "song", {"plan.toml": b"2"})
    assert (tmp_path / "song" / "plan.toml").read_bytes() == b"1"
    assert [path.name for path in tmp_path.iterdir()] == ["song"]


def test_a_file_that_is_no_text_is_said_to_be_none(tmp_path: Path) -> None:
    (tmp_path / "plan.toml").write_bytes(b"\x92\xff")
    with pytest.raises(UsageError, match=r"cannot be read \(it is not text in UTF-8\)"):
        read_plan_text(tmp_path / "plan.toml")


def test_a_name_that_is_too_long_for_the_disk_is_told_to_be_shortened(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="Give the song's file a shorter name"):
        write_together({tmp_path / ("x" * 250 + ".pdf"): b""})
    assert list(tmp_path.iterdir()) == []
