"""The laws of the house: who may use whom, what a door is, and what is locked."""

import ast
import re
import statistics
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from importlib import import_module
from importlib.metadata import version
from importlib.util import find_spec
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.version import Version

import apoyando

ROOT = Path(__file__).parents[1]
SOURCE = ROOT / "src" / "apoyando"
ROOMS = (
    "arranging",
    "cli",
    "cores",
    "desk",
    "engraving",
    "fingering",
    "model",
    "pipeline",
    "proofing",
    "reading",
    "repertoire",
    "report",
    "sound",
    "teaching",
)
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
LOCKS = {"requirements.lock": "build", "requirements-dev.lock": "dev"}
FUNCTIONS_OF_AN_EDGE = {"open", "print", "input"}
METHODS_OF_AN_EDGE = {"read_bytes", "read_text", "write_bytes", "write_text", "mkdir", "unlink"}
EDGES = ("cli", "desk", "repertoire", "files.py", "__main__.py")
READ_PACKAGE_DATA = ("reading/level_table.py", "engraving/drawing/typeface.py", "engraving/drawing/shapes.py")
"""Tables and fonts that come with the program or its libraries."""


def modules() -> list[Path]:
    return sorted(SOURCE.rglob("*.py"))


def functions() -> Iterator[ast.FunctionDef]:
    for path in modules():
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef):
                yield node


def lines_of_code(function: ast.FunctionDef) -> int:
    """Lines without the docstring and without the head."""
    body = function.body[1:] if ast.get_docstring(function) else function.body
    return (body[-1].end_lineno or 0) - body[0].lineno + 1 if body else 0


def test_no_room_uses_one_beside_it_or_above_it() -> None:
    program = "from importlinter.cli import lint_imports; raise SystemExit(lint_imports(no_cache=True))"
    checked = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=False
    )

    assert checked.returncode == 0, checked.stdout


def test_every_room_is_known_here() -> None:
    assert sorted(path.parent.name for path in SOURCE.glob("*/__init__.py")) == sorted(ROOMS)


@pytest.mark.parametrize("room", [room for room in ROOMS if room != "model"])
def test_the_door_of_a_room_names_what_is_behind_it(room: str) -> None:
    """``model`` is many small modules of data, imported by name."""
    door = import_module(f"apoyando.{room}")

    assert door.__doc__
    assert all(hasattr(door, name) for name in door.__all__)


ROW_OF_A_TABLE = re.compile(r"(?m)^ {4}(\w+(?:, \w+)*) {2,}\S")


def doors() -> list[str]:
    return [
        ".".join(("apoyando", *path.parent.relative_to(SOURCE).parts)) for path in SOURCE.rglob("__init__.py")
    ]


@pytest.mark.parametrize(
    "door", [door for door in doors() if ROW_OF_A_TABLE.search(import_module(door).__doc__ or "")]
)
def test_what_a_door_lists_in_a_table_is_behind_it(door: str) -> None:
    """Names of the room's files, or of what is had there."""
    room = import_module(door)
    listed = [name for row in ROW_OF_A_TABLE.findall(room.__doc__ or "") for name in row.split(", ")]

    assert [name for name in listed if not hasattr(room, name) and not find_spec(f"{door}.{name}")] == []


PAGES = (
    "README.md",
    "CONTRIBUTING.md",
    *(f"docs/{path.name}" for path in sorted((ROOT / "docs").glob("*.md"))),
)


@pytest.mark.parametrize("page", PAGES)
def test_what_a_page_names_of_tests_and_benches_is_there(page: str) -> None:
    text = (ROOT / page).read_text(encoding="utf-8")
    named = set(re.findall(r"\b(?:bench|tests)/[\w/]+\.py\b", text))

    assert [name for name in sorted(named) if not (ROOT / name).exists()] == []


def test_the_tables_of_the_search_s_bench_are_those_that_the_docs_ask_for() -> None:
    bench = (ROOT / "bench" / "search_bench.py").read_text(encoding="utf-8")
    text = (ROOT / "docs" / "measurements.md").read_text(encoding="utf-8")
    asked = re.findall(r"python bench/search_bench\.py (\w+)", text)

    assert asked
    assert [table for table in asked if f'"{table}": ' not in bench] == []
    assert "bench/search_bench.py --quick" in (ROOT / "Makefile").read_text(encoding="utf-8")


def test_only_the_edges_touch_disk_and_screen() -> None:
    inside = [path for path in modules() if path.relative_to(SOURCE).parts[0] not in EDGES]
    touches = [
        f"{path.relative_to(SOURCE)}:{node.lineno}"
        for path in inside
        if path.relative_to(SOURCE).as_posix() not in READ_PACKAGE_DATA
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and _is_of_an_edge(node.func)
    ]

    assert touches == []


def _is_of_an_edge(called: ast.expr) -> bool:
    match called:
        case ast.Name(name):
            return name in FUNCTIONS_OF_AN_EDGE
        case ast.Attribute(attr=name):
            return name in METHODS_OF_AN_EDGE
        case _:
            return False


def test_functions_are_small() -> None:
    """The house style: 4 to 7 lines in the median, under 33 for nearly all."""
    lengths = sorted(lines_of_code(function) for function in functions())

    assert statistics.median(lengths) <= 7
    assert lengths[len(lengths) * 98 // 100] < 33


@pytest.mark.parametrize("lock", LOCKS)
def test_a_lock_names_one_version_and_its_hashes_and_no_host(lock: str) -> None:
    text = (ROOT / lock).read_text(encoding="utf-8")
    entries = re.findall(r"^(\S.*?) \\\n(?:    --hash=sha256:[0-9a-f]{64}(?: \\)?\n)+", text, re.MULTILINE)

    assert len(entries) == len(re.findall(r"^[a-z0-9]", text, re.MULTILINE))
    assert all(re.fullmatch(r"[a-z0-9.-]+==[0-9a-z.]+( ; .+)?", entry) for entry in entries)
    assert "://" not in text


@pytest.mark.parametrize(("lock", "group"), LOCKS.items())
def test_a_lock_holds_what_the_project_asks_for(lock: str, group: str) -> None:
    locked = dict(re.findall(r"^([a-z0-9.-]+)==([0-9a-z.]+)", (ROOT / lock).read_text(), re.MULTILINE))
    asked = [*PROJECT["project"]["dependencies"], *_group(group)]

    for requirement in map(Requirement, asked):
        assert requirement.specifier.contains(Version(locked[requirement.name])), requirement


def _group(name: str) -> Iterator[str]:
    for entry in PROJECT["dependency-groups"][name]:
        if isinstance(entry, str):
            yield entry
        else:
            yield from _group(entry["include-group"])


def test_every_requirement_is_bounded_on_both_sides() -> None:
    asked = [*PROJECT["project"]["dependencies"], *_group("dev")]

    for requirement in map(Requirement, asked):
        assert {operator.operator for operator in requirement.specifier} == {">=", "<"}, requirement


def test_the_version_is_told_in_one_voice() -> None:
    assert apoyando.__version__ == PROJECT["project"]["version"] == version("apoyando")
