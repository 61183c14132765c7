"""What the player is told, and what a terminal must not obey."""

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from apoyando.cli import app
from apoyando.cli.telling import tame


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("wiegenlied.abc", "wiegenlied.abc"),
        ("Café – día.abc", "Café – día.abc"),
        ("\x1b[2Jgone.abc", r"\x1b[2Jgone.abc"),
        ("two\nlines.abc", r"two\nlines.abc"),
        ("cba\u202e.abc", r"cba\u202e.abc"),
    ],
)
def test_what_moves_a_terminal_is_shown_as_an_escape(name: str, shown: str) -> None:
    assert tame(name) == shown


def test_a_file_named_to_clear_the_screen_does_not(tmp_path: Path) -> None:
    song = tmp_path / "\x1b[2Jgone.abc"
    song.write_text("X:1\nK:C\n")
    done = CliRunner().invoke(app, ["read", str(song)], prog_name="apoyando", catch_exceptions=False)
    assert "gone.abc" in done.output
    assert "\x1b" not in done.output


def test_json_has_no_such_letters_and_says_the_name_all_the_same(tmp_path: Path) -> None:
    song = tmp_path / "\x1b[2J\x7f\x9b\u202egone.abc"
    done = CliRunner().invoke(app, ["read", str(song), "--json"])

    assert not set("\x1b\x7f\x9b\u202e").intersection(done.stdout)
    assert json.loads(done.stdout)["songs"][0]["song"] == str(song)
