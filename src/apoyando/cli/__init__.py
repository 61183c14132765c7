"""The command line: parse, call, show. No music in here."""

from apoyando.cli.commands import app, main

__all__ = ["app", "main"]
