"""Work on all cores: one question about many things side by side, or one beside another.

The helpers leave it to this process to be stopped by the player, and end with it whatever ends it.
They are not forked from it but from a server of their own, which has loaded what they need: a helper
that is kept would hold on to every pipe and every lock that this process had when it began, and
whoever waits for the end of such a pipe would wait for ever (Python, ``multiprocessing``, "Contexts
and start methods"). Nor do they load the script that asks, for without ``if __name__ == "__main__"``
it would ask again there; what the script itself defines is done here. So is what a helper does not
live to answer, for it was killed or could not even begin.
"""

import gc
import sys
from collections.abc import Callable, Generator, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from functools import cache, lru_cache, partial
from multiprocessing import get_all_start_methods, get_context, parent_process
from multiprocessing.context import BaseContext
from os import _exit, cpu_count
from pickle import dumps, loads
from signal import SIG_IGN, SIGINT, signal
from threading import Lock, Thread
from types import ModuleType
from typing import Any, TypeVar

Found = TypeVar("Found")
Item = TypeVar("Item")

_LOADED = ["apoyando.arranging"]
"""By the server, before it is asked for a helper."""
_OBJECTS_BETWEEN_COLLECTIONS = 100_000
"""A search makes a great many objects and hardly any that refer to each other in a ring; to look for those as
often as Python does by itself takes a tenth of its time. A helper is a process of ours alone."""


def begin_helpers() -> None:
    """Have helpers sooner: their server loads while this process goes on."""
    if _free_cores() > 1:
        _server()


def side_by_side(work: Callable[[Item], Found], items: Sequence[Item]) -> Iterator[Found]:
    """What is found for each, in order.

    The work, and the song that it is about, is packed once, and unpacked once by each helper.
    """
    if _free_cores() == 1 or len(items) == 1:
        yield from map(work, items)
        return
    packed, answered = dumps(work), 0
    if _is_of_script(packed) or _is_of_script(dumps(items)):
        yield from map(work, items)
        return
    try:
        with _no_script():
            answers = _keep_helpers().map(partial(_do_packed, packed), items)
        for answered, found in enumerate(answers, 1):  # noqa: B007 - how far it came
            yield found
    except BrokenProcessPool:
        yield from map(work, items[answered:])


def _do_packed(packed: bytes, item: object) -> Any:  # noqa: ANN401 - what the work finds
    """In a helper."""
    return _unpack(packed)(item)


@lru_cache(maxsize=1)
def _unpack(packed: bytes) -> Any:  # noqa: ANN401 - any work
    return loads(packed)  # noqa: S301 - this program's own


def beside(work: Callable[[], Found]) -> Callable[[], Found]:
    """Begin some work in a process beside this one; what is returned waits for it and gives what it found.

    Without a second core the work is done when its result is asked for.
    """
    if _free_cores() == 1 or _is_of_script(dumps(work)):
        return work
    try:
        with _no_script():
            asked = _keep_helpers().submit(work)
    except BrokenProcessPool:
        return work

    def answer() -> Found:
        try:
            return asked.result()
        except BrokenProcessPool:
            return work()

    return answer


def _free_cores() -> int:
    """One in a helper: the other cores have work already."""
    return 1 if parent_process() else cpu_count() or 1


@cache
def _keep_helpers() -> ProcessPoolExecutor:
    """As many as there are cores, begun as they are needed; kept as long as this process, with what they know."""
    return ProcessPoolExecutor(_free_cores(), _server(), initializer=_begin)


def _is_of_script(packed: bytes) -> bool:
    """Whether what is packed refers to something that the script defines, which no helper has."""
    return b"__main__" in packed


_SCRIPT_AWAY = Lock()


@contextmanager
def _no_script() -> Generator[None]:
    """A process that is begun loads what its parent has as ``__main__``; here that comes from no file."""
    with _SCRIPT_AWAY:
        script = sys.modules["__main__"]
        sys.modules["__main__"] = ModuleType("__main__")
        try:
            yield
        finally:
            sys.modules["__main__"] = script


def _begin() -> None:
    """In a helper."""
    signal(SIGINT, SIG_IGN)
    gc.set_threshold(_OBJECTS_BETWEEN_COLLECTIONS)
    Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    """A process that is killed tells nobody, and its helper would wait for work for ever."""
    if parent := parent_process():
        parent.join()
        _exit(1)


@cache
def _server() -> BaseContext:
    """Where a system has no such server (Windows) each helper begins from nothing."""
    if "forkserver" not in get_all_start_methods():
        return get_context("spawn")
    context = get_context("forkserver")
    context.set_forkserver_preload(_LOADED)
    _begin_server()
    return context


def _begin_server() -> None:
    """Deaf to Ctrl-C, which goes to all processes of a terminal, even while it loads; so are its helpers."""
    from multiprocessing import forkserver, resource_tracker  # noqa: PLC0415 - only where there is one
    from signal import SIG_BLOCK, SIG_SETMASK, pthread_sigmask  # noqa: PLC0415

    resource_tracker.ensure_running()  # the server wants it, and it would end the deafness
    before = pthread_sigmask(SIG_BLOCK, {SIGINT})
    try:
        forkserver.ensure_running()
    finally:
        pthread_sigmask(SIG_SETMASK, before)
