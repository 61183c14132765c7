"""Write the commands' own help into ``cli.md``; with ``--check`` only say whether it is there.

The help of a command stands between ``<!-- help: NAME -->`` and ``<!-- end -->``.
"""

import re
import sys
from pathlib import Path

from typer.testing import CliRunner

from apoyando.cli import app

PAGE = Path(__file__).parent / "cli.md"
PLACE = re.compile(r"(<!-- help: ?(?P<command>\w*) -->\n).*?(<!-- end -->)", re.DOTALL)
WIDTH = "80"


def read_help(command: str) -> str:
    """What ``apoyando COMMAND --help`` prints."""
    arguments = [command, "--help"] if command else ["--help"]
    return CliRunner().invoke(app, arguments, prog_name="apoyando", env={"COLUMNS": WIDTH}).output


def fill(page: str) -> str:
    """The page with every help text as it is now."""
    return PLACE.sub(
        lambda place: f"{place[1]}```text\n{read_help(place['command']).strip()}\n```\n{place[3]}", page
    )


def main() -> int:
    page = PAGE.read_text(encoding="utf-8")
    filled = fill(page)
    if "--check" in sys.argv[1:]:
        return int(filled != page)
    PAGE.write_text(filled, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
