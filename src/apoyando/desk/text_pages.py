"""The song as it is brought in: typed as text, understood, and put right."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial
from typing import cast

from anyio import to_thread
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from apoyando.desk.shelf_pages import put_on_shelf
from apoyando.desk.shown import show, show_leaves
from apoyando.desk.state import Desk, desk_of
from apoyando.desk.tasks import Sketch, Task, Understand, Understood
from apoyando.desk.worker import RefusedError, StoppedError
from apoyando.model.errors import Problem, SongError, UsageError
from apoyando.model.plan import ChordChange, Plan
from apoyando.reading import change_plan
from apoyando.repertoire import OpenSong

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


async def show_understood(request: Request) -> Response:
    """What was understood, bar by bar, with a place to put each chord right."""
    return await _show_understood(desk_of(request), await desk_of(request).open_song(request), ())


async def choose_part(request: Request) -> Response:
    """Another part as the tune, by its number."""
    desk, form = desk_of(request), await request.form()
    song = await desk.open_song(request)
    changes = {"part": str(form.get("part", ""))}
    await to_thread.run_sync(desk.shelf.change_plan, song.entry.id, changes)
    return RedirectResponse(f"/songs/{song.entry.id}/read", 303)


async def change_chord(request: Request) -> Response:
    """One chord of the player's own, or one taken back (without a symbol)."""
    desk, form = desk_of(request), await request.form()
    song = await desk.open_song(request)
    try:
        put = partial(_put_chord, form=form, levels=desk.shelf.levels)
        await to_thread.run_sync(desk.shelf.change_with, song.entry.id, put)
        await _try_to_read(desk, await desk.open_song(request))
    except (UsageError, RefusedError) as error:
        await _take_back(desk, song)
        problems = error.problems if isinstance(error, RefusedError) else (Problem("", str(error), ""),)
        return await _show_understood(desk, await desk.open_song(request), problems)
    return RedirectResponse(f"/songs/{song.entry.id}/read#bar-{form.get('bar', '')}", 303)


async def _try_to_read(desk: Desk, song: OpenSong) -> Understood:
    task = Understand(data=song.data, file_name=song.file_name, plan=song.plan or Plan())
    return await _understand(desk, f"read {song.entry.id}", task)


async def _take_back(desk: Desk, before: OpenSong) -> None:
    """What the song cannot carry does not stay in its plan."""
    after = await to_thread.run_sync(desk.shelf.open_song, before.entry.id)
    if after.steps != before.steps:
        await to_thread.run_sync(desk.shelf.undo, before.entry.id)


def _put_chord(plan: Plan, form: FormData, levels: Sequence[str]) -> Plan:
    bar, beat, symbol = (str(form.get(name, "")).strip() for name in ("bar", "beat", "chord"))
    change = {"bar": bar, "beat": beat or 1, "chord": symbol or "N.C."}
    (named,) = change_plan(Plan(), {"chords": [change]}, "the chord", levels).chords
    others = tuple(each for each in plan.chords if not _same_place(each, named))
    return replace(plan, chords=(*others, named) if symbol else others)


def _same_place(one: ChordChange, other: ChordChange) -> bool:
    return (one.bar, one.beat) == (other.bar, other.beat)


async def _show_understood(desk: Desk, song: OpenSong, problems: Sequence[Problem]) -> Response:
    try:
        understood = await _try_to_read(desk, song)
    except RefusedError as error:
        return HTMLResponse(
            show("understood.html", song=song, told=None, leaves="", problems=[*problems, *error.problems]),
            422,
        )
    page = show(
        "understood.html",
        song=song,
        told=understood.told,
        leaves=show_leaves(understood.pages, song.entry.title),
        problems=problems,
    )
    return HTMLResponse(page, 422 if problems else 200)


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
