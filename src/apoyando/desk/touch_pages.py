"""Touch the page: what a note or a bar could be otherwise, and what is settled for it."""

from collections.abc import Callable
from functools import partial
from typing import cast

from anyio import to_thread
from starlette.datastructures import FormData, QueryParams
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response

from apoyando.arranging import Alternative
from apoyando.desk.events import Answer, Hear, say, stream
from apoyando.desk.fingerboard import draw_board, list_ways, read_way
from apoyando.desk.paper import Named, describe_paper, find_beside, find_note
from apoyando.desk.settled import show_settled_of
from apoyando.desk.settling import (
    let_free,
    lock_beside,
    locks_on,
    read_bar_settings,
    settle_bar,
    settle_note,
    take_out,
)
from apoyando.desk.shown import show
from apoyando.desk.state import Desk, desk_of, mark_of, open_drawn
from apoyando.desk.tasks import Drawn, Task, Told, WeighBar, WeighNote
from apoyando.desk.touch_words import VOICES, name_note, name_price, name_way
from apoyando.model.arrangement import Arrangement, Note, RelaxationStep, Role
from apoyando.model.bar_numbers import find_bar
from apoyando.model.beat import count_beat, name_count, read_count
from apoyando.model.errors import UsageError
from apoyando.model.hand import FINGERS, roman
from apoyando.model.locks import NoteLock, PositionLock
from apoyando.model.plan import MOST_STEPS_EASIER, TEXTURES, Plan
from apoyando.model.song import Bar, bar_at
from apoyando.repertoire import OpenSong

LONGEST_WORD = 200


async def tell_paper(request: Request) -> Response:
    """The notes and the bars of the page as it is drawn now."""
    song, drawn = await open_drawn(request)
    return JSONResponse({"mark": mark_of(song), **describe_paper(drawn.piece.arrangement)})


async def show_note(request: Request) -> Response:
    named = _read_named(request.query_params)
    song, drawn = await open_drawn(request)
    arrangement = drawn.piece.arrangement
    note = find_note(arrangement, named)
    page = show(
        "_note.html",
        named=named,
        beat=name_count(named.beat),
        voice=VOICES[named.voice],
        note=note,
        way=name_way(note.place, note.finger) if note else "",
        place=arrangement.notes.index(note) if note else None,
        ring=_find_ring(drawn, named, note),
        locks=locks_on(song.plan or Plan(), named),
    )
    return HTMLResponse(page)


def _find_ring(drawn: Drawn, named: Named, note: Note | None) -> Told | None:
    """Of the report what is said of the note's ring."""
    rings = cast("Told", drawn.piece.report["holds"])["ring"]
    asked = (named.bar, str(named.beat), named.voice, note.place.string if note else 0)
    return next((r for r in rings if (r["bar"], r["beat"], r["voice"], r["string"]) == asked), None)


async def weigh_note(request: Request) -> Response:
    """The fingerboard with all places of a note and their prices, as events."""
    named = _read_named(request.query_params)
    song = await desk_of(request).open_song(request)

    def ask(drawn: Drawn) -> Task:
        return WeighNote(piece=drawn.piece, note=named.lock, beside=_lock_beside(song, drawn, named))

    def tell(found: tuple[Alternative, ...], drawn: Drawn) -> str:
        arrangement = drawn.piece.arrangement
        ways = list_ways(found, find_note(arrangement, named))
        return show(
            "_ways.html",
            ways=ways,
            board=draw_board(ways),
            has_pitches=named.voice is not Role.MELODY,
            beside=find_beside(arrangement, named),
        )

    return await _weigh(request, ask, tell)


def _lock_beside(song: OpenSong, drawn: Drawn | None, named: Named) -> tuple[NoteLock, ...]:
    """Locks on the inner notes struck together with one, so that each is asked for by itself."""
    if drawn is None:
        return ()
    places = [note.place for note in find_beside(drawn.piece.arrangement, named)]
    return lock_beside(song.plan or Plan(), named, places)


async def weigh_bar(request: Request) -> Response:
    """The positions of a bar and their prices, as events."""
    bar = _read_word(request.query_params, "bar")

    def tell(found: tuple[Alternative, ...], _: Drawn) -> str:
        positions = [
            (each.lock.position, roman(each.lock.position), name_price(each.price))
            for each in found
            if isinstance(each.lock, PositionLock)
        ]
        return show("_positions.html", positions=positions, bar=bar)

    return await _weigh(request, lambda drawn: WeighBar(piece=drawn.piece, bar=bar), tell)


async def _weigh(
    request: Request,
    ask: Callable[[Drawn], Task],
    show_found: Callable[[tuple[Alternative, ...], Drawn], str],
) -> Response:
    desk = desk_of(request)
    song = await desk.open_song(request)

    async def work(tell: Hear) -> Answer:
        drawn = await desk.draw(song, partial(say, tell))
        found = await desk.workshop.ask(f"weigh {song.entry.id}", ask(drawn), partial(say, tell))
        return {"html": show_found(cast("tuple[Alternative, ...]", found), drawn)}

    return stream(work)


