"""A worker: a process beside the server that does one task after the other.

A process, because a search cannot be called off from outside: a worker that is not wanted any
more is ended, with all processes that it has started, and another one takes the next task.
"""

import os
import signal
from contextlib import suppress
from dataclasses import dataclass
from importlib import import_module
from multiprocessing import get_context
from multiprocessing.connection import Connection
from traceback import format_exception_only

from apoyando.desk.tasks import Levels, Look, Task, Tell
from apoyando.model.errors import ApoyandoError, Problem, SongError


@dataclass(frozen=True, slots=True)
class Stage:
    """What the worker is doing now, in words, or what can be looked at already."""

    heard: str | Look


@dataclass(frozen=True, slots=True)
class Done:
    value: object


@dataclass(frozen=True, slots=True)
class Refused:
    """The task cannot be done as asked; ``is_fault`` where the program is to blame."""

    problems: tuple[Problem, ...]
    is_fault: bool = False


class RefusedError(Exception):
    """Why a task was not done, for the player."""

    def __init__(self, refused: Refused) -> None:
        self.problems = refused.problems
        self.is_fault = refused.is_fault
        super().__init__("; ".join(map(str, refused.problems)))


class StoppedError(Exception):
    """The worker was stopped: what it did is not wanted any more."""


class Worker:
    """A process that waits for tasks."""

    def __init__(self, levels: Levels) -> None:
        context = get_context("spawn")
        self._line, far_end = context.Pipe()
        self._process = context.Process(target=_work, args=(far_end, levels), name="apoyando-worker")
        self._process.start()
        far_end.close()

    @property
    def pid(self) -> int:
        return self._process.pid or 0

    @property
    def is_running(self) -> bool:
        return self._process.is_alive()

    def do(self, task: Task, tell: Tell) -> object:
        """Wait for a task to be done. Raises RefusedError, and StoppedError if the worker is stopped."""
        try:
            self._line.send(task)
            while isinstance(answer := self._line.recv(), Stage):
                tell(answer.heard)
        except (OSError, EOFError) as error:
            raise StoppedError from error
        if isinstance(answer, Refused):
            raise RefusedError(answer)
        return answer.value

    def stop(self) -> None:
        """End the process and whatever it has started."""
        if os.name == "posix":
            with suppress(ProcessLookupError, PermissionError):
                os.killpg(self.pid, signal.SIGKILL)
        self._process.kill()
        self._process.join(timeout=5)
        self._line.close()


def _work(line: "Connection[object, object]", levels: Levels) -> None:
    """What the process does: the server's end of the line closes when there is nothing more to do."""
    if os.name == "posix":
        os.setsid()
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _warm_up()
    with suppress(EOFError, OSError, KeyboardInterrupt):
        while True:
            line.send(_answer(line, levels))


def _answer(line: "Connection[object, object]", levels: Levels) -> Done | Refused:
    task = line.recv()
    try:
        return Done(task.do(levels, lambda heard: line.send(Stage(heard))))  # type: ignore[attr-defined] # only tasks are sent
    except SongError as error:
        return Refused(error.problems)
    except ApoyandoError as error:
        return Refused((Problem("", str(error), ""),))
    except OSError:
        raise
    except Exception as error:  # noqa: BLE001 - a bug met in one task must not end the desk
        return Refused((_fault(error),), is_fault=True)


def _fault(error: Exception) -> Problem:
    what = "".join(format_exception_only(error)).strip()
    return Problem(
        "",
        f"This is a fault of the program, not of the song: {what}",
        "Please report this line together with the song.",
    )


def _warm_up() -> None:
    """Load what is heavy before the first task comes."""
    for name in ("typst", "verovio", "apoyando.engraving.page"):
        import_module(name)
