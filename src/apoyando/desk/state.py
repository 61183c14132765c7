"""What the handlers share: shelf, workshop, and the pieces that were drawn last."""

from collections import OrderedDict
from collections.abc import Awaitable
from hashlib import sha256
from secrets import token_urlsafe
from typing import TypeVar

from anyio import to_thread
from starlette.requests import Request
from starlette.responses import Response

from apoyando.desk.tasks import Arrange, Drawn, Levels, Tell
from apoyando.desk.worker import RefusedError, StoppedError
from apoyando.desk.workshop import Workshop
from apoyando.model.errors import UsageError
from apoyando.repertoire import OpenSong, Shelf

T = TypeVar("T")
KEPT_PIECES = 32
"""So that going back and forth between steps costs no search."""

KEPT_READY = 2
"""A practice set has some megabytes."""


class Ready:
    """What was made ready to be taken away: the newest few, each under a ticket that nobody guesses."""

    def __init__(self) -> None:
        self._kept: OrderedDict[str, Response] = OrderedDict()

    def put(self, response: Response) -> str:
        ticket = token_urlsafe(12)
        self._kept[ticket] = response
        while len(self._kept) > KEPT_READY:
            self._kept.popitem(last=False)
        return ticket

    def get(self, ticket: str) -> Response | None:
        return self._kept.get(ticket)


class Desk:
    """The state of one desk. All that matters is on the shelf; what is kept here only saves time."""

    def __init__(self, shelf: Shelf, workshop: Workshop, levels: Levels) -> None:
        self.shelf = shelf
        self.workshop = workshop
        self.levels = levels
        self.ready = Ready()
        self._drawn: OrderedDict[str, Drawn] = OrderedDict()

    async def open_song(self, request: Request) -> OpenSong:
        """The song that an address names. Raises UnknownSongError."""
        return await to_thread.run_sync(self.shelf.open_song, request.path_params["song_id"])

    def recall(self, mark: str) -> Drawn | None:
        """What was drawn of a song and a plan, if it is still kept."""
        if mark in self._drawn:
            self._drawn.move_to_end(mark)
        return self._drawn.get(mark)

    async def draw(self, song: OpenSong, tell: Tell = lambda _: None) -> Drawn:
        """The piece of a song by its plan; what the program chooses of the setup goes into the plan.

        Raises RefusedError, StoppedError, UsageError.
        """
        if song.plan is None:
            raise UsageError(song.entry.trouble)
        kept = self.recall(mark_of(song))
        if kept:
            return kept
        task = Arrange(data=song.data, file_name=song.file_name, plan=song.plan)
        drawn = await self.workshop.ask(f"page {song.entry.id}", task, tell)
        assert isinstance(drawn, Drawn)  # noqa: S101 - what Arrange gives
        await self._keep(song, drawn)
        return drawn

    async def _keep(self, song: OpenSong, drawn: Drawn) -> None:
        self._remember(mark_of(song), drawn)
        if drawn.settled != song.plan:
            settle = self.shelf.settle_plan
            await to_thread.run_sync(settle, song.entry.id, song.plan_text, drawn.settled)
            now = await to_thread.run_sync(self.shelf.open_song, song.entry.id)
            if (now.plan, now.data) == (drawn.settled, song.data):  # not what was edited outside meanwhile
                self._remember(mark_of(now), drawn)

    def _remember(self, mark: str, drawn: Drawn) -> None:
        self._drawn[mark] = drawn
        while len(self._drawn) > KEPT_PIECES:
            self._drawn.popitem(last=False)


def desk_of(request: Request) -> Desk:
    desk = request.app.state.desk
    assert isinstance(desk, Desk)  # noqa: S101 - put there when the app was made
    return desk


async def open_drawn(request: Request) -> tuple[OpenSong, Drawn]:
    """The song that an address names, and its piece. Raises UsageError where it cannot be had."""
    desk = desk_of(request)
    song = await desk.open_song(request)
    return song, await or_told(desk.draw(song))


async def or_told(asked: Awaitable[T]) -> T:
    """An answer that a page cannot do without. Raises UsageError where it cannot be had."""
    try:
        return await asked
    except RefusedError as error:
        raise UsageError(str(error)) from error
    except StoppedError as error:
        raise UsageError("The page is being made anew. Ask again.") from error


def mark_of(song: OpenSong) -> str:
    """The same exactly for the same song with the same plan."""
    parts = (song.file_name.encode(), song.data, song.plan_text.encode())
    return sha256(b"\0".join(sha256(part).digest() for part in parts)).hexdigest()[:32]
