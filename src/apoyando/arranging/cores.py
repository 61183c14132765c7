"""Work on all cores: one question about many things side by side, or one beside another.

The helpers leave it to this process to be stopped by the player.
"""

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import cache
from multiprocessing import parent_process
from os import cpu_count
from signal import SIG_IGN, SIGINT, signal
from typing import TypeVar

Found = TypeVar("Found")
Item = TypeVar("Item")


def side_by_side(work: Callable[[Item], Found], items: Sequence[Item]) -> Iterator[Found]:
    """What is found for each, in order."""
    helpers = min(_free_cores(), len(items))
    if helpers <= 1:
        yield from map(work, items)
        return
    with _open_pool(helpers) as pool:
        yield from pool.map(work, items)


def beside(work: Callable[[], Found]) -> Callable[[], Found]:
    """Begin some work in a process beside this one; what is returned waits for it and gives what it found.

    Without a second core the work is done when its result is asked for.
    """
    return work if _free_cores() == 1 else _keep_helper().submit(work).result


def _free_cores() -> int:
    """One in a helper: the other cores have work already."""
    return 1 if parent_process() else cpu_count() or 1


@cache
def _keep_helper() -> ProcessPoolExecutor:
    """Kept as long as this process, with the searchers that it has."""
    return _open_pool(1)


def _open_pool(helpers: int) -> ProcessPoolExecutor:
    return ProcessPoolExecutor(helpers, initializer=signal, initargs=(SIGINT, SIG_IGN))
