"""See the holds: the pages with what stays down drawn under each system."""

from functools import partial
from typing import cast

from starlette.requests import Request
from starlette.responses import Response

from apoyando.desk.events import Answer, Hear, say, stream
from apoyando.desk.shown import show_leaves
from apoyando.desk.state import desk_of
from apoyando.desk.tasks import EngraveHolds


async def draw_held(request: Request) -> Response:
    """The pages with their hold charts, as events."""
    desk = desk_of(request)
    song = await desk.open_song(request)

    async def work(tell: Hear) -> Answer:
        drawn = await desk.draw(song, partial(say, tell))
        task = EngraveHolds(piece=drawn.piece)
        pages = await desk.workshop.ask(f"held {song.entry.id}", task, partial(say, tell))
        return {"html": show_leaves(cast("tuple[str, ...]", pages), f"{song.entry.title}, with its holds")}

    return stream(work)
