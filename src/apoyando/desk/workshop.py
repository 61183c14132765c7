"""The workshop: which worker does what, and that a newer question ends an older one.

Questions come in lanes ("the page of this song"). In each lane only the newest counts: the
worker that is at an older one is stopped, and another, started ahead of time, goes on.
"""

import asyncio

from anyio import CapacityLimiter, to_thread

from apoyando.desk.tasks import Levels, Look, Task, Tell
from apoyando.desk.worker import StoppedError, Worker
from apoyando.model.errors import UsageError

MOST_SECONDS = 600.0
"""No task of a song that a guitarist is asked for takes so long: the longest, a practice set, takes minutes."""
_FELL_OVER = "The program fell over this song, and goes on. Please report it together with the song."
IDLE_WORKERS = 1
MOST_WORKERS = 8


class Workshop:
    """Workers for the questions of one desk. Use from one event loop only."""

    def __init__(self, levels: Levels) -> None:
        self._levels = dict(levels)
        self._idle: list[Worker] = []
        self._busy: dict[str, Worker] = {}
        self._threads = CapacityLimiter(MOST_WORKERS)
        self._preparing: asyncio.Task[None] | None = None

    async def open(self) -> None:
        """Have a worker ready before it is asked."""
        self._prepare_spare()

    async def close(self) -> None:
        """Stop all workers."""
        if self._preparing:
            await self._preparing
        workers = [*self._idle, *self._busy.values()]
        self._idle.clear()
        for worker in workers:
            worker.stop()

    @property
    def busy_workers(self) -> tuple[Worker, ...]:
        """Those that are at a question now."""
        return tuple(self._busy.values())

    async def ask(self, lane: str, task: Task, tell: Tell = lambda _: None) -> object:
        """The answer to a question; ``tell`` hears the stages, in this loop.

        Raises RefusedError, StoppedError where a newer question came in the lane, and
        UsageError where it takes too long.
        """
        self._stop_lane(lane)
        worker = self._busy[lane] = self._take()
        loop = asyncio.get_running_loop()
        is_whole = False

        def tell_here(heard: str | Look) -> None:
            loop.call_soon_threadsafe(tell, heard)

        try:
            async with asyncio.timeout(MOST_SECONDS):
                answer = await to_thread.run_sync(
                    worker.do, task, tell_here, abandon_on_cancel=True, limiter=self._threads
                )
            is_whole = True
        except TimeoutError as error:
            raise UsageError("This takes too long and was stopped. Try fewer bars at a time.") from error
        except StoppedError as error:
            if self._busy.get(lane) is worker:
                raise UsageError(_FELL_OVER) from error
            raise
        except Exception:
            is_whole = True
            raise
        finally:
            self._give_back(lane, worker, is_whole=is_whole)
        return answer

    def _stop_lane(self, lane: str) -> None:
        older = self._busy.pop(lane, None)
        if older:
            older.stop()

    def _take(self) -> Worker:
        worker = self._idle.pop() if self._idle else Worker(self._levels)
        self._prepare_spare()
        return worker

    def _give_back(self, lane: str, worker: Worker, *, is_whole: bool) -> None:
        """A worker that finished is kept; one that was left in the middle is stopped."""
        if self._busy.get(lane) is worker:
            del self._busy[lane]
        if is_whole and len(self._idle) <= IDLE_WORKERS:
            self._idle.append(worker)
        else:
            worker.stop()

    def _prepare_spare(self) -> None:
        if not self._idle and (self._preparing is None or self._preparing.done()):
            self._preparing = asyncio.create_task(self._prepare())

    async def _prepare(self) -> None:
        self._idle.append(await asyncio.to_thread(Worker, self._levels))
