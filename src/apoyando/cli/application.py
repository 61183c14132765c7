"""The application that every module of commands adds its own to, and how songs are worked through."""

import os
import sys
from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager
from io import TextIOWrapper
from pathlib import Path
from typing import Annotated, TextIO

import typer

from apoyando import __version__
from apoyando.cli import screen
from apoyando.cli.command_line import Commands
from apoyando.cli.outcome import ExitCode, Outcome, Value, attempt, worst

app = typer.Typer(
    name="apoyando",
    cls=Commands,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
)


def main() -> None:
    """The entry point. What a terminal cannot show is escaped, never a crash; what is told to a stream
    that is closed is lost.
    """
    sys.stdout = sys.stdout or _open_nowhere()
    sys.stderr = sys.stderr or _open_nowhere()
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
    app()


def _open_nowhere() -> TextIO:
    return Path(os.devnull).open("w", encoding="utf-8")


@app.callback(invoke_without_command=True)
def apoyando(
    context: typer.Context,
    version: Annotated[bool, typer.Option("--version", help="Print the version.")] = False,
) -> None:
    """From a lead sheet to a piece for one guitar: arranged, fingered, proofed, engraved.

    Exit codes: 0 done; 2 wrong use; 3 a song that cannot be read (the others are still
    done); 1 a fault of the program.
    """
    if version:
        typer.echo(f"apoyando {__version__}")
    elif context.invoked_subcommand is None:
        typer.echo(context.get_help(), err=True)
        raise typer.Exit(ExitCode.USAGE)


def begin_helpers() -> None:
    """For commands that arrange, before anything heavy is loaded: the helpers load beside it."""
    from apoyando import cores

    cores.begin_helpers()


def work_through(
    songs: Sequence[Path],
    work: Callable[[Path], Value],
    doing: str,
    describe: Callable[[Value], screen.Entry] | None,
    say: Callable[[Value], None],
    progress: Callable[
        [Sequence[Path], str], AbstractContextManager[Callable[[Path], None]]
    ] = screen.progress,
) -> None:
    """Each song in turn: its problems told at once, its result too unless JSON is wanted at the end."""
    outcomes: list[Outcome[Value]] = []
    with progress(songs, doing) as begin:
        for song in songs:
            begin(song)
            outcomes.append(attempt(song, work))
            screen.show_problems(outcomes[-1])
            if describe is None and outcomes[-1].value is not None:
                say(outcomes[-1].value)
    code = worst(outcomes)
    if describe is not None:
        screen.show_json(outcomes, describe, code)
    raise typer.Exit(code)
