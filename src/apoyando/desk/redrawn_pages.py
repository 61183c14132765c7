"""Another drawing of the pages in place of them: in large notes, or with what stays down under each system."""

from functools import partial
from typing import cast

from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from apoyando.desk.events import Answer, Hear, say, stream
from apoyando.desk.shown import show, show_leaves
from apoyando.desk.state import Desk, desk_of, open_drawn, or_told
from apoyando.desk.tasks import Redraw, Tell


async def redraw(request: Request) -> Response:
    """The pages as events; ``large`` and ``holds`` say how they are wanted."""
    desk = desk_of(request)
    song = await desk.open_song(request)
    is_large, has_holds = _is_wished(request, "large"), _is_wished(request, "holds")

    async def work(tell: Hear) -> Answer:
        drawn = await desk.draw(song, partial(say, tell))
        task = Redraw(piece=drawn.piece, is_large=is_large, has_holds=has_holds)
        pages = await _ask(desk, f"redraw {song.entry.id}", task, partial(say, tell))
        title = song.entry.title + ", in large notes" * is_large + ", with its holds" * has_holds
        return {"html": show_leaves(pages, title)}

    return stream(work)


async def show_stand(request: Request) -> Response:
    """The pages as large as they go, for playing from; ``large`` as above."""
    song, drawn = await open_drawn(request)
    pages = drawn.pages
    if _is_wished(request, "large"):
        task = Redraw(piece=drawn.piece, is_large=True, has_holds=False)
        pages = await or_told(_ask(desk_of(request), f"stand {song.entry.id}", task))
    return HTMLResponse(show("stand.html", song=song, leaves=show_leaves(pages, song.entry.title)))


async def _ask(desk: Desk, lane: str, task: Redraw, tell: Tell = lambda _: None) -> tuple[str, ...]:
    return cast("tuple[str, ...]", await desk.workshop.ask(lane, task, tell))


def _is_wished(request: Request, wish: str) -> bool:
    return bool(request.query_params.get(wish))
