"""Where results go, and what is never written over."""

from pathlib import Path

import pytest

from apoyando.cli.targets import choose_targets
from apoyando.model.errors import UsageError

SUFFIXES = (".pdf", ".musicxml", ".plan.toml")


def test_without_out_results_go_into_a_folder_of_their_own_beside_the_song() -> None:
    targets = choose_targets([Path("songs/tune.abc")], None, SUFFIXES)

    assert targets == {
        Path("songs/tune.abc"): {
            ".pdf": Path("songs/arranged/tune.pdf"),
            ".musicxml": Path("songs/arranged/tune.musicxml"),
            ".plan.toml": Path("songs/arranged/tune.plan.toml"),
        }
    }


def test_with_out_all_results_go_there() -> None:
    targets = choose_targets([Path("a/one.abc"), Path("b/two.abc")], Path("out"), (".pdf",))

    assert [files[".pdf"] for files in targets.values()] == [Path("out/one.pdf"), Path("out/two.pdf")]


def test_only_the_last_suffix_of_a_song_is_taken_off() -> None:
    targets = choose_targets([Path("no. 2 in g.abc")], Path("out"), (".pdf",))

    assert targets[Path("no. 2 in g.abc")] == {".pdf": Path("out/no. 2 in g.pdf")}


@pytest.mark.parametrize(
    ("one", "other", "out"),
    [
        ("a/tune.abc", "b/tune.abc", Path("out")),
        ("tune.abc", "tune.mxl", None),
        ("Tune.abc", "tune.mxl", None),
        ("a/../tune.abc", "tune.mxl", None),
    ],
)
def test_two_songs_that_would_become_the_same_files_are_refused(
    one: str, other: str, out: Path | None
) -> None:
    with pytest.raises(
        UsageError, match=r"(?i)tune\.abc and .*tune\.\w+ would both be written to .*tune\.pdf"
    ):
        choose_targets([Path(one), Path(other)], out, SUFFIXES)


def test_songs_of_one_name_in_two_folders_do_not_meet_without_out() -> None:
    assert len(choose_targets([Path("a/tune.abc"), Path("b/tune.abc")], None, SUFFIXES)) == 2


@pytest.mark.parametrize("out", [Path("songs"), Path("songs/x/.."), Path("SONGS")])
def test_a_song_is_never_written_over(out: Path) -> None:
    with pytest.raises(UsageError, match=r"songs/tune\.musicxml is a song and would be overwritten"):
        choose_targets([Path("songs/tune.musicxml")], out, SUFFIXES)


def test_a_song_is_not_written_over_by_the_result_of_another() -> None:
    songs = [Path("in/tune.abc"), Path("out/tune.musicxml")]

    with pytest.raises(UsageError):
        choose_targets(songs, Path("out"), SUFFIXES)


def test_a_song_reached_through_a_link_is_not_written_over(tmp_path: Path) -> None:
    song = tmp_path / "tune.musicxml"
    song.write_bytes(b"")
    (tmp_path / "link").symlink_to(tmp_path, target_is_directory=True)

    with pytest.raises(UsageError, match="would be overwritten"):
        choose_targets([song], tmp_path / "link", SUFFIXES)


def test_a_link_that_leads_to_itself_is_a_song_like_any_other_that_is_not_there(tmp_path: Path) -> None:
    loop = tmp_path / "loop.abc"
    loop.symlink_to(loop)

    assert list(choose_targets([loop], None, SUFFIXES)) == [loop]


def test_the_plan_that_the_player_gave_is_left_as_it_is() -> None:
    targets = choose_targets([Path("tune.abc")], Path("out"), SUFFIXES, Path("out/tune.plan.toml"))

    assert set(targets[Path("tune.abc")]) == {".pdf", ".musicxml"}


def test_a_plan_elsewhere_does_not_keep_the_decisions_from_being_written() -> None:
    targets = choose_targets([Path("tune.abc")], Path("out"), SUFFIXES, Path("mine/tune.plan.toml"))

    assert targets[Path("tune.abc")][".plan.toml"] == Path("out/tune.plan.toml")
