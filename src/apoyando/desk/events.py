"""Server-sent events (WHATWG HTML, 9.2): the stages of what takes longer, and then the answer."""

import asyncio
import json
from collections.abc import AsyncIterator, Awaitable, Callable, Mapping

from starlette.responses import StreamingResponse

from apoyando.desk.shown import show
from apoyando.desk.tasks import Look
from apoyando.desk.worker import RefusedError, StoppedError
from apoyando.model.errors import Problem, UsageError

Answer = Mapping[str, object]
Hear = Callable[[str | Answer], None]
Work = Callable[[Hear], Awaitable[Answer]]


def stream(work: Work) -> StreamingResponse:
    """Do the work while the page listens: events ``stage`` and ``look``, then ``answer``, ``refused`` or
    ``stopped``.

    When the page stops listening the work is called off.
    """
    return StreamingResponse(_tell_events(work), media_type="text/event-stream")


async def _tell_events(work: Work) -> AsyncIterator[str]:
    told: asyncio.Queue[str | Answer | None] = asyncio.Queue()
    task = asyncio.ensure_future(_answer(work, told.put_nowait))
    task.add_done_callback(lambda _: told.put_nowait(None))
    try:
        while (heard := await told.get()) is not None:
            yield _write_heard(heard)
        yield await task
    finally:
        task.cancel()


async def _answer(work: Work, tell: Hear) -> str:
    try:
        return _write_event("answer", await work(tell))
    except StoppedError:
        return _write_event("stopped", {})
    except RefusedError as error:
        return _write_event("refused", {"html": show_problems(error.problems)})
    except UsageError as error:
        return _write_event("refused", {"html": show_problems((Problem("", str(error), ""),))})


def say(tell: Hear, heard: str | Look) -> None:
    """Pass on the stages, where nothing is drawn meanwhile."""
    if isinstance(heard, str):
        tell(heard)


def show_problems(problems: tuple[Problem, ...]) -> str:
    return show("_problems.html", problems=problems)


def _write_heard(heard: str | Answer) -> str:
    return _write_event("stage", {"text": heard}) if isinstance(heard, str) else _write_event("look", heard)


def _write_event(name: str, data: Answer) -> str:
    return f"event: {name}\ndata: {json.dumps(data)}\n\n"
