"""How long a choice at the desk takes, from the question to the page, in a worker that is warm."""

import asyncio
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from statistics import median
from time import perf_counter

from apoyando.desk.tasks import Arrange, Drawn, Look, Sketch
from apoyando.desk.worker import StoppedError
from apoyando.desk.workshop import Workshop
from apoyando.model.plan import Plan
from apoyando.reading import load_default_levels

EXAMPLES = Path(__file__).parents[1] / "examples"
SUFFIXES = (".abc", ".musicxml")
CHOICES = ({"level": "early"}, {"texture": "arpeggio"}, {"hand_size": 0.95}, {"capo": 2}, {"key": "E"})


async def measure() -> None:
    workshop = Workshop(load_default_levels())
    start = perf_counter()
    await workshop.open()
    await workshop.ask("sketch", Sketch(data=(EXAMPLES / "first-light.abc").read_bytes(), file_name="a.abc"))
    print(f"  a worker started, loaded and at its first answer   {perf_counter() - start:6.2f} s")
    looks, finals, opened = [], [], []
    for file in sorted(path for path in EXAMPLES.iterdir() if path.suffix in SUFFIXES):
        data = file.read_bytes()
        settled, *seconds = await time_page(workshop, Arrange(data=data, file_name=file.name, plan=Plan()))
        opened.append(seconds)
        first, whole = await time_choices(workshop, data, file.name, settled)
        print(
            f"  {file.name:24} first look {median(first):5.2f} s (most {max(first):5.2f}), "
            f"page {median(whole):5.2f} s (most {max(whole):5.2f})"
        )
        looks += first
        finals += whole
    print(f"  all                      first look {median(looks):5.2f} s, page {median(finals):5.2f} s")
    look, page = (median(each) for each in zip(*opened, strict=True))
    print(f"  brought in, its key open first look {look:5.2f} s, page {page:5.2f} s")
    print(
        f"  an older question called off, until the newer is begun {await time_calling_off(workshop):6.3f} s"
    )
    await workshop.close()


async def time_choices(
    workshop: Workshop, data: bytes, name: str, settled: Plan
) -> tuple[list[float], list[float]]:
    """Seconds to the first look and to the finished page after each choice."""
    looks, finals = [], []
    for choice in CHOICES:
        plan = replace(settled, **choice)
        _, look, page = await time_page(workshop, Arrange(data=data, file_name=name, plan=plan))
        looks.append(look)
        finals.append(page)
    return looks, finals


async def time_page(workshop: Workshop, task: Arrange) -> tuple[Plan, float, float]:
    """The plan as it was settled, and the seconds to the first look and to the finished page."""
    seen: list[float] = []

    def hear(heard: str | Look) -> None:
        if isinstance(heard, Look):
            seen.append(perf_counter())

    start = perf_counter()
    drawn = await workshop.ask("page", task, hear)
    assert isinstance(drawn, Drawn)
    return drawn.settled, seen[0] - start, perf_counter() - start


async def time_calling_off(workshop: Workshop) -> float:
    """Seconds from a newer question to its first word, while an older one is being worked at."""
    data = (EXAMPLES / "first-light.abc").read_bytes()
    began, answered = asyncio.Event(), asyncio.Event()
    task = Arrange(data=data, file_name="a.abc", plan=Plan())
    older = asyncio.create_task(workshop.ask("page", task, lambda _: began.set()))
    await began.wait()
    await asyncio.sleep(1.0)
    start = perf_counter()
    newer = asyncio.create_task(workshop.ask("page", task, lambda _: answered.set()))
    await answered.wait()
    taken = perf_counter() - start
    newer.cancel()
    for each in (older, newer):
        with suppress(StoppedError, asyncio.CancelledError):
            await each
    return taken


if __name__ == "__main__":
    print("The desk: a choice, until the page is there")
    asyncio.run(measure())
