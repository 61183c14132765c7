"""Arrange songs, write them as MusicXML, read them back from it, and list what was lost.

    python bench/round_trip_bench.py [--only TEXT]

The songs are those of ``collisions_bench.py``, each with and without hold lines and chord diagrams.
What is asked stands in ``tests/test_round_trip.py``.
"""

import sys
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from os import cpu_count
from pathlib import Path

ROOT = Path(__file__).parents[1]
sys.path[:0] = [str(ROOT / "tests"), str(ROOT / "bench")]

from apoyando.arranging import arrange_song  # noqa: E402
from apoyando.model.arrangement import Arrangement  # noqa: E402
from apoyando.model.plan import Plan  # noqa: E402
from apoyando.model.sheet import Sheet  # noqa: E402
from apoyando.pipeline import make_ruler  # noqa: E402
from apoyando.reading import load_default_levels  # noqa: E402
from bench_songs import Case  # noqa: E402 - found there
from collisions_bench import LEVEL, read_cases  # noqa: E402 - found there
from test_round_trip import (  # noqa: E402 - found there
    HEADING,
    PLAIN,
    TEMPO,
    WITH_LINES,
    as_printed,
    harmony_of,
    notes_of,
    read_back,
    write,
)


def judge_song(case: Case) -> tuple[str, tuple[str, ...]]:
    """The name of a song and what was lost of it."""
    plan = Plan(level=LEVEL, key=str(case.song.key.tonic))
    levels = dict(load_default_levels())
    arrangement = arrange_song(case.song, plan, levels[LEVEL], make_ruler(plan, levels))
    losses = (loss for sheet in (PLAIN, WITH_LINES) for loss in find_losses(arrangement, sheet))
    return case.name, tuple(dict.fromkeys(losses))


def find_losses(arrangement: Arrangement, sheet: Sheet) -> Iterator[str]:
    again = read_back(arrangement, sheet)
    lost = notes_of(arrangement) - notes_of(again)
    if lost:
        yield f"{lost.total()} of {len(arrangement.notes)} notes"
    if list(harmony_of(again)) != list(harmony_of(arrangement)):
        yield "harmony"
    bars = [as_printed(bar, arrangement) for bar in arrangement.bars]
    if [as_printed(bar, again) for bar in again.bars] != bars:
        yield "bars"
    yield from (name for name in (*HEADING, *TEMPO) if getattr(again, name) != getattr(arrangement, name))
    yield from (relaxation.reason for relaxation in again.relaxations)
    if write(again) != write(arrangement, sheet):
        yield "bytes"


def main() -> None:
    cases = read_cases(__doc__)
    with ProcessPoolExecutor(cpu_count()) as pool:
        results = list(pool.map(judge_song, cases))
    kinds = Counter(loss for _, losses in results for loss in losses)
    print(f"{len(results)} songs, {sum(not losses for _, losses in results)} come back without loss")
    for loss, count in kinds.most_common():
        print(f"    {count} {loss}")
    for name, losses in results:
        if losses:
            print(f"{name}: {'; '.join(losses)}")


if __name__ == "__main__":
    main()
