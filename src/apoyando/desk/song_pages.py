"""The desk of one song: its page, its choices, its steps, and what is taken away."""

from functools import partial
from typing import cast

from anyio import to_thread
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response

from apoyando.desk.choices import apply_choices, list_groups, read_choices
from apoyando.desk.events import Answer, Hear, say, stream
from apoyando.desk.settled import show_settled_of
from apoyando.desk.shown import show, show_leaves
from apoyando.desk.state import Desk, desk_of, mark_of
from apoyando.desk.take_away import OFFERS
from apoyando.desk.tasks import CompareKeys, Drawn, Look, Told
from apoyando.difference import find_difference
from apoyando.model.errors import UsageError
from apoyando.model.plan import TEXTURES, Plan
from apoyando.repertoire import STATES, OpenSong, Steps

LONGEST_NOTES = 100_000


async def show_song(request: Request) -> Response:
    desk = desk_of(request)
    song = await desk.open_song(request)
    drawn = desk.recall(mark_of(song))
    page = show(
        "song.html",
        **_fill_song(desk, song, drawn),
        states=STATES,
        offers=OFFERS,
        parts=_show_parts(desk, song, drawn, None),
        settled=show_settled_of(song),
    )
    return HTMLResponse(page)


async def draw_page(request: Request) -> Response:
    """The page as events. ``seen`` is the mark of what the browser shows: so it is told what changed."""
    desk = desk_of(request)
    seen = desk.recall(request.query_params.get("seen", ""))
    song = await desk.open_song(request)

    async def work(tell: Hear) -> Answer:
        def hear(heard: str | Look) -> None:
            tell(heard if isinstance(heard, str) else {"leaves": show_leaves(heard.pages, song.entry.title)})

        drawn = await desk.draw(song, hear)
        now = await desk.open_song(request)
        # A plan that was edited meanwhile is not the one that was drawn: the page asks again by the mark of this one.
        shown = now if desk.recall(mark_of(now)) is drawn else song
        return {"mark": mark_of(shown), **_show_parts(desk, now, drawn, seen)}

    return stream(work)


async def compare_keys(request: Request) -> Response:
    """The keys in order, as events."""
    desk = desk_of(request)
    song = await desk.open_song(request)

    async def work(tell: Hear) -> Answer:
        task = CompareKeys(data=song.data, file_name=song.file_name, plan=song.plan or Plan())
        keys = cast("list[Told]", await desk.workshop.ask(f"keys {song.entry.id}", task, partial(say, tell)))
        return {"html": show("_keys.html", keys=keys, plan=song.plan)}

    return stream(work)


async def tell_mark(request: Request) -> Response:
    """By the mark the page knows whether the files were changed outside."""
    return JSONResponse({"mark": mark_of(await desk_of(request).open_song(request))})


async def change_plan(request: Request) -> Response:
    desk = desk_of(request)
    async with request.form() as form:
        changes = read_choices(form)
    change = partial(apply_choices, changes=changes, levels=desk.shelf.levels)
    return _tell_steps(await to_thread.run_sync(desk.shelf.change_with, _song_id(request), change))


async def undo(request: Request) -> Response:
    return _tell_steps(await to_thread.run_sync(desk_of(request).shelf.undo, _song_id(request)))


async def redo(request: Request) -> Response:
    return _tell_steps(await to_thread.run_sync(desk_of(request).shelf.redo, _song_id(request)))


async def set_state(request: Request) -> Response:
    async with request.form() as form:
        state = str(form.get("state", ""))
    await to_thread.run_sync(desk_of(request).shelf.set_state, _song_id(request), state)
    return Response(status_code=204)


async def write_notes(request: Request) -> Response:
    async with request.form() as form:
        notes = str(form.get("notes", "")).replace("\r\n", "\n")
    if len(notes) > LONGEST_NOTES:
        raise UsageError("These notes are too long to keep beside a song.")
    await to_thread.run_sync(desk_of(request).shelf.write_notes, _song_id(request), notes)
    return Response(status_code=204)


def _show_parts(desk: Desk, song: OpenSong, drawn: Drawn | None, seen: Drawn | None) -> dict[str, str]:
    """The parts of the song's page that a new drawing changes, by their ids."""
    values = _fill_song(desk, song, drawn)
    changes = find_difference(seen.piece.arrangement, drawn.piece.arrangement) if seen and drawn else None
    return {
        "leaves": show_leaves(drawn.pages, song.entry.title) if drawn else "",
        "choices": show("_choices.html", **values),
        "steps": show("_steps.html", **values),
        "changes": show("_changes.html", changes=changes, drawn=drawn),
        "told": show("_findings.html", report=drawn.piece.report) if drawn else "",
    }


def _fill_song(desk: Desk, song: OpenSong, drawn: Drawn | None) -> dict[str, object]:
    plan = song.plan or Plan()
    return {
        "song": song,
        "plan": plan,
        "mark": mark_of(song) if drawn else "",
        "groups": list_groups(plan, drawn, desk.levels),
        "textures": TEXTURES,
    }


def _tell_steps(steps: Steps) -> Response:
    return JSONResponse({"now": steps.now, "last": steps.last})


def _song_id(request: Request) -> str:
    return str(request.path_params["song_id"])
