"""Measure the sound: how long three minutes take, what twenty minutes need, and what comes out.

    python bench/sound_bench.py [SONG ...]

Without songs the examples are measured. Loudness is measured by pyloudnorm, pitch as the tests
do; for the long times the bars of the longest song are played again and again.
"""

import sys
import tracemalloc
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from time import perf_counter, process_time
from typing import Any

import numpy as np
from numpy.typing import NDArray
from pyloudnorm import Meter

from apoyando.files import find_songs
from apoyando.model.arrangement import Arrangement
from apoyando.model.form import play_order, playing_minutes
from apoyando.model.plan import Plan
from apoyando.pipeline import arrange_piece
from apoyando.reading import load_default_levels
from apoyando.sound import (
    BOTH,
    SAMPLE_RATE_HZ,
    CueSheet,
    Take,
    balance_cues,
    find_balance,
    perform,
    plan_cues,
    pluck,
    render_mix,
    render_note,
)
from apoyando.sound.stems import render_stem

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT / "tests"))
from references.plucked_strings import find_peak_hz  # noqa: E402 - the tests are no package

SHORT_MINUTES, LONG_MINUTES = 3.0, 20.0
Samples = NDArray[Any]


@dataclass(frozen=True, slots=True)
class Row:
    """``seconds`` by the clock, ``worked`` by the processor; ``step`` is the largest from one sample to
    the next; ``mark`` is of all samples.
    """

    minutes: float
    seconds: float
    worked: float
    peak_db: float
    step: float
    mark: str


def arrange(song: Path) -> Arrangement:
    return arrange_piece(song.read_bytes(), str(song), Plan(), load_default_levels()).arrangement


def plan(arrangement: Arrangement, minutes: float = 0.0) -> CueSheet:
    """The bars again and again until so many minutes are full; once for 0."""
    once = play_order(arrangement.bars)
    lasts = float(playing_minutes(arrangement.bars, arrangement.tempo_quarters_per_minute))
    count = round(len(once) * minutes / lasts) or len(once)
    order = (once * (count // len(once) + 1))[:count]
    return plan_cues(arrangement, Take(perform(arrangement, order)))


def render(arrangement: Arrangement, minutes: float = 0.0) -> Row:
    start, began = perf_counter(), process_time()
    sheet = plan(arrangement, minutes)
    cues = balance_cues(sheet, find_balance(sheet), *BOTH)
    frames, peak, step, mark = look_through(render_mix(cues, sheet.duration_s))
    seconds, worked = perf_counter() - start, process_time() - began
    return Row(frames / SAMPLE_RATE_HZ / 60, seconds, worked, 20 * np.log10(peak), step, mark)


def look_through(blocks: Iterable[Samples]) -> tuple[int, float, float, str]:
    """Frames, peak, largest step, and a mark of all samples."""
    frames, peak, step = 0, 0.0, 0.0
    mark = sha256()
    last: Samples = np.zeros((2, 1), dtype=np.float32)
    for block in blocks:
        peak = max(peak, float(np.abs(block).max(initial=0.0)))
        step = max(step, float(np.abs(np.diff(np.hstack([last, block]))).max(initial=0.0)))
        mark.update(np.ascontiguousarray(block).tobytes())
        last, frames = block[:, -1:], frames + block.shape[1]
    return frames, peak, step, mark.hexdigest()[:8]


def measure(arrangement: Arrangement) -> tuple[float, float, float]:
    """Loudness of the mix, the melody over the accompaniment, and the worst note in cents."""
    sheet = plan(arrangement)
    balance, meter = find_balance(sheet), Meter(SAMPLE_RATE_HZ)
    mix = np.concatenate(list(render_mix(balance_cues(sheet, balance, *BOTH), sheet.duration_s)), axis=1)
    melody, accompaniment = (
        np.concatenate(list(render_stem(balance_cues(sheet, balance, voice), sheet.duration_s)), axis=1)
        for voice in BOTH
    )
    over = meter.integrated_loudness(melody[0]) - meter.integrated_loudness(accompaniment[0])
    cents = (
        1200 * np.log2(find_peak_hz(render_note(sample, 2.0), sample.pitch_hz) / sample.pitch_hz)
        for sample in sheet.samples
    )
    return meter.integrated_loudness(mix.T), over, max(map(abs, cents))


def show(arrangements: Sequence[tuple[str, Arrangement]]) -> None:
    print(
        f"{'song':22} {'minutes':>7} {'seconds':>7} {'LUFS':>6} {'over dB':>7} {'peak dB':>7} "
        f"{'step':>6} {'cents':>5} {'mark':>9}"
    )
    for name, arrangement in arrangements:
        row, (loudness, over, cents) = render(arrangement), measure(arrangement)
        print(
            f"{name[:22]:22} {row.minutes:7.2f} {row.seconds:7.2f} {loudness:6.2f} {over:7.2f} "
            f"{row.peak_db:7.1f} {row.step:6.3f} {cents:5.2f} {row.mark:>9}"
        )


def show_long(arrangement: Arrangement, minutes: float) -> None:
    """Timed from nothing, and then once more to see what is held at most, arrays included."""
    pluck._render.cache_clear()  # noqa: SLF001 - no player forgets
    row = render(arrangement, minutes)
    pluck._render.cache_clear()  # noqa: SLF001
    tracemalloc.start()
    render(arrangement, minutes)
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    print(
        f"{row.minutes:5.1f} minutes: {row.seconds:6.2f} s, {row.worked:6.2f} s of the processor; "
        f"{most / 2**20:4.0f} MB held at most"
    )


def main() -> None:
    songs = [Path(name) for name in sys.argv[1:]] or list(find_songs([ROOT / "examples"]))
    arrangements = [(song.stem, arrange(song)) for song in songs]
    _, longest = max(arrangements, key=lambda entry: len(entry[1].notes))
    show(arrangements)
    print("\nto reach: 3 minutes under 2 s, and 20 minutes with no more memory")
    for minutes in (SHORT_MINUTES, LONG_MINUTES):
        show_long(longest, minutes)


if __name__ == "__main__":
    main()
