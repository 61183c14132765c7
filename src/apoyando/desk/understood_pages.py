"""The song as it was understood, and put right: its part, its key, its pickup, its chords and its notes."""

from collections.abc import Callable
from functools import partial
from itertools import groupby
from typing import cast

from anyio import to_thread
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from apoyando.desk.putting_right import put_chord, put_note, put_written_key, read_pickup
from apoyando.desk.shown import show, show_leaves
from apoyando.desk.state import Desk, desk_of, or_told
from apoyando.desk.tasks import MovePickup, Task, Understand, Understood
from apoyando.desk.tune_notes import list_lengths, list_written_keys, write_length
from apoyando.desk.worker import RefusedError, StoppedError
from apoyando.model.errors import UsageError
from apoyando.model.plan import Plan
from apoyando.model.time import Quarters
from apoyando.repertoire import OpenSong

LONGEST_WORD = 60
NO_PICKUP = "none"


async def show_understood(request: Request) -> Response:
    """What was understood, bar by bar, with a place to put each chord and each note right."""
    return await _show_understood(desk_of(request), await desk_of(request).open_song(request))


async def choose_part(request: Request) -> Response:
    """Another part as the tune, by its number."""
    desk, form = desk_of(request), await request.form()
    song = await desk.open_song(request)
    changes = {"part": str(form.get("part", ""))}
    await to_thread.run_sync(desk.shelf.change_plan, song.entry.id, changes)
    return RedirectResponse(f"/songs/{song.entry.id}/read", 303)


async def change_chord(request: Request) -> Response:
    """One chord of the player's own, or one taken back (without a symbol)."""
    desk, given = desk_of(request), await _read_fields(request)
    song = await desk.open_song(request)
    return await _answer(desk, song, partial(put_chord, given=given, levels=desk.shelf.levels))


async def change_note(request: Request) -> Response:
    """One note of the tune put right, taken out, or as before."""
    desk, given = desk_of(request), await _read_fields(request)
    song = await desk.open_song(request)
    return await _answer(desk, song, partial(put_note, given=given, levels=desk.shelf.levels))


async def change_signature(request: Request) -> Response:
    """The written key, or the pickup."""
    desk, given = desk_of(request), await _read_fields(request)
    song = await desk.open_song(request)
    levels = desk.shelf.levels
    if "written_key" in given:
        return await _answer(desk, song, partial(put_written_key, given=given, levels=levels))
    moved = await _move_pickup(desk, song, read_pickup(given, levels))
    return await _answer(desk, song, lambda plan: moved if plan == song.plan else plan)


async def _move_pickup(desk: Desk, song: OpenSong, pickup: Quarters | None) -> Plan:
    task = MovePickup(data=song.data, file_name=song.file_name, plan=song.plan or Plan(), pickup=pickup)
    return cast("Plan", await _ask(desk, song, task))


async def _answer(desk: Desk, song: OpenSong, change: Callable[[Plan], Plan]) -> Response:
    await or_told(_put(desk, song, change))
    return JSONResponse({})


async def _put(desk: Desk, song: OpenSong, change: Callable[[Plan], Plan]) -> None:
    """A change goes into the plan once the song has been read with it.

    Raises UsageError and RefusedError for one that the song cannot carry.
    """
    await _try_to_read(desk, song, change(song.plan or Plan()))
    await to_thread.run_sync(desk.shelf.change_with, song.entry.id, change)


async def _try_to_read(desk: Desk, song: OpenSong, plan: Plan) -> Understood:
    task = Understand(data=song.data, file_name=song.file_name, plan=plan)
    return cast("Understood", await _ask(desk, song, task))


async def _ask(desk: Desk, song: OpenSong, task: Task) -> object:
    try:
        return await desk.workshop.ask(f"read {song.entry.id}", task)
    except StoppedError as error:
        raise UsageError("Something newer was asked for meanwhile. Ask again.") from error


async def _show_understood(desk: Desk, song: OpenSong) -> Response:
    plan = song.plan or Plan()
    try:
        understood = await _try_to_read(desk, song, plan)
    except RefusedError as error:
        page = show("understood.html", song=song, plan=plan, told=None, problems=error.problems)
        return HTMLResponse(page, 422)
    by_bar = {bar: list(notes) for bar, notes in groupby(understood.notes, key=lambda note: note["bar"])}
    page = show(
        "understood.html",
        song=song,
        plan=plan,
        told=understood.told,
        leaves=show_leaves(understood.pages, song.entry.title),
        problems=(),
        notes=by_bar,
        yours={(note.bar, str(note.beat)): note for note in plan.notes},
        lengths=list_lengths(),
        keys=list_written_keys(),
        pickups=((NO_PICKUP, NO_PICKUP), *understood.pickups),
        written_key=str(plan.written_key or ""),
        pickup="" if plan.pickup is None else write_length(plan.pickup) if plan.pickup else NO_PICKUP,
    )
    return HTMLResponse(page)


async def _read_fields(request: Request) -> dict[str, str]:
    async with request.form() as form:
        return {name: str(value).strip()[:LONGEST_WORD] for name, value in form.items()}
