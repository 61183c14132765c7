"""``apoyando listen``: a folder to practise with, whole or not at all."""

import json
from pathlib import Path
from typing import Any

import mutagen
import pytest

from apoyando.cli import listening
from apoyando.sound import render_track
from cli.test_commands import GATE, NO_CHORDS, contents, run

FEW = ("--key", "G", "--slow", "50")
TRACKS = ("01-tuning-standard", "02-melody", "03-together", "04-accompaniment", "05-slow-50")


@pytest.fixture
def gate(tmp_path: Path) -> Path:
    song = tmp_path / "gate.abc"
    song.write_text(GATE)
    return song


@pytest.fixture(scope="module")
def listened(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Any]:
    """The folder of the gate's set, and what was said."""
    folder = tmp_path_factory.mktemp("songs")
    (folder / "gate.abc").write_text(GATE)
    done = run("listen", folder / "gate.abc", *FEW, "--picture", "2", "--picture", "4")
    return folder / "practice" / "gate", done


def test_a_song_becomes_a_folder_of_tracks_with_a_midi_file_of_each_and_a_playlist(
    listened: tuple[Path, Any],
) -> None:
    files = contents(listened[0])
    tracks = [name.removesuffix(".flac") for name in files if name.endswith(".flac")]

    assert listened[1].exit_code == 0
    assert tuple(tracks[:5]) == TRACKS
    assert tracks[-1].endswith("tuning-drop-d")
    assert {name.removesuffix(".mid") for name in files if name.endswith(".mid")} == set(tracks)
    assert all(files[f"{track}.flac"].startswith(b"fLaC") for track in tracks)  # RFC 9639
    assert set(files) - {f"{track}{suffix}" for track in tracks for suffix in (".flac", ".mid")} == {
        "gate.m3u",
        "bar-2.png",
        "bar-4.png",
    }


def test_the_playlist_plays_what_is_in_the_folder(listened: tuple[Path, Any]) -> None:
    lines = (listened[0] / "gate.m3u").read_text(encoding="utf-8").splitlines()
    named = [line for line in lines if not line.startswith("#")]
    assert named == sorted(path.name for path in listened[0].glob("*.flac"))


def test_each_track_tells_title_artist_album_and_number(listened: tuple[Path, Any]) -> None:
    tags: Any = mutagen.File(listened[0] / "02-melody.flac").tags
    told = [tags[name][0] for name in ("title", "artist", "album", "tracknumber")]
    assert told == [
        "The Gate in the Hedge: the melody alone",
        "apoyando contributors",
        "The Gate in the Hedge",
        "2",
    ]


def test_one_line_names_the_playlist_and_how_much_it_plays(listened: tuple[Path, Any]) -> None:
    folder, done = listened
    count = len(list(folder.glob("*.flac")))
    assert done.stdout.startswith(f"{folder / 'gate.m3u'}: {count} tracks, ")
    assert done.stdout.endswith(" minutes\n")
    assert done.stderr.startswith("arranging gate.abc\nrendering 01-")


def test_a_picture_is_a_png(listened: tuple[Path, Any]) -> None:
    assert (listened[0] / "bar-2.png").read_bytes().startswith(b"\x89PNG\r\n\x1a\n")


def test_the_same_song_gives_the_same_bytes(gate: Path) -> None:
    for name in ("one", "two"):
        run("listen", gate, *FEW, "--format", "ogg", "--out", gate.parent / name)
    one, two = (contents(gate.parent / name / "gate") for name in ("one", "two"))
    assert one == two
    assert "02-melody.ogg" in one


def test_as_json_the_tracks_are_told(gate: Path) -> None:
    done = run("listen", gate, "--key", "G", "--slow", "", "--format", "mp3", "--json")
    (song,) = json.loads(done.stdout)["songs"]
    assert song["status"] == "done"
    assert song["tracks"][1] == {
        "number": 2,
        "title": "The Gate in the Hedge: the melody alone",
        "percent": 100,
    }
    assert all(Path(name).exists() for name in song["files"])


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (("--format", "aac"), "--format: there is no aac. Choose flac, ogg, mp3, wav."),
        (("--slow", "50,fast"), "--slow: 50,fast are no speeds. Write percents from 20 to 200"),
        (("--slow", "5"), "--slow: 5 are no speeds."),
    ],
)
def test_what_cannot_be_meant_is_told_before_any_song_is_begun(
    gate: Path, options: tuple[str, ...], message: str
) -> None:
    done = run("listen", gate, *options)
    assert done.exit_code == 2
    assert message in done.stderr
    assert not (gate.parent / "practice").exists()


def test_a_picture_of_a_bar_that_is_not_there_names_the_bars_that_are(gate: Path) -> None:
    done = run("listen", gate, *FEW, "--picture", "9")
    assert done.exit_code == 2
    assert "there is no bar 9; the bars are numbered 1 to 4." in done.stderr
    assert not (gate.parent / "practice").exists()


def test_a_song_without_chords_is_told_and_the_others_are_still_made(gate: Path) -> None:
    (gate.parent / "bare.abc").write_text(NO_CHORDS)
    done = run("listen", gate.parent, "--key", "G", "--slow", "", "--format", "ogg")
    assert done.exit_code == 3
    assert "bare.abc" in done.stderr
    assert [path.name for path in (gate.parent / "practice").iterdir()] == ["gate"]


def test_where_one_track_fails_nothing_is_left_behind(gate: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """All or none: what is there of an earlier set stays as it was."""
    folder = gate.parent / "practice" / "gate"
    folder.mkdir(parents=True)
    (folder / "02-melody.flac").write_bytes(b"earlier")

    def fail_late(track: Any, wishes: Any) -> bytes:
        if track.number == 3:
            message = "out of breath"
            raise RuntimeError(message)
        return render_track(track, wishes)

    monkeypatch.setattr(listening, "render_track", fail_late)
    done = run("listen", gate, *FEW)

    assert done.exit_code == 1
    assert "fault of the program" in done.stderr
    assert contents(folder) == {"02-melody.flac": b"earlier"}


def test_two_songs_of_one_name_are_refused(gate: Path) -> None:
    other = gate.parent / "more" / "gate.abc"
    other.parent.mkdir()
    other.write_text(GATE)
    done = run("listen", gate, other, "--out", gate.parent / "sound")
    assert done.exit_code == 2
    assert "would both be written" in done.stderr
