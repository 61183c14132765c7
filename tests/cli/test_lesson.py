"""``apoyando lesson``: a sheet and its text; the text changed and printed; nothing of a teacher's lost."""

import json
from io import BytesIO
from pathlib import Path

import pytest
from pypdf import PdfReader

from cli.test_commands import GATE, NO_CHORDS, run


@pytest.fixture
def gate(tmp_path: Path) -> Path:
    song = tmp_path / "gate.abc"
    song.write_text(GATE)
    return song


def lesson(song: Path, *options: str | Path) -> tuple[int, str, str]:
    done = run("lesson", song, "--key", "G", *options)
    return done.exit_code, done.stdout, done.stderr


def words(pdf: Path) -> str:
    return " ".join(page.extract_text() for page in PdfReader(BytesIO(pdf.read_bytes())).pages)


def test_a_lesson_is_a_page_and_its_text(gate: Path) -> None:
    code, told, _ = lesson(gate)
    folder = gate.parent / "arranged"
    assert (code, told) == (0, f"{folder / 'gate.lesson.pdf'} (.md)\n")
    text = (folder / "gate.lesson.md").read_text(encoding="utf-8")
    assert text.startswith("# The Gate in the Hedge\n\n## What the piece asks for\n\n- Key: G major.")
    assert "Key: G major." in words(folder / "gate.lesson.pdf")


def test_the_changed_text_is_printed_beside_itself_and_left_as_it_is(gate: Path) -> None:
    mine = gate.parent / "my own.lesson.md"
    mine.write_text("# For Ana\n\nCount aloud.\n\n[bars 1 to 2]\n", encoding="utf-8")
    code, told, _ = lesson(gate, "--text", mine)
    assert (code, told) == (0, f"{gate.parent / 'my own.lesson.pdf'}\n")
    assert "Count aloud." in words(gate.parent / "my own.lesson.pdf")
    assert mine.read_text(encoding="utf-8").startswith("# For Ana")


def test_a_text_that_a_teacher_has_changed_is_never_replaced_unasked(gate: Path) -> None:
    lesson(gate)
    text = gate.parent / "arranged" / "gate.lesson.md"
    text.write_text("# Mine\n", encoding="utf-8")
    code, _, problem = lesson(gate)
    assert (code, text.read_text(encoding="utf-8")) == (2, "# Mine\n")
    assert f"{text} is there already and says something else; it stays as it is." in problem
    assert lesson(gate, "--anew")[0] == 0
    assert text.read_text(encoding="utf-8") != "# Mine\n"


def test_the_same_lesson_is_written_again_without_a_word(gate: Path) -> None:
    lesson(gate)
    before = {path.name: path.read_bytes() for path in (gate.parent / "arranged").iterdir()}
    assert lesson(gate)[0] == 0
    assert {path.name: path.read_bytes() for path in (gate.parent / "arranged").iterdir()} == before


def test_a_line_that_cannot_be_meant_is_pointed_at_and_nothing_is_written(gate: Path) -> None:
    mine = gate.parent / "mine.lesson.md"
    mine.write_text("# Title\n\n[bar 99]\n", encoding="utf-8")
    code, _, problem = lesson(gate, "--text", mine)
    assert code == 2
    assert f"{mine}: line 3: there is no bar 99" in problem
    assert not (gate.parent / "mine.lesson.pdf").exists()


def test_one_text_is_for_one_song(gate: Path) -> None:
    other = gate.parent / "other.abc"
    other.write_text(GATE)
    mine = gate.parent / "mine.md"
    mine.write_text("words")
    code, _, problem = lesson(gate, other, "--text", mine)
    assert code == 2
    assert "is the text of one lesson, and 2 songs are named" in problem


def test_a_text_that_is_not_there_is_named(gate: Path) -> None:
    code, _, problem = lesson(gate, "--text", gate.parent / "none.md")
    assert code == 2
    assert "the text of the lesson cannot be read" in problem


def test_a_song_that_cannot_be_arranged_has_no_lesson_and_the_others_have(gate: Path) -> None:
    bare = gate.parent / "bare.abc"
    bare.write_text(NO_CHORDS)
    code, told, problem = lesson(bare, gate)
    assert code == 3
    assert "bare.abc" in problem
    assert "gate.lesson.pdf" in told


def test_machines_are_told_the_files(gate: Path) -> None:
    _, told, _ = lesson(gate, "--json", "--out", gate.parent / "out")
    (entry,) = json.loads(told)["songs"]
    assert [Path(file).name for file in entry["files"]] == ["gate.lesson.pdf", "gate.lesson.md"]


def test_two_songs_of_one_name_are_refused_before_anything_is_written(gate: Path) -> None:
    other = gate.parent / "other" / "gate.abc"
    other.parent.mkdir()
    other.write_text(GATE)
    out = gate.parent / "out"
    code, told, problem = lesson(gate, other, "--out", out)
    assert (code, told) == (2, "")
    assert f"{gate} and {other} would both be written to {out / 'gate.lesson.pdf'}" in problem
    assert not out.exists()
