"""A desk that runs in a process of its own."""

import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

EXAMPLES = Path(__file__).parents[2] / "examples"
DESK = {"width": 1400, "height": 950}
TABLET = {"width": 820, "height": 1180}
PHONE = {"width": 390, "height": 844}


@dataclass(frozen=True, slots=True)
class RunningDesk:
    """``address`` opens it; ``shelf`` is its folder."""

    address: str
    shelf: Path

    @property
    def home(self) -> str:
        parts = urlsplit(self.address)
        return f"{parts.scheme}://{parts.netloc}"

    @property
    def port(self) -> int:
        port = urlsplit(self.address).port
        assert port
        return port

    @property
    def token(self) -> str:
        return urlsplit(self.address).query.removeprefix("token=")


@contextmanager
def run_desk(shelf: Path) -> Iterator[RunningDesk]:
    """A desk of its own process on a shelf, stopped at the end."""
    command = [sys.executable, "-m", "apoyando", "desk", str(shelf), "--no-browser"]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    assert process.stdout
    with process.stdout:
        yield RunningDesk(process.stdout.readline().strip(), shelf)
        process.terminate()
        process.wait(timeout=30)
