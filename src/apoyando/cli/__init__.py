"""The command line: parse, call, show. No music in here.

The app is one; each module of commands adds its own to it.
"""

from apoyando.cli import page_commands, practice_commands
from apoyando.cli.commands import app, main

__all__ = ["app", "main", "page_commands", "practice_commands"]
