"""The command line: parse, call, show. No music in here."""

from apoyando.cli.commands import main
from apoyando.cli.page_commands import app

__all__ = ["app", "main"]
