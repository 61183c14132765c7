"""The shelf's pages: find a song, bring one in, take one off and bring it back."""

from anyio import to_thread
from starlette.datastructures import UploadFile
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from apoyando.desk.shown import show
from apoyando.desk.state import Desk, desk_of
from apoyando.desk.tasks import Understand
from apoyando.desk.worker import RefusedError
from apoyando.files import SONG_SUFFIXES
from apoyando.model.errors import Problem, SongError, UsageError
from apoyando.model.plan import Plan
from apoyando.repertoire import SORTINGS, TAKEN_OFF

MOST_FILES = 50


async def show_shelf(request: Request) -> Response:
    return HTMLResponse(await _show(request))


async def list_songs(request: Request) -> Response:
    """The list alone, for a search while it is typed."""
    return HTMLResponse(show("_songs.html", **await _find(request)))


async def bring_in(request: Request) -> Response:
    """Songs' files from the browser onto the shelf; what cannot be read is told, the others are kept."""
    desk = desk_of(request)
    async with request.form(max_files=MOST_FILES, max_fields=MOST_FILES) as form:
        files = [each for each in form.getlist("song") if isinstance(each, UploadFile) and each.filename]
        given = [(each.filename or "", await each.read()) for each in files]
    brought: list[str] = []
    problems: list[Problem] = []
    for name, data in given:
        try:
            brought.append(await put_on_shelf(desk, data, name))
        except (RefusedError, SongError) as error:
            problems += [Problem(name, str(problem), "") for problem in error.problems]
        except UsageError as error:
            problems.append(Problem("", str(error), ""))
    if not given:
        problems.append(Problem("", "No file was chosen.", "Choose a song's file first."))
    if problems:
        return HTMLResponse(await _show(request, problems, len(brought)), 422)
    where = f"/songs/{brought[0]}/read" if len(brought) == 1 else "/"
    return RedirectResponse(where, 303)


async def take_off(request: Request) -> Response:
    """A song off the shelf, and the way back beside the list."""
    shelf = desk_of(request).shelf
    taken = await to_thread.run_sync(shelf.take_off, request.path_params["song_id"])
    return RedirectResponse(f"/?taken={taken}", 303)


async def show_taken_off(request: Request) -> Response:
    """The songs that were taken off, each with the way back."""
    shelf = desk_of(request).shelf
    songs = await to_thread.run_sync(shelf.list_taken_off)
    return HTMLResponse(show("taken_off.html", songs=songs, folder=str(shelf.folder / TAKEN_OFF)))


async def bring_back(request: Request) -> Response:
    """A song that was taken off, back onto the shelf."""
    shelf = desk_of(request).shelf
    song_id = await to_thread.run_sync(shelf.bring_back, request.path_params["song_id"])
    return RedirectResponse(f"/songs/{song_id}", 303)


async def put_on_shelf(desk: Desk, data: bytes, file_name: str) -> str:
    """A song read by a worker first, which may be stopped; then brought in. Gives its id.

    Raises RefusedError, SongError, UsageError.
    """
    await desk.workshop.ask(f"bring in {id(data)}", Understand(data=data, file_name=file_name, plan=Plan()))
    return await to_thread.run_sync(desk.shelf.bring_in, data, file_name)


async def _show(request: Request, problems: list[Problem] | None = None, brought: int = 0) -> str:
    values = await _find(request)
    shelf = desk_of(request).shelf
    taken = request.query_params.get("taken", "")
    off = await to_thread.run_sync(shelf.list_taken_off) if taken else ()
    return show(
        "shelf.html",
        **values,
        taken=next((song for song in off if song.id == taken), None),
        taken_off=await to_thread.run_sync(shelf.count_taken_off),
        problems=problems or [],
        brought=brought,
        folder=str(shelf.folder),
        suffixes=SONG_SUFFIXES,
    )


async def _find(request: Request) -> dict[str, object]:
    asked = request.query_params
    search, sort = asked.get("search", "")[:200], asked.get("sort", "title")
    descending = asked.get("way") == "down"
    shelf = desk_of(request).shelf
    songs = await to_thread.run_sync(lambda: shelf.list_songs(search, sort, descending=descending))
    return {
        "songs": songs,
        "search": search,
        "sort": sort,
        "descending": descending,
        "sortings": tuple(SORTINGS),
    }
