"""Measure the search: its answer against an independent solver, its times, its growth.

    python bench/search_bench.py [proof | songs | locks | growth | keys ...] [--quick] [--statistics]

Without words all five tables are printed. ``--quick`` takes every fifth excerpt where the
accompaniment is free, for there the solver needs long, and stops growing at 64 bars;
``--statistics`` prints what the solver tells of each proof. Solver and search run in one process,
one after the other, each in one thread. Times are processor seconds, so that others at work on the
machine weigh little; ``keys`` is by the clock.
"""

import resource
import statistics
import sys
import tracemalloc
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from time import perf_counter, process_time

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from apoyando.arranging import arrange_in_key, find_cheapest_setup, lock_song, pose_in_key
from apoyando.fingering import PROOF_ROUNDS, NoWayError, Problem, Searcher, Solution, find_best_way
from apoyando.model.hand import Finger
from apoyando.model.locks import FreeFingerLock, Stretch
from apoyando.model.plan import Plan
from apoyando.model.song import Song
from excerpts import (
    SONGS,
    WORLDS,
    Excerpt,
    fix_accompaniment,
    narrow_choice,
    pose_alike,
    pose_problem,
    random_excerpts,
    read_real_song,
    real_excerpts,
    repeat_song,
)
from references.exact_solver import NoProofError, solve_model, write_model
from references.plain_search import World

RUNS = 3
RANDOM = 20
PATIENCE_SECONDS = 300.0
"""A proof that takes longer is counted as missing, not as equal."""
INTERMEDIATE = WORLDS["intermediate"]
LONGEST_BARS, LONGEST_QUICK_BARS = 1024, 64
QUICK_STEP = 5


@dataclass(frozen=True, slots=True)
class Proof:
    """One problem solved twice. Prices are None where there is no way; times in seconds."""

    name: str
    found: int | None
    proven: int | None
    has_proof: bool
    writing: float
    solving: float
    searching: float

    @property
    def ratio(self) -> float:
        return self.solving / self.searching


def timed(work: Callable[[], object]) -> float:
    start = process_time()
    work()
    return process_time() - start


def median_seconds(work: Callable[[], object]) -> float:
    return statistics.median(timed(work) for _ in range(RUNS))


def search(problem: Problem, world: World) -> Solution | None:
    try:
        return find_best_way(problem, tuning=world.tuning, level=world.level, prices=world.prices)
    except NoWayError:
        return None


# Equal to the independent solver, and how much quicker.


def prove(excerpt: Excerpt, tell: Callable[[str], None] | None) -> Proof:
    start = process_time()
    model = write_model(excerpt.problem, excerpt.world)
    written = process_time()
    proven, has_proof = None, True
    try:
        proven = solve_model(model, seconds=PATIENCE_SECONDS, tell=tell)
    except NoProofError:
        has_proof = False
    solved = process_time()
    solution = search(excerpt.problem, excerpt.world)
    return Proof(
        name=excerpt.name,
        found=solution.price if solution else None,
        proven=proven,
        has_proof=has_proof,
        writing=written - start,
        solving=solved - written,
        searching=median_seconds(lambda: search(excerpt.problem, excerpt.world)),
    )


def fixed(excerpt: Excerpt) -> Excerpt:
    solution = search(excerpt.problem, excerpt.world)
    assert solution is not None
    return Excerpt(excerpt.name, fix_accompaniment(excerpt.problem, solution.slices), excerpt.world)


def narrow(excerpt: Excerpt) -> Excerpt:
    return Excerpt(excerpt.name, narrow_choice(excerpt.problem), excerpt.world)


