"""``apoyando engrave`` as a player meets it."""

import json
import re
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image
from pypdf import PdfReader
from typer.testing import CliRunner, Result

from apoyando.cli import app
from apoyando.cli.choices import choose_page
from apoyando.cli.engraved import EngravingFormat, make_wish
from apoyando.model.errors import UsageError
from apoyando.model.plan import Plan
from apoyando.model.sheet import Marking, Paper, Sheet

GATE = """X:1
T:The Gate in the Hedge
C:apoyando contributors
M:3/4
L:1/4
Q:1/4=90
K:G
"G"D G A | "C"B2 c | "D7"A2 F | "G"G3 |]
"""
LETTER_POINTS = (612, 792)
"""8.5 × 11 inches (ANSI/ASME Y14.1)."""


@pytest.fixture
def gate(tmp_path: Path) -> Path:
    song = tmp_path / "gate.abc"
    song.write_text(GATE)
    return song


def engrave(song: Path, *options: str) -> Result:
    arguments = ["engrave", str(song), "--key", "G", *options]
    return CliRunner().invoke(app, arguments, prog_name="apoyando", catch_exceptions=False)


def made(song: Path) -> list[str]:
    return sorted(path.name for path in (song.parent / "engraved").iterdir())


def test_a_pdf_is_written_into_a_folder_of_its_own_and_named(gate: Path) -> None:
    result = engrave(gate, "--paper", "letter")
    assert result.exit_code == 0
    assert result.stdout.strip() == str(gate.parent / "engraved" / "gate.pdf")
    page = PdfReader(gate.parent / "engraved" / "gate.pdf").pages[0]
    assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(LETTER_POINTS, abs=0.1)


@pytest.mark.parametrize(
    ("options", "name"),
    [
        (["--format", "svg"], "gate.page-1.svg"),
        (["--bars", "2-3", "--format", "svg"], "gate.bars-2-3.svg"),
        (["--bars", "3", "--resolution", "50"], "gate.bars-3.png"),
        (["--system", "1", "--resolution", "50"], "gate.system-1.png"),
        (["--variant", "melody"], "gate.melody.pdf"),
        (["--variant", "holds", "--format", "musicxml"], "gate.holds.musicxml"),
        (["--variant", "holds", "--format", "svg"], "gate.holds.page-1.svg"),
        (["--variant", "accompaniment", "--bars", "2", "--format", "svg"], "gate.accompaniment.bars-2.svg"),
    ],
)
def test_each_picture_has_a_name_that_says_what_it_is(gate: Path, options: list[str], name: str) -> None:
    assert engrave(gate, *options).exit_code == 0
    assert made(gate) == [name]


def test_the_holds_show_what_may_ring_beyond_its_written_length(gate: Path) -> None:
    assert engrave(gate, "--variant", "holds", "--format", "svg", "--texture", "arpeggio").exit_code == 0
    page = (gate.parent / "engraved" / "gate.holds.page-1.svg").read_text()
    (legend,) = re.findall(r'id="legend5".*?</g>', page)
    assert 'class="ring"' in page.replace(legend, "")


def test_a_variant_that_is_not_there_is_told_with_those_that_are() -> None:
    with pytest.raises(UsageError, match="score, melody, accompaniment, holds"):
        make_wish(None, None, None, 300, "bass")


def test_twice_as_fine_a_picture_has_twice_as_many_dots_a_side(gate: Path) -> None:
    widths: list[int] = []
    for dots in ("60", "120"):
        engrave(gate, "--bars", "2", "--resolution", dots)
        picture = (gate.parent / "engraved" / "gate.bars-2.png").read_bytes()
        widths.append(Image.open(BytesIO(picture)).width)
    assert widths[1] == pytest.approx(2 * widths[0], abs=2)


@pytest.mark.parametrize(
    ("options", "problem"),
    [
        (["--bars", "3-2"], "bar 2 comes before bar 3"),
        (["--bars", "9"], "there is no bar 9; the bars are numbered 1 to 4"),
        (["--bars", "x"], "there is no bar"),
        (["--system", "2"], "there is no system 2; the piece has systems 1 to 1"),
    ],
)
def test_a_cutting_that_is_not_there_is_told_with_what_there_is(
    gate: Path, options: list[str], problem: str
) -> None:
    result = engrave(gate, *options)
    assert result.exit_code == 2
    assert problem in " ".join(result.output.split())
    assert not (gate.parent / "engraved").exists()


@pytest.mark.parametrize(
    ("wish", "problem"),
    [
        ((2, "3", None, 300), "two different cuttings"),
        ((2, None, "pdf", 300), "no document"),
        ((None, None, "gif", 300), "pdf, svg, png"),
    ],
)
def test_what_cannot_be_wished_for_is_refused_before_any_song_is_read(
    wish: tuple[int | None, str | None, str | None, int], problem: str
) -> None:
    with pytest.raises(UsageError, match=problem):
        make_wish(*wish)


def test_pages_are_a_pdf_and_cuttings_a_picture_unless_something_else_is_asked_for() -> None:
    assert make_wish(None, None, None, 300).format is EngravingFormat.PDF
    assert make_wish(2, None, None, 300).format is EngravingFormat.PNG
    assert make_wish(None, "9-12", "svg", 300).format is EngravingFormat.SVG


def test_an_option_for_the_page_wins_over_the_plan_and_leaves_the_rest_of_it() -> None:
    plan = Plan(page=Sheet(paper=Paper.LETTER, margin_mm=20.0, marking=Marking.FULL))
    decided = choose_page(plan, {"staff": 10.0, "paper": "a4", "margin": None})
    assert decided.page == Sheet(paper=Paper.A4, margin_mm=20.0, staff_mm=10.0, marking=Marking.FULL)


def test_a_staff_of_0_leaves_the_size_to_the_program_again() -> None:
    assert choose_page(Plan(page=Sheet(staff_mm=9.0)), {"staff": 0.0}).page == Sheet()


def test_a_bad_option_for_the_page_is_named_with_what_would_be_right() -> None:
    with pytest.raises(UsageError, match=r"--paper, page: .* one of a4, letter"):
        choose_page(Plan(), {"paper": "a3"})


def test_for_machines_the_files_are_listed(gate: Path) -> None:
    told = json.loads(engrave(gate, "--bars", "2", "--resolution", "40", "--json").stdout)
    assert told["songs"][0]["files"] == [str(gate.parent / "engraved" / "gate.bars-2.png")]


@pytest.mark.parametrize("bars", ["2-", "-2", "-", ""])
def test_half_a_range_of_bars_is_told_how_to_be_written(gate: Path, bars: str) -> None:
    result = engrave(gate, f"--bars={bars}")
    assert result.exit_code == 2
    assert f"--bars {bars}: name the first and the last bar, as 9-12, or one bar, as 9." in result.output
