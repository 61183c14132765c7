"""Measure how hard the bars are that the program writes, and print what ``docs/difficulty.md`` names.

    python bench/difficulty_bench.py [LEVEL] [FOLDER] [--sentences]
    python bench/difficulty_bench.py --levels [FOLDER]

Every song of a folder (the lead sheets beside the project) is arranged in its own key.
``--sentences`` prints the hard bars of each as its report would name them. ``--levels`` arranges
every song at every level, with the melody as it is written and in running eighths, and holds each
level against the next.
"""

import statistics
import sys
from pathlib import Path

from apoyando.arranging import arrange_song
from apoyando.files import find_songs
from apoyando.model.arrangement import Arrangement, RelaxationStep
from apoyando.model.level import Level
from apoyando.model.plan import Melody, Plan
from apoyando.model.song import Song
from apoyando.pipeline import make_ruler
from apoyando.proofing import find_over_level
from apoyando.reading import load_default_levels, read_song
from apoyando.teaching import BarDifficulty, Cause, choose_hard_bars, measure_difficulty

SONGS = Path(__file__).parents[2] / "shared" / "leadsheets"
PERCENTILES = (10, 25, 50, 75, 90, 95, 98)


def measure(path: Path, level_name: str, *, with_sentences: bool) -> tuple[tuple[BarDifficulty, ...], int]:
    """The difficulties of a song's bars, and how many of its bars are over their level."""
    song, level = read_song(path.read_bytes(), path.name), load_default_levels()[level_name]
    arrangement = arrange_song(song, Plan(level=level_name, key=str(song.key.tonic)), level)
    difficulties = measure_difficulty(arrangement, level)
    if with_sentences:
        print(path.stem)
        for hard in choose_hard_bars(difficulties):
            print(f"  {hard.difficulty:4.1f}  {hard.sentence}")
    return difficulties, len({finding.bar for finding in find_over_level(arrangement, level)})


LEVELS = load_default_levels()


def arrange_at(song: Song, level: Level) -> Arrangement:
    plan = Plan(
        level=level.name, key=str(song.key.tonic), texture="running-eighths", melody=Melody.AS_WRITTEN
    )
    return arrange_song(song, plan, level, make_ruler(plan, LEVELS))


def total(piece: Arrangement, level: Level) -> float:
    return sum(bar.total for bar in measure_difficulty(piece, level))


def show_levels(folder: Path) -> None:
    """Points a bar for the hand of the level, and of the next harder piece for the same hand."""
    names = list(LEVELS)
    print(f"{'song':34} {'bars':>4}  " + "  ".join(f"{name:>12} next eased over" for name in names))
    for path in find_songs([folder]):
        song = read_song(path.read_bytes(), path.name)
        pieces = [arrange_at(song, level) for level in LEVELS.values()]
        columns = [
            show_level(piece, level, following)
            for piece, level, following in zip(pieces, LEVELS.values(), [*pieces[1:], None], strict=True)
        ]
        print(f"{path.stem[:34]:34} {len(song.bars):4}  " + "  ".join(columns), flush=True)


def show_level(piece: Arrangement, level: Level, following: Arrangement | None) -> str:
    bars, points = len(piece.bars), total(piece, level)
    harder = total(following, level) if following else points
    steps = [relaxation.step for relaxation in piece.relaxations]
    eased, over = (steps.count(step) for step in (RelaxationStep.BAR_EASED, RelaxationStep.OVER_LEVEL))
    sign = "!" if points > harder + 0.01 else " "
    return f"{points / bars:12.2f}{sign}{harder / bars:5.2f} {eased:4} {over:4}"


def main() -> None:
    words = [word for word in sys.argv[1:] if not word.startswith("-")]
    if "--levels" in sys.argv:
        show_levels(Path(words[0]) if words else SONGS)
        return
    level = words[0] if words else "intermediate"
    folder = Path(words[1]) if len(words) > 1 else SONGS
    measured = [
        measure(path, level, with_sentences="--sentences" in sys.argv) for path in find_songs([folder])
    ]
    bars = [bar for difficulties, _ in measured for bar in difficulties]
    points = statistics.quantiles([bar.total for bar in bars], n=100)
    print(f"{len(measured)} songs, {len(bars)} bars, level {level}: {sum(o for _, o in measured)} over it")
    print("  points easier than:", ", ".join(f"{p} % {points[p - 1]:.1f}" for p in PERCENTILES))
    for cause in Cause:
        print(f"  {cause:8} {statistics.mean(bar.parts[cause] for bar in bars):.2f} points a bar")


if __name__ == "__main__":
    main()