def groups(step: int) -> Iterator[tuple[str, list[Excerpt]]]:
    """All excerpts with given notes or a narrow choice; of those with a free one as many as ``step`` lets pass."""
    real, random = list(real_excerpts((2, 2))), list(random_excerpts(RANDOM))
    longer = [*real_excerpts((3,), SONGS[::5]), *real_excerpts((4,), SONGS[::10])][::step]
    yield "given notes, real, 2 bars", [fixed(excerpt) for excerpt in real]
    for bars in (3, 4):
        yield (
            f"given notes, real, {bars} bars",
            [fixed(each) for each in real_excerpts((bars,))],
        )
    yield "given notes, random", [fixed(excerpt) for excerpt in random]
    yield "narrow choice, real, 2 bars", [narrow(excerpt) for excerpt in real]
    yield "free, random", random[::step]
    yield "free, real, 2 bars", real[::step]
    yield "free, real, 3 or 4 bars", longer


def show_proofs(step: int, tell: Callable[[str], None] | None) -> None:
    search(real_problem(SONGS[0]), INTERMEDIATE)  # the tables of the hand are made once
    columns = ("", "equal", "of", "no way", "no proof", "writing", "CP-SAT", "search", "ratio", "least")
    print("{:30} {:>5} {:>4} {:>6} {:>8} {:>8} {:>8} {:>8} {:>6} {:>6}".format(*columns))
    for name, excerpts in groups(step):
        show_group(name, [prove(excerpt, tell) for excerpt in excerpts])


def show_group(name: str, proofs: Sequence[Proof]) -> None:
    equal = sum(proof.has_proof and proof.found == proof.proven for proof in proofs)
    print(
        f"{name:30} {equal:5} {len(proofs):4} {sum(p.found is None for p in proofs):6} "
        f"{sum(not p.has_proof for p in proofs):8} "
        f"{statistics.median(p.writing for p in proofs):7.2f}s {statistics.median(p.solving for p in proofs):7.2f}s "
        f"{statistics.median(p.searching for p in proofs):7.4f}s {statistics.median(p.ratio for p in proofs):6.0f} "
        f"{min(p.ratio for p in proofs):6.0f}",
        flush=True,
    )
    for proof in proofs:
        if proof.has_proof and proof.found != proof.proven:
            print(f"  DIFFERENT: {proof.name}: search {proof.found}, CP-SAT {proof.proven}")


# Times.


def real_problem(path: Path) -> Problem:
    song = read_real_song(path)
    return pose_problem(song, song.key, INTERMEDIATE)


def show_songs() -> None:
    columns = ("one key, intermediate", "bars", "each bar", "alike", "arranged", "price", "gap")
    print("\n{:40} {:>5} {:>9} {:>9} {:>9} {:>8} {:>6}".format(*columns))
    scaled: list[tuple[float, float, float]] = []
    gaps: list[int] = []
    for path in SONGS:
        song = read_real_song(path)
        free, alike = (pose(song, song.key, INTERMEDIATE) for pose in (pose_problem, pose_alike))
        seconds = (
            median_seconds(lambda: search(free, INTERMEDIATE)),  # noqa: B023 - called at once
            median_seconds(lambda: search(alike, INTERMEDIATE)),  # noqa: B023 - called at once
            median_seconds(lambda: arrange_in_key(song, Plan(), INTERMEDIATE.level, song.key)),  # noqa: B023
        )
        found = search(alike, INTERMEDIATE)
        assert found is not None
        gaps.append(found.price - found.lower_bound)
        row = " ".join(f"{figure:8.3f}s" for figure in seconds)
        print(f"{path.stem[:40]:40} {len(song.bars):5} {row} {found.price:8} {gaps[-1]:6}", flush=True)
        scaled.append(tuple(figure * 32 / len(song.bars) for figure in seconds))  # type: ignore[arg-type]
    row = " ".join(f"{statistics.median(column):8.3f}s" for column in zip(*scaled, strict=True))
    print(f"{'median for 32 bars':40} {'':5} {row}   proven: {gaps.count(0)} of {len(gaps)}")


# One lock changed: the song searched again.


