"""What can go wrong, for guitarists.

    ApoyandoError               a message for the player, never a traceback
    ├── UsageError              wrong use: an option, a plan entry          (exit code 2)
    └── SongError               a song that cannot be read or used          (exit code 3)
        ├── UnreadableSongError      damaged, foreign or dangerous file
        └── MissingHarmonyError      no chord symbols to arrange from

A bug in the program is an ordinary exception and belongs to none of these.
"""

from dataclasses import dataclass
from pathlib import PurePath
from traceback import extract_tb


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong: where, what, and what to do. ``place`` may be "" ("bar 12, beat 3")."""

    place: str
    what: str
    remedy: str

    def __str__(self) -> str:
        where = f"{self.place}: " if self.place else ""
        return f"{where}{self.what} {self.remedy}".strip()


class ApoyandoError(Exception):
    """A message for the player."""


class UsageError(ApoyandoError):
    """An option or a plan entry that cannot be meant."""


class SongError(ApoyandoError):
    """A song that cannot be read or used. ``file`` is the name as the player gave it."""

    def __init__(self, file: str, problems: tuple[Problem, ...]) -> None:
        self.file = file
        self.problems = problems
        super().__init__("\n".join(f"{file}: {problem}" for problem in problems))


class UnreadableSongError(SongError):
    """Damaged, foreign or dangerous."""


class MissingHarmonyError(SongError):
    """Melody, but no chord symbols."""


def describe_fault(error: Exception, remedy: str) -> Problem:
    """A bug as a line that whoever mends it can use: the error, or the witness, and where."""
    frames = extract_tb(error.__traceback__)
    where = f"{PurePath(frames[-1].filename).name}, line {frames[-1].lineno}" if frames else "unknown"
    what = f"this is a fault of the program, not of the song: {type(error).__name__}: {error} ({where})."
    return Problem("", what, remedy)
