"""The desk's addresses: which handler answers what."""

from collections.abc import AsyncGenerator, Awaitable, Callable
from contextlib import asynccontextmanager
from importlib.resources import files
from pathlib import Path

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from apoyando.desk import (
    hear_pages,
    opening,
    redrawn_pages,
    shelf_pages,
    song_pages,
    take_away,
    text_pages,
    touch_pages,
    understood_pages,
)
from apoyando.desk.guard import OPENING, Guard
from apoyando.desk.shown import show
from apoyando.desk.state import Desk
from apoyando.desk.tasks import Levels
from apoyando.desk.workshop import Workshop
from apoyando.engraving import font_paths
from apoyando.model.errors import UsageError
from apoyando.repertoire import Shelf, UnknownSongError

SONG = "/songs/{song_id}"
STATIC = Path(str(files("apoyando.desk"))) / "static"


def make_app(
    shelf: Shelf, workshop: Workshop, levels: Levels, *, token: str, hosts: frozenset[str]
) -> Starlette:
    """The desk for one shelf. Only who brings ``token`` may use it, at one of ``hosts``."""

    @asynccontextmanager
    async def lifespan(_: Starlette) -> AsyncGenerator[None]:
        await workshop.open()
        yield
        await workshop.close()

    app = Starlette(
        routes=_list_routes(),
        middleware=[Middleware(Guard, token=token, hosts=hosts)],
        exception_handlers={
            UnknownSongError: _tell_unknown,
            UsageError: _tell_usage,
            HTTPException: _tell_http,
        },
        lifespan=lifespan,
    )
    app.state.desk = Desk(shelf, workshop, levels)
    app.state.token = token
    return app


def _list_routes() -> list[Route | Mount]:
    return [
        Route(OPENING, opening.open_desk),
        Route("/", shelf_pages.show_shelf),
        Route("/songs", shelf_pages.list_songs),
        Route("/songs", shelf_pages.bring_in, methods=["POST"]),
        Route("/taken-off", shelf_pages.show_taken_off),
        Route("/taken-off/{song_id}/back", shelf_pages.bring_back, methods=["POST"]),
        Route(f"{SONG}/off", shelf_pages.take_off, methods=["POST"]),
        Route("/write", text_pages.show_blank),
        Route("/write", text_pages.bring_in_text, methods=["POST"]),
        Route("/sketch", text_pages.sketch, methods=["POST"]),
        Route(SONG, song_pages.show_song),
        Route(f"{SONG}/mark", song_pages.tell_mark),
        Route(f"{SONG}/page", song_pages.draw_page),
        Route(f"{SONG}/keys", song_pages.compare_keys),
        Route(f"{SONG}/plan", song_pages.change_plan, methods=["POST"]),
        Route(f"{SONG}/undo", song_pages.undo, methods=["POST"]),
        Route(f"{SONG}/redo", song_pages.redo, methods=["POST"]),
        Route(f"{SONG}/state", song_pages.set_state, methods=["POST"]),
        Route(f"{SONG}/notes", song_pages.write_notes, methods=["POST"]),
        Route(f"{SONG}/read", understood_pages.show_understood),
        Route(f"{SONG}/read", understood_pages.choose_part, methods=["POST"]),
        Route(f"{SONG}/chords", understood_pages.change_chord, methods=["POST"]),
        Route(f"{SONG}/tune", understood_pages.change_note, methods=["POST"]),
        Route(f"{SONG}/signature", understood_pages.change_signature, methods=["POST"]),
        Route(f"{SONG}/text", text_pages.show_text),
        Route(f"{SONG}/text", text_pages.change_text, methods=["POST"]),
        Route(f"{SONG}/take/{{what}}", take_away.take_away),
        Route(f"{SONG}/make/{{what}}", take_away.make_ready),
        Route("/ready/{ticket}", take_away.hand_ready),
        Route(f"{SONG}/stand", redrawn_pages.show_stand),
        Route(f"{SONG}/paper", touch_pages.tell_paper),
        Route(f"{SONG}/note", touch_pages.show_note),
        Route(f"{SONG}/note", touch_pages.settle_way, methods=["POST"]),
        Route(f"{SONG}/note/ways", touch_pages.weigh_note),
        Route(f"{SONG}/bar", touch_pages.show_bar),
        Route(f"{SONG}/bar", touch_pages.settle_in_bar, methods=["POST"]),
        Route(f"{SONG}/bar/positions", touch_pages.weigh_bar),
        Route(f"{SONG}/settled", touch_pages.show_settled),
        Route(f"{SONG}/settled", touch_pages.take_settled_out, methods=["POST"]),
        Route(f"{SONG}/redrawn", redrawn_pages.redraw),
        Route(f"{SONG}/hear", hear_pages.plan_playback),
        Route("/sound/room", hear_pages.give_room),
        Route("/sound/{name}/{length}", hear_pages.give_sample),
        Mount("/static", StaticFiles(directory=STATIC)),
        Mount("/type", StaticFiles(directory=font_paths()[0].parent)),
    ]


Handler = Callable[[Request, Exception], Awaitable[Response]]


async def _tell_unknown(request: Request, error: Exception) -> Response:
    return _tell(request, str(error), 404)


async def _tell_usage(request: Request, error: Exception) -> Response:
    """In a line of its own, where the command line's words come after a colon."""
    what = str(error)
    return _tell(request, what[:1].upper() + what[1:], 422)


_IN_PLAIN_WORDS = {
    400: "What was sent is longer than any tune, or did not come whole. Try again.",
    404: "There is no such page.",
    405: "There is no such page.",
}
"""Instead of what the server's own library says (RFC 9110 status codes)."""


async def _tell_http(request: Request, error: Exception) -> Response:
    code = error.status_code if isinstance(error, HTTPException) else 500
    detail = error.detail if isinstance(error, HTTPException) else ""
    return _tell(request, _IN_PLAIN_WORDS.get(code, detail), code)


def _tell(request: Request, what: str, code: int) -> Response:
    """For a module of the page a plain word, for somebody who came by a link a page."""
    if request.method != "GET":
        return Response(what, code, media_type="text/plain")
    return HTMLResponse(show("trouble.html", what=what), code)
