"""The command line: parse, call, show. No music in here.

The app is one; each module of commands adds its own to it.
"""

from apoyando.cli import commands, page_commands, practice_commands
from apoyando.cli.application import app, main

__all__ = ["app", "commands", "main", "page_commands", "practice_commands"]
