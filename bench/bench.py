"""Measure what ``docs/measurements.md`` names, and print it.

    python bench/bench.py [SONG ...]

Without songs the examples are measured. Times are medians; the search is also given for
32 bars, as if it grew with the length of the song.
"""

import json
import resource
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from time import perf_counter

from apoyando.arranging import arrange_song, compare_keys
from apoyando.model.plan import Plan
from apoyando.reading import load_default_levels, read_song

ROOT = Path(__file__).parents[1]
RUNS = 3
STANDARD_BARS = 32
PROGRAM = (sys.executable, "-m", "apoyando")
LEVEL = load_default_levels()["intermediate"]


@dataclass(frozen=True, slots=True)
class Row:
    """One song, in seconds. ``beyond_search``: from process start to written files, less the search."""

    name: str
    bars: int
    one_key: float
    twelve_keys: float
    beyond_search: float


def median_seconds(work: Callable[[], object], runs: int = RUNS) -> float:
    return statistics.median(seconds(work) for _ in range(runs))


def seconds(work: Callable[[], object]) -> float:
    start = perf_counter()
    work()
    return perf_counter() - start


def run(*arguments: str) -> str:
    return subprocess.run([*PROGRAM, *arguments], capture_output=True, text=True, check=True).stdout  # noqa: S603 - our own program


def measure_song(path: Path) -> Row:
    song = read_song(path.read_bytes(), path.name)
    chosen = Plan(key=str(arrange_song(song, Plan(), LEVEL).key.tonic))
    return Row(
        name=path.stem,
        bars=len(song.bars),
        one_key=median_seconds(lambda: arrange_song(song, chosen, LEVEL)),
        twelve_keys=seconds(lambda: compare_keys(song, Plan(), LEVEL)),
        beyond_search=statistics.median(measure_beyond_search(path, chosen.key) for _ in range(RUNS)),
    )


def measure_beyond_search(path: Path, key: str) -> float:
    """What ``arrange`` takes besides the search: start, reading, proof, page, files."""
    with tempfile.TemporaryDirectory() as folder:
        start = perf_counter()
        told = run("arrange", str(path), "--out", folder, "--key", key, "--timing", "--json")
        whole = perf_counter() - start
    searched: float = json.loads(told)["songs"][0]["report"]["search"]["seconds"]
    return whole - searched


def show(rows: Sequence[Row]) -> None:
    print(f"{'song':40} {'bars':>4} {'one key':>8} {'per 32':>8} {'12 keys':>8} {'per 32':>8} {'beyond':>8}")
    for row in rows:
        scale = STANDARD_BARS / row.bars
        print(
            f"{row.name[:40]:40} {row.bars:4} {row.one_key:8.2f} {row.one_key * scale:8.2f} "
            f"{row.twelve_keys:8.2f} {row.twelve_keys * scale:8.2f} {row.beyond_search:8.2f}"
        )


def show_summary(rows: Sequence[Row]) -> None:
    one_key = statistics.median(row.one_key * STANDARD_BARS / row.bars for row in rows)
    twelve = statistics.median(row.twelve_keys * STANDARD_BARS / row.bars for row in rows)
    beyond = statistics.median(row.beyond_search for row in rows)
    help_seconds = median_seconds(lambda: run("--help"), 7)
    print(f"\nsearch, one key, 32 bars        {one_key:6.2f} s   (to reach: under 1)")
    print(f"search, twelve keys, 32 bars    {twelve:6.2f} s   (to reach: under 6)")
    print(f"arrange beyond the search       {beyond:6.2f} s   (to reach: under 2)")
    print(f"apoyando --help                 {help_seconds:6.2f} s   (to reach: under 0.3)")
    print(f"memory at most                  {peak_megabytes():6.0f} MB  (to reach: under 500)")


def peak_megabytes() -> float:
    """The largest process so far, this one or one that it ran (Linux counts in KiB)."""
    largest = max(
        resource.getrusage(who).ru_maxrss for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    )
    return largest / 1024


def main() -> None:
    songs = [Path(name) for name in sys.argv[1:]] or sorted((ROOT / "examples").glob("*.abc"))
    rows = [measure_song(path) for path in songs]
    show(rows)
    show_summary(rows)


if __name__ == "__main__":
    main()