async def settle_way(request: Request) -> Response:
    """A note locked one way, left out, or free again (no ``way``)."""
    desk, form = desk_of(request), await request.form()
    named, way = _read_named(form), str(form.get("way", ""))
    levels = tuple(desk.levels)
    song = await desk.open_song(request)
    beside = _lock_beside(song, desk.recall(mark_of(song)), named)

    def change(plan: Plan) -> Plan:
        return settle_note(plan, named, read_way(way), levels, beside) if way else let_free(plan, named)

    return await _change(desk, request, change)


async def show_bar(request: Request) -> Response:
    number = _read_word(request.query_params, "bar")
    song, drawn = await open_drawn(request)
    arrangement = drawn.piece.arrangement
    bar = find_bar(arrangement.bars, number)
    page = show(
        "_bar.html",
        bar=bar.number,
        index=bar.index,
        settings=read_bar_settings(song.plan or Plan(), number),
        texture=_texture_in(arrangement, bar),
        points=_points_of(drawn, number),
        notes=_notes_in(arrangement, bar),
        missing=_missing_in(arrangement, bar),
        free_beats=_free_beats_in(arrangement, bar),
        textures=TEXTURES,
        steps=range(1, MOST_STEPS_EASIER + 1),
        fingers=FINGERS,
    )
    return HTMLResponse(page)


def _texture_in(arrangement: Arrangement, bar: Bar) -> str:
    indices = {each.number: each.index for each in arrangement.bars}
    return next(
        (s.texture for s in arrangement.sections if indices[s.bar] <= bar.index <= indices[s.to_bar]),
        arrangement.texture,
    )


def _points_of(drawn: Drawn, number: str) -> Told:
    bars = cast("list[Told]", drawn.piece.report["bars"])
    return next(each for each in bars if each["number"] == number)


def _notes_in(arrangement: Arrangement, bar: Bar) -> list[dict[str, object]]:
    """The notes that begin in a bar, as buttons say them."""
    here = [note for note in arrangement.notes if bar.span.contains(note.onset)]
    return [
        {
            "label": name_note(arrangement, note).partition(", ")[2],
            "beat": str(count_beat(bar, note.onset)),
            "voice": str(note.role),
            "string": note.place.string,
            "is_inner": note.role is Role.INNER,
        }
        for note in sorted(here, key=lambda note: (note.onset, -note.pitch.midi))
    ]


def _free_beats_in(arrangement: Arrangement, bar: Bar) -> list[tuple[str, str]]:
    """The beats, halves of beats and onsets on which no inner note is struck: as a plan has them, and in words."""
    half = bar.meter.pulse / 2
    steps = int(bar.duration / half)
    moments = {bar.offset - step * half for step in range(1, steps + 1)}
    moments |= {note.onset for note in arrangement.notes if bar.span.contains(note.onset)}
    struck = {note.onset for note in arrangement.notes if note.role is Role.INNER}
    counts = [count_beat(bar, moment) for moment in sorted(moments - struck)]
    return [(str(count), name_count(count)) for count in counts]


def _missing_in(arrangement: Arrangement, bar: Bar) -> list[dict[str, str]]:
    """Inner notes and basses that the program left out there: they can be asked for."""
    voices = {RelaxationStep.INNER_DROPPED: Role.INNER, RelaxationStep.BASS_DROPPED: Role.BASS}
    return [
        {
            "beat": str(count_beat(bar, each.onset)),
            "name": name_count(count_beat(bar, each.onset)),
            "voice": str(voices[each.step]),
            "called": VOICES[voices[each.step]],
        }
        for each in arrangement.relaxations
        if each.step in voices and bar_at(arrangement.bars, each.onset) == bar
    ]


async def settle_in_bar(request: Request) -> Response:
    desk, form = desk_of(request), await request.form()
    bar, entry, value, fingers = (_read_word(form, name) for name in ("bar", "entry", "value", "fingers"))
    levels = tuple(desk.levels)
    return await _change(desk, request, lambda plan: settle_bar(plan, bar, entry, value, fingers, levels))


async def show_settled(request: Request) -> Response:
    """All locks and sections of the plan, each to be taken out."""
    return HTMLResponse(show_settled_of(await desk_of(request).open_song(request)))


async def take_settled_out(request: Request) -> Response:
    desk, form = desk_of(request), await request.form()
    text = str(form.get("what", ""))
    return await _change(desk, request, lambda plan: take_out(plan, text))


async def _change(desk: Desk, request: Request, change: Callable[[Plan], Plan]) -> Response:
    steps = await to_thread.run_sync(desk.shelf.change_with, request.path_params["song_id"], change)
    return JSONResponse({"now": steps.now, "last": steps.last})


def _read_named(given: QueryParams | FormData) -> Named:
    """Raises UsageError."""
    bar, beat, voice, string = (_read_word(given, name) for name in ("bar", "beat", "voice", "string"))
    count = read_count(beat)
    if voice not in tuple(Role) or not count:
        raise UsageError("There is no such note.")
    return Named(bar, count, Role(voice), int(string) if string.isdecimal() else 0)


def _read_word(given: QueryParams | FormData, name: str) -> str:
    return str(given.get(name, ""))[:LONGEST_WORD]
