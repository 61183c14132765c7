"""The song as text: typed, drawn while it is typed, and changed."""

import re
from collections.abc import Mapping, Sequence
from typing import cast

from anyio import to_thread
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from apoyando.desk.shelf_pages import put_on_shelf
from apoyando.desk.shown import show, show_leaves
from apoyando.desk.state import Desk, desk_of
from apoyando.desk.tasks import Sketch, Task, Understand, Understood
from apoyando.desk.worker import RefusedError, StoppedError
from apoyando.model.errors import Problem, SongError, UsageError
from apoyando.model.plan import Plan

FILE_NAME = "tune.abc"
LONGEST_TEXT = 200_000
_PLACE = re.compile(r"line (\d+)(?:, column (\d+))?")
BLANK = """X:1
T:
C:
M:4/4
L:1/4
Q:1/4=96
K:C
"""


async def show_blank(_: Request) -> Response:
    return HTMLResponse(show("text.html", text=BLANK, song=None, problems=[]))


async def show_text(request: Request) -> Response:
    song = await desk_of(request).open_song(request)
    if not song.is_text:
        raise UsageError("Only a song in ABC can be edited as text; its chords can be changed all the same.")
    text = song.data.decode(errors="replace")
    return HTMLResponse(show("text.html", text=text, song=song, problems=[]))


async def sketch(request: Request) -> Response:
    """The tune drawn as far as it is typed, and where it is wrong."""
    data = await _read_text(request)
    try:
        understood = await _understand(
            desk_of(request), "sketch", Sketch(data=data.encode(), file_name=FILE_NAME)
        )
    except RefusedError as error:
        return JSONResponse({"sheet": None, "problems": _point_at(error.problems)})
    except StoppedError:
        return JSONResponse({"stopped": True})
    told = understood.told
    return JSONResponse(
        {
            "sheet": show_leaves(understood.pages[:1], str(told["title"])),
            "problems": [*_point_at(understood.lacks), *_point_at(_remarks(told))],
        }
    )


async def bring_in_text(request: Request) -> Response:
    text = await _read_text(request)
    try:
        song_id = await put_on_shelf(desk_of(request), text.encode(), FILE_NAME)
    except (RefusedError, SongError) as error:
        return HTMLResponse(show("text.html", text=text, song=None, problems=_point_at(error.problems)), 422)
    return RedirectResponse(f"/songs/{song_id}/read", 303)


async def change_text(request: Request) -> Response:
    desk, text = desk_of(request), await _read_text(request)
    song = await desk.open_song(request)
    try:
        await desk.workshop.ask("text", Understand(data=text.encode(), file_name=song.file_name, plan=Plan()))
        await to_thread.run_sync(desk.shelf.change_song, song.entry.id, text)
    except (RefusedError, SongError) as error:
        return HTMLResponse(show("text.html", text=text, song=song, problems=_point_at(error.problems)), 422)
    return RedirectResponse(f"/songs/{song.entry.id}/read", 303)


async def _understand(desk: Desk, lane: str, task: Task) -> Understood:
    return cast("Understood", await desk.workshop.ask(lane, task))


async def _read_text(request: Request) -> str:
    """The text of a form with lines ended as files end them."""
    form = await request.form(max_part_size=4 * LONGEST_TEXT)
    text = str(form.get("text", "")).replace("\r\n", "\n")
    if len(text) > LONGEST_TEXT:
        raise UsageError("This is longer than any tune.")
    return text


def _remarks(told: Mapping[str, object]) -> tuple[Problem, ...]:
    remarks = cast("list[Mapping[str, str]]", told["remarks"])
    return tuple(Problem(f"bar {each['bar']}" if each["bar"] else "", each["text"], "") for each in remarks)


def _point_at(problems: Sequence[Problem]) -> list[dict[str, object]]:
    """Problems with the line and the column that they name, counted from 1; 0 where they name none."""
    pointed: list[dict[str, object]] = []
    for problem in problems:
        text = str(problem)
        found = _PLACE.search(text)
        line, column = (int(found[1]), int(found[2] or 1)) if found else (0, 0)
        pointed.append({"text": text, "line": line, "column": column})
    return pointed
