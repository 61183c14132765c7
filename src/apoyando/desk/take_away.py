"""What is taken away from the desk: the piece's files, as the commands write them."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from typing import cast

from starlette.requests import Request
from starlette.responses import Response

from apoyando.desk.events import Answer, Hear, say, stream
from apoyando.desk.state import desk_of, open_drawn
from apoyando.desk.tasks import PRACTICE, Task, WriteLesson, WriteOut, WritePage, WritePractice
from apoyando.desk.worker import RefusedError, StoppedError
from apoyando.model.errors import UsageError
from apoyando.model.sheet import Variant
from apoyando.pipeline import LESSON_PDF, LESSON_TEXT, MIDI, MUSICXML, PDF, PLAN, REPORT, Piece


@dataclass(frozen=True, slots=True)
class Offer:
    """A file that can be had: how it is called, its suffix, its media type, and what writes it.

    ``is_long``: it is made ready first, with its stages told.
    """

    label: str
    suffix: str
    media_type: str
    ask: Callable[[Piece, str], Task]
    hint: str = ""
    is_long: bool = False


def _write_out(piece: Piece, _: str) -> Task:
    return WriteOut(piece=piece)


def _offer_variant(label: str, variant: Variant) -> Offer:
    """Another of the pages that the plan gives, called as the command calls it."""

    def ask(piece: Piece, _: str) -> Task:
        return WritePage(piece=piece, variant=variant)

    return Offer(label, f".{variant}{PDF}", "application/pdf", ask)


def _write_lesson(piece: Piece, _: str) -> Task:
    return WriteLesson(piece=piece)


def _write_practice(piece: Piece, name: str) -> Task:
    return WritePractice(piece=piece, name=name)


OFFERS: Mapping[str, Offer] = {
    "page": Offer("The page (PDF)", PDF, "application/pdf", _write_out),
    "melody": _offer_variant("The tune alone, large (PDF)", Variant.MELODY),
    "accompaniment": _offer_variant("The accompaniment alone (PDF)", Variant.ACCOMPANIMENT),
    "holds": _offer_variant("The page with what stays down (PDF)", Variant.HOLDS),
    "musicxml": Offer("MusicXML", MUSICXML, "application/vnd.recordare.musicxml+xml", _write_out),
    "midi": Offer("MIDI", MIDI, "audio/midi", _write_out),
    "lesson": Offer("Lesson sheet (PDF)", LESSON_PDF, "application/pdf", _write_lesson),
    "lesson-text": Offer("Lesson sheet as text", LESSON_TEXT, "text/markdown", _write_lesson),
    "practice": Offer(
        "Practice set (sound)",
        PRACTICE,
        "application/zip",
        _write_practice,
        "takes some minutes",
        is_long=True,
    ),
    "report": Offer("The report", REPORT, "application/json", _write_out),
    "plan": Offer("The plan", PLAN, "application/toml", _write_out),
}
"""By their names in the address."""


async def make_ready(request: Request) -> Response:
    """What takes long, as events with its stages; the answer is where it can then be had.

    Who stops listening calls it off.
    """
    desk, what = desk_of(request), request.path_params["what"]
    offer = _find_offer(what)
    song = await desk.open_song(request)

    async def work(tell: Hear) -> Answer:
        drawn = await desk.draw(song, partial(say, tell))
        task = offer.ask(drawn.piece, song.entry.folder)
        written = await desk.workshop.ask(f"take {song.entry.id} {what}", task, partial(say, tell))
        content = cast("Mapping[str, bytes]", written)[offer.suffix]
        return {"address": f"/ready/{desk.ready.put(_hand_out(content, offer, song.entry.folder))}"}

    return stream(work)


async def hand_ready(request: Request) -> Response:
    """What was made ready, once it is asked for."""
    response = desk_of(request).ready.get(request.path_params["ticket"])
    if response is None:
        raise UsageError("This is not kept any more. Ask for it again.")
    return response


def _find_offer(what: str) -> Offer:
    if what not in OFFERS:
        raise UsageError(f"There is no {what} to take away.")
    return OFFERS[what]


def _hand_out(content: bytes, offer: Offer, folder: str) -> Response:
    kept = {"Content-Disposition": f'attachment; filename="{_name_file(folder, offer.suffix)}"'}
    return Response(content, media_type=offer.media_type, headers=kept)


async def take_away(request: Request) -> Response:
    """One file of the piece, as it stands."""
    what = request.path_params["what"]
    offer = _find_offer(what)
    song, drawn = await open_drawn(request)
    try:
        written = await desk_of(request).workshop.ask(
            f"take {song.entry.id} {what}", offer.ask(drawn.piece, song.entry.folder)
        )
    except (RefusedError, StoppedError) as error:
        raise UsageError(str(error) or "Another one was asked for.") from error
    content = cast("Mapping[str, bytes]", written)[offer.suffix]
    return _hand_out(content, offer, song.entry.folder)


def _name_file(folder: str, suffix: str) -> str:
    """A name that a header can carry (RFC 6266, 4.3)."""
    return f"{folder}{suffix}".encode("ascii", "replace").decode().replace('"', "'").replace("\\", "'")