def show_locks() -> None:
    ways = {
        "each bar for itself": (False, 0),
        "alike, at once": (True, 0),
        "alike, proven": (True, PROOF_ROUNDS),
    }
    heads = "".join(f"{way:>24}" for way in ways)
    print(f"\n{'one lock more, intermediate: median, most':44} {'bars':>4}{heads}")
    for path in SONGS[::5]:
        song = read_real_song(path)
        columns = (time_locks(song, is_alike, rounds) for is_alike, rounds in ways.values())
        row = "".join(f"{statistics.median(each):13.1f} {max(each):7.1f} ms" for each in columns)
        print(f"{path.stem[:44]:44} {len(song.bars):4}{row}", flush=True)


def time_locks(song: Song, is_alike: bool, rounds: int) -> list[float]:
    """Milliseconds for the song searched again after one lock more, on each bar in turn."""
    posed = pose_in_key(song, Plan(same_fingering=is_alike), INTERMEDIATE.level, song.key)
    asked = Searcher(tuning=INTERMEDIATE.tuning, level=INTERMEDIATE.level, prices=INTERMEDIATE.prices)
    asked.find_best_way(posed.problem, proof_rounds=rounds)
    locked = (
        lock_song(posed, (FreeFingerLock(Stretch(bar=bar.number), Finger.LITTLE),)).problem
        for bar in song.bars
        if not bar.is_pickup
    )
    return [
        timed(partial(asked.find_best_way, problem, proof_rounds=rounds)) * 1000 for problem in list(locked)
    ]


def show_growth(longest: int) -> None:
    song = read_real_song(SONGS[0])
    print(
        f"\n{'bars (' + SONGS[0].stem + ' repeated)':40} {'search':>8} {'a bar':>9} {'arrays':>9} {'a bar':>9}"
    )
    bars = 8
    while bars <= longest:
        show_length(repeat_song(song, bars))
        bars *= 2
    print(f"the process at most: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")


def show_length(song: Song) -> None:
    problem, bars = pose_problem(song, song.key, INTERMEDIATE), len(song.bars)
    seconds = median_seconds(lambda: search(problem, INTERMEDIATE))
    peak = peak_megabytes(lambda: search(problem, INTERMEDIATE))
    print(
        f"{bars:40} {seconds:7.2f}s {seconds / bars * 1000:7.2f}ms {peak:7.1f}MB {peak / bars * 1024:7.1f}KB",
        flush=True,
    )


def peak_megabytes(work: Callable[[], object]) -> float:
    """The most that was held at once while working, beyond what was held before."""
    tracemalloc.start()
    work()
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    return peak / 1e6


def show_keys() -> None:
    print(f"\n{'twelve keys, both tunings':40} {'bars':>5} {'found':>9} {'32 bars':>9}")
    scaled: list[float] = []
    for path in SONGS[::3]:
        song = read_real_song(path)
        start = perf_counter()
        find_cheapest_setup(song, Plan(tuning=""), INTERMEDIATE.level)
        compared = perf_counter() - start
        scaled.append(compared * 32 / len(song.bars))
        print(f"{path.stem[:40]:40} {len(song.bars):5} {compared:8.2f}s {scaled[-1]:8.2f}s", flush=True)
    print(f"{'median':56} {statistics.median(scaled):8.2f}s, by the clock, on all cores")


def main() -> None:
    quick = "--quick" in sys.argv
    wanted = [word for word in sys.argv[1:] if not word.startswith("--")]
    tables: dict[str, Callable[[], None]] = {
        "proof": lambda: show_proofs(
            QUICK_STEP if quick else 1, print if "--statistics" in sys.argv else None
        ),
        "songs": show_songs,
        "locks": show_locks,
        "growth": lambda: show_growth(LONGEST_QUICK_BARS if quick else LONGEST_BARS),
        "keys": show_keys,
    }
    for name, show in tables.items():
        if not wanted or name in wanted:
            show()


if __name__ == "__main__":
    main()
