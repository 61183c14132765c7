"""What became of each song, and the exit code that says so."""

from collections.abc import Callable, Generator, Iterable
from contextlib import contextmanager
from dataclasses import dataclass
from enum import IntEnum
from pathlib import Path
from typing import Generic, TypeVar

import typer

from apoyando.cli.telling import tell
from apoyando.model.errors import Problem, SongError, UsageError, describe_fault

Value = TypeVar("Value")


class ExitCode(IntEnum):
    """How a run ended. With several kinds of trouble the first of FAULT, USAGE, SONG counts."""

    DONE = 0
    FAULT = 1
    USAGE = 2
    SONG = 3

    @property
    def status(self) -> str:
        return _STATUS[self]


_STATUS = {
    ExitCode.DONE: "done",
    ExitCode.FAULT: "fault of the program",
    ExitCode.USAGE: "wrong use",
    ExitCode.SONG: "cannot be read",
}


_REPORT = "Nothing was written for this song; please report this line together with the song."


@dataclass(frozen=True, slots=True)
class Outcome(Generic[Value]):
    """One song's result, or its problems. Law: a value exactly when the code is DONE."""

    song: Path
    code: ExitCode
    value: Value | None = None
    problems: tuple[Problem, ...] = ()

    @property
    def lines(self) -> tuple[str, ...]:
        """The problems for the player, one line each."""
        return tuple(" ".join(f"{self.song}: {problem}".split()) for problem in self.problems)


def attempt(song: Path, work: Callable[[Path], Value]) -> Outcome[Value]:
    """Work on one song; what goes wrong with it is told and does not stop the others."""
    try:
        return Outcome(song, ExitCode.DONE, work(song))
    except SongError as error:
        return Outcome(song, ExitCode.SONG, problems=error.problems)
    except UsageError as error:
        return Outcome(song, ExitCode.USAGE, problems=(Problem("", str(error), ""),))
    except Exception as error:  # noqa: BLE001 - a bug met in one song must not cost the others
        return Outcome(song, ExitCode.FAULT, problems=(describe_fault(error, _REPORT),))


def worst(outcomes: Iterable[Outcome[Value]]) -> ExitCode:
    """The exit code of the whole run."""
    codes = {outcome.code for outcome in outcomes}
    return next(
        (code for code in (ExitCode.FAULT, ExitCode.USAGE, ExitCode.SONG) if code in codes), ExitCode.DONE
    )


@contextmanager
def usage_errors_told() -> Generator[None]:
    """Wrong use found before any song was begun: one line and exit code 2."""
    try:
        yield
    except UsageError as error:
        tell(f"apoyando: {error}", is_trouble=True)
        raise typer.Exit(ExitCode.USAGE) from error
