"""Measure what ``docs/measurements.md`` names, and print it.

    python bench/bench.py [SONG ...]

Without songs the examples are measured. Times are medians; the search is also given for
32 bars, as if it grew with the length of the song.
"""

import json
import os
import resource
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from time import perf_counter, process_time

from apoyando.engraving import engrave_pdf, engrave_svgs
from apoyando.files import find_songs
from apoyando.model.arrangement import Arrangement
from apoyando.model.plan import Plan
from apoyando.pipeline import make_piece
from apoyando.reading import load_default_levels

ROOT = Path(__file__).parents[1]
RUNS = 3
STANDARD_BARS = 32
LONG_SONG, LONG_MINUTES = "first-light.abc", 4.2
"""Three times through: three pages."""
PROGRAM = (sys.executable, "-m", "apoyando")


@dataclass(frozen=True, slots=True)
class Run:
    """What one run of ``arrange`` told of itself, and how long it took in all, in seconds."""

    key: str
    bars: int
    searched: float
    whole: float


@dataclass(frozen=True, slots=True)
class Row:
    """One song, in seconds. ``beyond_search``: from process start to written files, less the search."""

    name: str
    bars: int
    one_key: float
    twelve_keys: float
    beyond_search: float


def run_program(*arguments: str) -> str:
    """The program as a player starts it: Python keeps what it has compiled."""
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    command = [*PROGRAM, *arguments]
    return subprocess.run(command, env=environment, capture_output=True, text=True, check=True).stdout  # noqa: S603 - our own program


def measure_song(path: Path) -> Row:
    free = [measure_program(path) for _ in range(RUNS)]
    chosen = [measure_program(path, "--key", free[0].key) for _ in range(RUNS)]
    return Row(
        name=path.stem,
        bars=free[0].bars,
        one_key=statistics.median(run.searched for run in chosen),
        twelve_keys=statistics.median(run.searched for run in free),
        beyond_search=statistics.median(run.whole - run.searched for run in chosen),
    )


def measure_program(path: Path, *options: str) -> Run:
    """One run of ``arrange`` from the start of the process to its end."""
    with tempfile.TemporaryDirectory() as folder:
        start = perf_counter()
        told = run_program("arrange", str(path), "--out", folder, "--timing", "--json", *options)
        whole = perf_counter() - start
    report = json.loads(told)["songs"][0]["report"]
    return Run(
        key=report["key"].split()[0],
        bars=len(report["bars"]),
        searched=report["search"]["seconds"],
        whole=whole,
    )


def measure_help() -> float:
    start = perf_counter()
    run_program("--help")
    return perf_counter() - start


def show(rows: Sequence[Row]) -> None:
    print(f"{'song':40} {'bars':>4} {'one key':>8} {'per 32':>8} {'12 keys':>8} {'per 32':>8} {'beyond':>8}")
    for row in rows:
        scale = STANDARD_BARS / row.bars
        print(
            f"{row.name[:40]:40} {row.bars:4} {row.one_key:8.2f} {row.one_key * scale:8.2f} "
            f"{row.twelve_keys:8.2f} {row.twelve_keys * scale:8.2f} {row.beyond_search:8.2f}"
        )


@dataclass(frozen=True, slots=True)
class Engraving:
    """A long piece as a PDF, in this process: wall clock and seconds of the processor, medians."""

    pages: int
    bars: int
    seconds: float
    processor: float


def measure_engraving() -> Engraving:
    """After the search: from the arrangement to the bytes of the PDF."""
    arrangement = _arrange_long_piece()
    engrave_pdf(arrangement)
    walls: list[float] = []
    processors: list[float] = []
    for _ in range(2 * RUNS + 1):
        wall, processor = perf_counter(), process_time()
        engrave_pdf(arrangement)
        walls.append(perf_counter() - wall)
        processors.append(process_time() - processor)
    pages = len(engrave_svgs(arrangement))
    seconds, spent = statistics.median(walls), statistics.median(processors)
    return Engraving(pages, len(arrangement.bars), seconds, spent)


def _arrange_long_piece() -> Arrangement:
    song = ROOT / "examples" / LONG_SONG
    plan = Plan(key="C", minutes=LONG_MINUTES, spell_out=True)
    return make_piece(song.read_bytes(), song.name, plan, load_default_levels()).arrangement


def show_summary(rows: Sequence[Row]) -> None:
    one_key = statistics.median(row.one_key * STANDARD_BARS / row.bars for row in rows)
    twelve = statistics.median(row.twelve_keys * STANDARD_BARS / row.bars for row in rows)
    beyond = statistics.median(row.beyond_search for row in rows)
    help_seconds = statistics.median(measure_help() for _ in range(7))
    print(f"\nsearch, one key, 32 bars        {one_key:6.2f} s   (to reach: under 1)")
    print(f"search, twelve keys, 32 bars    {twelve:6.2f} s   (to reach: under 6)")
    long = measure_engraving()
    print(
        f"engraving {long.pages} pages, {long.bars} bars    {long.seconds:6.2f} s   (to reach: under 0.3)"
        f"   {long.processor:.2f} s of the processor"
    )
    print(f"arrange beyond the search       {beyond:6.2f} s   (to reach: under 2)")
    print(f"apoyando --help                 {help_seconds:6.2f} s   (to reach: under 0.3)")
    print(f"memory at most                  {peak_megabytes():6.0f} MB  (to reach: under 500)")


def peak_megabytes() -> float:
    """The largest process that was run (Linux counts in KiB)."""
    return resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024


def main() -> None:
    songs = [Path(name) for name in sys.argv[1:]] or list(find_songs([ROOT / "examples"]))
    rows = [measure_song(path) for path in songs]
    show(rows)
    show_summary(rows)


if __name__ == "__main__":
    main()
