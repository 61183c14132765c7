"""Workers: what is not wanted any more is called off, and who falls over takes nobody along."""

import asyncio
import os
import signal
from collections.abc import Awaitable, Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

import pytest

from apoyando.desk.tasks import Arrange, Drawn, Look, Understand, Understood
from apoyando.desk.worker import RefusedError, StoppedError
from apoyando.desk.workshop import Workshop
from apoyando.model.errors import UsageError
from apoyando.model.plan import Plan
from apoyando.pipeline import arrange_piece
from apoyando.reading import load_default_levels

SONG = (Path(__file__).parents[2] / "examples" / "greensleeves.abc").read_bytes()
READ = Understand(data=SONG, file_name="song.abc", plan=Plan())
ARRANGE_IN_ALL_KEYS = Arrange(data=SONG, file_name="song.abc", plan=Plan(level="advanced"))


def run(story: Callable[[Workshop], Awaitable[None]]) -> None:
    """In a loop of its own; the browser of other tests keeps one running in this thread."""

    async def whole() -> None:
        workshop = Workshop(load_default_levels())
        await workshop.open()
        try:
            await story(workshop)
        finally:
            await workshop.close()

    with ThreadPoolExecutor(1) as elsewhere:
        elsewhere.submit(lambda: asyncio.run(whole())).result()


def test_a_worker_shows_a_first_look_tells_the_stages_and_answers() -> None:
    async def story(workshop: Workshop) -> None:
        heard: list[str | Look] = []
        plan = Plan(key="A")
        drawn = await workshop.ask("page", Arrange(data=SONG, file_name="song.abc", plan=plan), heard.append)

        assert isinstance(drawn, Drawn)
        assert str(drawn.piece.arrangement.key) == "A minor"
        assert drawn.piece.certificate.is_proven
        *stages, look, last, end = heard
        assert isinstance(look, Look)
        assert len(look.pages) == len(drawn.pages)
        assert [*stages, last, end] == ["reading the song", "arranging", "proofing", "engraving"]

    run(story)


def test_a_song_without_a_key_is_looked_at_as_soon_as_its_key_is_chosen() -> None:
    levels = load_default_levels()
    told: list[str | Look] = []

    drawn = Arrange(data=SONG, file_name="song.abc", plan=Plan()).do(levels, told.append)

    *stages, look, last, end = told
    assert [*stages, last, end] == ["reading the song", "choosing the key", "proofing", "engraving"]
    assert isinstance(look, Look)
    assert drawn.piece.arrangement == arrange_piece(SONG, "song.abc", Plan(), levels).arrangement
    assert drawn.settled == replace(Plan(), key=str(drawn.piece.arrangement.key.tonic))


def test_a_newer_question_calls_off_the_older_one_in_its_lane() -> None:
    async def story(workshop: Workshop) -> None:
        began = asyncio.Event()
        older = asyncio.create_task(workshop.ask("page", ARRANGE_IN_ALL_KEYS, lambda _: began.set()))
        await began.wait()
        newer = await workshop.ask("page", READ)

        assert isinstance(newer, Understood)
        with pytest.raises(StoppedError):
            await older

    run(story)


def test_questions_in_other_lanes_go_on() -> None:
    async def story(workshop: Workshop) -> None:
        one, other = await asyncio.gather(workshop.ask("one", READ), workshop.ask("other", READ))

        assert one == other

    run(story)


def test_who_does_not_wait_any_longer_ends_the_work() -> None:
    async def story(workshop: Workshop) -> None:
        began = asyncio.Event()
        asked = asyncio.create_task(workshop.ask("page", ARRANGE_IN_ALL_KEYS, lambda _: began.set()))
        await began.wait()
        (worker,) = workshop.busy_workers
        asked.cancel()
        with pytest.raises(asyncio.CancelledError):
            await asked

        assert not worker.is_running

    run(story)


def test_a_song_that_cannot_be_read_is_refused_with_its_problems() -> None:
    async def story(workshop: Workshop) -> None:
        with pytest.raises(RefusedError, match="neither MusicXML nor ABC") as refused:
            await workshop.ask("page", Understand(data=b"no song", file_name="x", plan=Plan()))
        assert not refused.value.is_fault
        assert isinstance(await workshop.ask("page", READ), Understood)

    run(story)


def test_a_bug_is_confessed_with_what_and_where_and_the_worker_goes_on() -> None:
    """A question that no page asks: the file is no bytes."""
    broken = replace(READ, data=None)  # type: ignore[arg-type]

    async def story(workshop: Workshop) -> None:
        confessed = r"fault of the program, not of the song: TypeError: .* \(\w+\.py, line \d+\)"
        with pytest.raises(RefusedError, match=confessed) as refused:
            await workshop.ask("page", broken)
        assert refused.value.is_fault
        assert isinstance(await workshop.ask("page", READ), Understood)

    run(story)


@pytest.mark.skipif(os.name != "posix", reason="signals")
def test_a_worker_that_falls_over_is_told_and_replaced() -> None:
    async def story(workshop: Workshop) -> None:
        began = asyncio.Event()
        asked = asyncio.create_task(workshop.ask("page", ARRANGE_IN_ALL_KEYS, lambda _: began.set()))
        await began.wait()
        (worker,) = workshop.busy_workers
        os.killpg(worker.pid, signal.SIGSEGV)
        with pytest.raises(UsageError, match="fell over"):
            await asked

        assert isinstance(await workshop.ask("page", READ), Understood)

    run(story)
