"""Measure how hard the bars are that the program writes, and print what ``docs/difficulty.md`` names.

    python bench/difficulty_bench.py [LEVEL] [FOLDER] [--sentences]

Every song of a folder (the lead sheets beside the project) is arranged in its own key.
``--sentences`` prints the hard bars of each as its report would name them.
"""

import statistics
import sys
from pathlib import Path

from apoyando.arranging import arrange_song
from apoyando.files import find_songs
from apoyando.model.plan import Plan
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


def main() -> None:
    words = [word for word in sys.argv[1:] if not word.startswith("-")]
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
