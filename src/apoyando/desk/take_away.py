"""What is taken away from the desk: the piece's files, as the commands write them."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import cast

from starlette.requests import Request
from starlette.responses import Response

from apoyando.desk.state import desk_of, open_drawn
from apoyando.desk.tasks import PRACTICE, Task, WriteLesson, WriteOut, WritePractice
from apoyando.desk.worker import RefusedError, StoppedError
from apoyando.model.errors import UsageError
from apoyando.pipeline import LESSON_PDF, LESSON_TEXT, MIDI, MUSICXML, PDF, PLAN, REPORT, Piece


@dataclass(frozen=True, slots=True)
class Offer:
    """A file that can be had: how it is called, its suffix, its media type, and what writes it."""

    label: str
    suffix: str
    media_type: str
    ask: Callable[[Piece, str], Task]
    hint: str = ""


def _write_out(piece: Piece, _: str) -> Task:
    return WriteOut(piece=piece)


def _write_lesson(piece: Piece, _: str) -> Task:
    return WriteLesson(piece=piece)


def _write_practice(piece: Piece, name: str) -> Task:
    return WritePractice(piece=piece, name=name)


OFFERS: Mapping[str, Offer] = {
    "page": Offer("The page (PDF)", PDF, "application/pdf", _write_out),
    "musicxml": Offer("MusicXML", MUSICXML, "application/vnd.recordare.musicxml+xml", _write_out),
    "midi": Offer("MIDI", MIDI, "audio/midi", _write_out),
    "lesson": Offer("Lesson sheet (PDF)", LESSON_PDF, "application/pdf", _write_lesson),
    "lesson-text": Offer("Lesson sheet as text", LESSON_TEXT, "text/markdown", _write_lesson),
    "practice": Offer(
        "Practice set (sound)", PRACTICE, "application/zip", _write_practice, "takes some minutes"
    ),
    "report": Offer("The report", REPORT, "application/json", _write_out),
    "plan": Offer("The plan", PLAN, "application/toml", _write_out),
}
"""By their names in the address."""


async def take_away(request: Request) -> Response:
    """One file of the piece, as it stands."""
    what = request.path_params["what"]
    if what not in OFFERS:
        raise UsageError(f"There is no {what} to take away.")
    offer = OFFERS[what]
    song, drawn = await open_drawn(request)
    try:
        written = await desk_of(request).workshop.ask(
            f"take {song.entry.id} {what}", offer.ask(drawn.piece, song.entry.folder)
        )
    except (RefusedError, StoppedError) as error:
        raise UsageError(str(error) or "Another one was asked for.") from error
    content = cast("Mapping[str, bytes]", written)[offer.suffix]
    kept = {"Content-Disposition": f'attachment; filename="{_name_file(song.entry.folder, offer.suffix)}"'}
    return Response(content, media_type=offer.media_type, headers=kept)


def _name_file(folder: str, suffix: str) -> str:
    """A name that a header can carry (RFC 6266, 4.3)."""
    return f"{folder}{suffix}".encode("ascii", "replace").decode().replace('"', "'").replace("\\", "'")
