"""What is built and shipped works on its own, away from this folder."""

import os
import subprocess
import sys
import sysconfig
import venv
from pathlib import Path
from urllib.request import Request, urlopen

import pytest

ROOT = Path(__file__).parents[1]
SONG = """X:1
T:Away from Home
M:4/4
L:1/4
K:C
"C"E G c2 | "G7"B A G2 |]
"""


@pytest.fixture(scope="module")
def python(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A Python that has the built wheel, and the libraries of this one but not its ``apoyando``.

    A folder named in a .pth file is searched for modules, while the .pth files inside it,
    by which this folder is installed for development, are not obeyed (Python docs, site).
    """
    folder = tmp_path_factory.mktemp("wheel")
    pip = [sys.executable, "-m", "pip", "--disable-pip-version-check", "--quiet"]
    build = [*pip, "wheel", "--no-deps", "--no-build-isolation", "--wheel-dir", str(folder), str(ROOT)]
    subprocess.run(build, check=True)
    venv.create(folder / "home", symlinks=os.name == "posix")
    python = next((folder / "home").glob("[bS]*/python*"))
    (wheel,) = folder.glob("*.whl")
    subprocess.run([*pip, "--python", str(python), "install", "--no-deps", str(wheel)], check=True)
    site = next((folder / "home").rglob("site-packages"))
    (site / "libraries.pth").write_text(sysconfig.get_path("purelib"))
    return python


def test_the_built_package_is_the_one_that_runs(python: Path, tmp_path: Path) -> None:
    command = [str(python), "-P", "-c", "import apoyando; print(apoyando.__file__)"]
    told = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=True)

    assert told.stdout.startswith(str(python.parents[1]))


def test_the_built_package_has_its_command_its_tables_and_its_fonts(python: Path, tmp_path: Path) -> None:
    (tmp_path / "away.abc").write_text(SONG)
    command = [str(python.with_name("apoyando")), "arrange", "away.abc", "--key", "C"]
    done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)

    assert (done.returncode, done.stderr) == (0, "arranging away.abc\n")
    assert (tmp_path / "arranged" / "away.pdf").read_bytes().startswith(b"%PDF-")


def test_the_built_package_has_the_pages_the_scripts_and_the_fonts_of_the_desk(
    python: Path, tmp_path: Path
) -> None:
    command = [str(python.with_name("apoyando")), "desk", "shelf", "--no-browser"]
    with subprocess.Popen(command, cwd=tmp_path, stdout=subprocess.PIPE, text=True) as desk:
        assert desk.stdout
        home, token = desk.stdout.readline().strip().split("/open?token=")
        for path in ("/", "/write", "/static/desk.css", "/static/song.js", "/type/STIX-Regular.otf"):
            asked = Request(home + path, headers={"Cookie": f"apoyando_desk={token}"})  # noqa: S310 - our own
            with urlopen(asked) as answer:  # noqa: S310 - our own
                assert answer.status == 200
        desk.terminate()
    assert desk.returncode in (0, -15)
