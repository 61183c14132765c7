"""A teacher's own table of levels: written out, changed, and used."""

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from apoyando.cli import app
from apoyando.reading import load_default_levels, load_default_table, read_levels
from cli.test_commands import GATE


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(app, [str(each) for each in arguments], catch_exceptions=False)


@pytest.fixture
def gate(tmp_path: Path) -> Path:
    song = tmp_path / "gate.abc"
    song.write_text(GATE)
    return song


def own_table(folder: Path, **changes: str) -> Path:
    """The program's table with its levels renamed ("early" to ...) or entries changed."""
    text = load_default_table()
    for old, new in changes.items():
        text = text.replace(old, new)
    file = folder / "my-levels.toml"
    file.write_text(text, encoding="utf-8")
    return file


def over_level(song: Path, *options: str | Path) -> set[str]:
    done = run("arrange", song, "--key", "G", "--out", song.parent / "out", "--json", *options)
    (entry,) = json.loads(done.stdout)["songs"]
    return {finding["rule"] for finding in entry["report"]["over_level"]}


def test_the_table_is_shown_as_it_comes_with_the_program() -> None:
    assert read_levels(run("levels").stdout) == load_default_levels()


def test_the_table_is_written_where_it_is_asked_for(tmp_path: Path) -> None:
    done = run("levels", "--out", tmp_path / "new" / "mine.toml")
    assert done.exit_code == 0
    assert read_levels((tmp_path / "new" / "mine.toml").read_text(encoding="utf-8")) == load_default_levels()


def test_a_table_that_is_there_already_is_never_replaced(tmp_path: Path) -> None:
    mine = tmp_path / "mine.toml"
    mine.write_text("mine")
    done = run("levels", "--out", mine)
    assert (done.exit_code, mine.read_text()) == (2, "mine")
    assert done.stderr == f"apoyando: {mine} is there already and stays as it is. Choose another name.\n"


def test_a_song_is_judged_by_the_teachers_own_numbers(gate: Path) -> None:
    mine = own_table(gate.parent, **{'melody_shortest = "1/2"': "melody_shortest = 2"})
    assert "shortest value" not in over_level(gate)
    assert "shortest value" in over_level(gate, "--levels", mine)


def test_a_level_of_ones_own_can_be_asked_for_by_option_and_by_plan(gate: Path) -> None:
    mine = own_table(gate.parent, early="first-year")
    plan = gate.parent / "gate.plan.toml"
    plan.write_text('level = "first-year"\nkey = "G"\n')
    for chosen in (("--level", "first-year"), ("--plan", str(plan))):
        done = run(
            "arrange", gate, "--key", "G", "--out", gate.parent / "out", "--json", "--levels", mine, *chosen
        )
        (entry,) = json.loads(done.stdout)["songs"]
        assert (done.exit_code, entry["report"]["level"]) == (0, "first-year")


def test_a_level_that_the_table_does_not_have_is_told_with_those_that_it_has(gate: Path) -> None:
    mine = own_table(gate.parent, early="first-year")
    done = run("arrange", gate, "--levels", mine, "--level", "early")
    assert done.exit_code == 2
    assert "first-year, intermediate, advanced" in done.stderr


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (None, "the table of levels cannot be read (no such file or directory)"),
        ("[early]\npeak_fret = 5\n", "level early: accompaniment_highest_fret"),
        ("early", "not a settings file"),
    ],
)
def test_a_table_that_cannot_be_used_is_told_before_any_song_is_begun(
    gate: Path, text: str | None, message: str
) -> None:
    mine = gate.parent / "mine.toml"
    if text is not None:
        mine.write_text(text)
    done = run("keys", gate, "--levels", mine)
    assert done.exit_code == 2
    assert done.stderr.startswith(f"apoyando: {mine}")
    assert message in done.stderr


def test_a_mark_that_some_editors_put_before_a_file_does_no_harm(gate: Path) -> None:
    """The byte order mark of Unicode, which TOML 1.0 does not have."""
    mine = own_table(gate.parent)
    mine.write_bytes(b"\xef\xbb\xbf" + mine.read_bytes())
    assert over_level(gate, "--levels", mine) == over_level(gate)
