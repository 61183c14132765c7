"""Hear it: the cue sheet of a song, and its plucked notes one by one."""

from functools import partial
from typing import cast

from anyio import CapacityLimiter, to_thread
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from apoyando.desk.events import Answer, Hear, say, stream
from apoyando.desk.hearing import FORMAT, render_named, render_room
from apoyando.desk.state import desk_of, mark_of
from apoyando.desk.tasks import PlanPlayback, Told

_ONE_BY_ONE = CapacityLimiter(1)
"""A note takes a processor some hundredths of a second; the page must stay quick beside it."""
_KEEP = {"Cache-Control": "private, max-age=86400, immutable"}


async def plan_playback(request: Request) -> Response:
    """The cue sheet of the piece as it is now, as events."""
    desk = desk_of(request)
    song = await desk.open_song(request)

    async def work(tell: Hear) -> Answer:
        drawn = await desk.draw(song, partial(say, tell))
        task = PlanPlayback(piece=drawn.piece)
        told = cast("Told", await desk.workshop.ask(f"hear {song.entry.id}", task, partial(say, tell)))
        return {**told, "mark": mark_of(await desk.open_song(request))}

    return stream(work)


async def give_sample(request: Request) -> Response:
    """One plucked note as a file. The same address always gives the same."""
    name, length = request.path_params["name"], request.path_params["length"]
    data = await to_thread.run_sync(render_named, name, length, limiter=_ONE_BY_ONE)
    if data is None:
        raise HTTPException(404)
    return Response(data, media_type=FORMAT.media_type, headers=_KEEP)


async def give_room(_: Request) -> Response:
    """What the room adds, as plain numbers. The same address always gives the same."""
    data = await to_thread.run_sync(render_room, limiter=_ONE_BY_ONE)
    return Response(data, media_type="application/octet-stream", headers=_KEEP)
