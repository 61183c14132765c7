"""A worker: a process beside the server that does one task after the other.

A process, because a search cannot be called off from outside: a worker that is not wanted any
more is ended, with all processes that it has started, and another one takes the next task.
It is a program of its own and no child of ``multiprocessing``, so that what it starts itself is
started as the command line would. Tasks and answers go through its pipes, pickled: both ends are ours.
"""

import os
import pickle
import signal
import sys
from contextlib import suppress
from dataclasses import dataclass
from importlib import import_module
from subprocess import PIPE, Popen
from typing import IO

from apoyando.cores import begin_helpers
from apoyando.desk.tasks import Levels, Look, Task, Tell
from apoyando.model.errors import ApoyandoError, Problem, SongError, describe_fault

PROGRAM = "from apoyando.desk.worker import work; work()"
SECONDS_TO_END = 5.0
HEAVY = ("typst", "verovio", "apoyando.engraving.page.page")
"""Loaded before the first task comes."""
_REPORT = "Please report this line together with the song."


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


Answer = Stage | Done | Refused


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
        command = [sys.executable, "-P", "-c", PROGRAM]
        self._process = Popen(command, stdin=PIPE, stdout=PIPE, start_new_session=True)  # noqa: S603 - ourselves
        with suppress(OSError):
            _send(self._process.stdin, dict(levels))

    @property
    def pid(self) -> int:
        return self._process.pid

    @property
    def is_running(self) -> bool:
        return self._process.poll() is None

    def do(self, task: Task, tell: Tell) -> object:
        """Wait for a task to be done. Raises RefusedError, and StoppedError if the worker is stopped."""
        try:
            _send(self._process.stdin, task)
            while isinstance(answer := self._receive(), Stage):
                tell(answer.heard)
        except (OSError, EOFError, ValueError, pickle.UnpicklingError) as error:
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
        self._process.wait(timeout=SECONDS_TO_END)
        for pipe in (self._process.stdin, self._process.stdout):
            with suppress(OSError):
                pipe.close()  # type: ignore[union-attr] # both were asked for

    def _receive(self) -> Answer:
        answer: Answer = pickle.load(self._process.stdout)  # type: ignore[arg-type] # noqa: S301 - our own process
        return answer


def work() -> None:
    """What the process does: the server's end of the pipe closes when there is nothing more to do.

    Whatever is printed goes to stderr, so that the answers stay whole.
    """
    tasks, answers = sys.stdin.buffer, sys.stdout.buffer
    sys.stdout = sys.stderr
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with suppress(EOFError, OSError):
        levels: Levels = pickle.load(tasks)  # noqa: S301 - from the server that started us
        begin_helpers()
        for name in HEAVY:
            import_module(name)
        while True:
            _send(answers, _answer(pickle.load(tasks), levels, answers))  # noqa: S301 - see above


def _answer(task: Task, levels: Levels, answers: IO[bytes]) -> Answer:
    try:
        return Done(task.do(levels, lambda heard: _send(answers, Stage(heard))))
    except SongError as error:
        return Refused(error.problems)
    except ApoyandoError as error:
        return Refused((Problem("", str(error), ""),))
    except BrokenPipeError:
        raise
    except Exception as error:  # noqa: BLE001 - a bug met in one task must not end the desk
        return Refused((describe_fault(error, _REPORT),), is_fault=True)


def _send(pipe: IO[bytes] | None, value: object) -> None:
    pickle.dump(value, pipe)  # type: ignore[arg-type] # a pipe was asked for
    pipe.flush()  # type: ignore[union-attr]
