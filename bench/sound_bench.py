"""Measure the sound: how long three minutes take, what twenty minutes need, and what comes out.

    python bench/sound_bench.py [SONG ...]

Without songs the examples are measured. A song is arranged, and its bars are played again and
again until the time is filled.
"""

import resource
import sys
from collections.abc import Iterable
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from time import perf_counter

import numpy as np

from apoyando.files import find_songs
from apoyando.model.arrangement import Arrangement
from apoyando.model.form import play_order, playing_minutes
from apoyando.model.plan import Plan
from apoyando.pipeline import make_piece
from apoyando.reading import load_default_levels
from apoyando.sound import BOTH, Take, balance_cues, find_balance, perform, plan_cues, render_mix

ROOT = Path(__file__).parents[1]
SHORT_MINUTES, LONG_MINUTES = 3.0, 20.0


@dataclass(frozen=True, slots=True)
class Row:
    """``step``: the largest from one sample to the next; ``mark`` tells whether two runs gave the same."""

    seconds: float
    minutes: float
    peak_db: float
    step: float
    mark: str


def arrange(song: Path) -> Arrangement:
    return make_piece(song.read_bytes(), str(song), Plan(), load_default_levels()).arrangement


def render(arrangement: Arrangement, minutes: float) -> Row:
    """The bars again and again for so many minutes, or once for 0."""
    once = play_order(arrangement.bars)
    times = max(
        round(minutes / float(playing_minutes(arrangement.bars, arrangement.tempo_quarters_per_minute))), 1
    )
    start = perf_counter()
    sheet = plan_cues(arrangement, Take(perform(arrangement, once * times)))
    balance = find_balance(sheet)
    peak, step, mark, frames = weigh(render_mix(balance_cues(sheet, balance, *BOTH), sheet.duration_s))
    return Row(perf_counter() - start, frames / 48_000 / 60, 20 * np.log10(peak), step, mark)


def weigh(blocks: Iterable[np.ndarray]) -> tuple[float, float, str, int]:
    """Peak, largest step, a mark of all bytes, and frames."""
    peak = step = 0.0
    frames = 0
    mark = sha256()
    last = np.zeros((2, 1), dtype=np.float32)
    for block in blocks:
        peak = max(peak, float(np.abs(block).max(initial=0.0)))
        step = max(step, float(np.abs(np.diff(np.hstack([last, block]))).max(initial=0.0)))
        mark.update(np.ascontiguousarray(block).tobytes())
        last, frames = block[:, -1:], frames + block.shape[1]
    return peak, step, mark.hexdigest()[:8], frames


def show(name: str, row: Row) -> None:
    print(
        f"{name[:30]:30} {row.minutes:7.2f} {row.seconds:7.2f} {row.peak_db:7.1f} {row.step:7.3f} {row.mark:>9}"
    )


def main() -> None:
    songs = [Path(name) for name in sys.argv[1:]] or list(find_songs([ROOT / "examples"]))
    print(f"{'song':30} {'minutes':>7} {'seconds':>7} {'peak dB':>7} {'step':>7} {'mark':>9}")
    arrangements = {song: arrange(song) for song in songs}
    for song, arrangement in arrangements.items():
        show(song.stem, render(arrangement, 0.0))
    longest = max(arrangements.values(), key=lambda each: len(each.notes))
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    short = render(longest, SHORT_MINUTES)
    show("three minutes", short)
    show("twenty minutes", render(longest, LONG_MINUTES))
    grown = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024
    print(f"\nrendering three minutes         {short.seconds:6.2f} s   (to reach: under 2)")
    print(f"memory beyond arranging         {grown:6.0f} MB  (for twenty minutes)")


if __name__ == "__main__":
    main()
