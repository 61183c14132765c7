"""What the player sees: one line a song, tables, progress; JSON for machines.

Results go to stdout, problems and progress to stderr. Colour and movement only where there
is a terminal.
"""

import json
import sys
from collections.abc import Callable, Generator, Iterable, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path

import typer

from apoyando.cli.outcome import Outcome, Value
from apoyando.cli.telling import tame, tame_json, tell

Entry = dict[str, object]
Row = Sequence[str]

_WIDTH_OFF_TERMINAL = 160
"""Columns of a table in a file or a pipe: wide, so that a bar stays on its line."""


def show_problems(outcome: Outcome[Value]) -> None:
    for line in outcome.lines:
        tell(line, is_trouble=True)


def show_json(outcomes: Iterable[Outcome[Value]], describe: Callable[[Value], Entry], exit_code: int) -> None:
    """All songs as one JSON document."""
    songs = [_entry(outcome, describe) for outcome in outcomes]
    document = json.dumps({"songs": songs, "exit_code": exit_code}, ensure_ascii=False, indent=2)
    typer.echo(tame_json(document))


def show_table(title: str, columns: Sequence[str], rows: Iterable[Row], numbers: Sequence[str] = ()) -> None:
    """A table under its title; columns named in ``numbers`` are set to the right."""
    from rich.console import Console
    from rich.table import Table

    table = Table(box=None, pad_edge=False)
    for column in columns:
        table.add_column(column, justify="right" if column in numbers else "left", overflow="fold")
    for row in rows:
        table.add_row(*map(tame, row))
    console = Console(
        markup=False, highlight=False, width=None if sys.stdout.isatty() else _WIDTH_OFF_TERMINAL
    )
    tell(title)
    console.print(table)


def name_files(files: Iterable[Path]) -> str:
    """Files of one song as one word to copy and the suffixes of the others."""
    first, *others = files
    stem = first.name.removesuffix("".join(first.suffixes[-1:]))
    return f"{first} ({' '.join(other.name.removeprefix(stem) for other in others)})"


@contextmanager
def no_progress(_songs: Sequence[Path], _doing: str) -> Generator[Callable[[Path], None]]:
    """For work that shows its own, or is done at once."""
    yield lambda _: None


@contextmanager
def progress(songs: Sequence[Path], doing: str) -> Generator[Callable[[Path], None]]:
    """Gives a function to be told of each song that is begun: a bar that grows, or a plain line each
    where there is no terminal.
    """
    if not sys.stderr.isatty():
        yield lambda song: tell(" ".join(f"{doing} {song.name}".split()), is_trouble=True)
        return
    from rich.console import Console
    from rich.progress import (
        BarColumn,
        MofNCompleteColumn,
        Progress,
        SpinnerColumn,
        TextColumn,
        TimeElapsedColumn,
    )

    columns = (
        SpinnerColumn(),
        TextColumn("{task.description}", markup=False),
        BarColumn(),
        MofNCompleteColumn(),
        TimeElapsedColumn(),
    )
    with Progress(
        *columns, console=Console(stderr=True), transient=True, redirect_stdout=sys.stdout.isatty()
    ) as bar:
        task = bar.add_task(doing, total=len(songs), completed=-1)
        yield lambda song: bar.update(task, description=tame(f"{doing} {song.name}"), advance=1)


def _entry(outcome: Outcome[Value], describe: Callable[[Value], Entry]) -> Mapping[str, object]:
    return {
        "song": str(outcome.song),
        "status": outcome.code.status,
        "problems": [
            {"place": problem.place, "what": problem.what, "remedy": problem.remedy}
            for problem in outcome.problems
        ],
        **(describe(outcome.value) if outcome.value is not None else {}),
    }
