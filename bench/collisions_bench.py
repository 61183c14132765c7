"""Engrave songs at each amount of marking and count what touches on their pages.

    python bench/collisions_bench.py [--only TEXT]

The songs: the lead sheets that lie beside the project in ``shared/leadsheets``, the examples, the
lead sheets of music21's corpus, and thirty tunes of its ABC collections, spread evenly over what
``bench_songs.py`` gathers; each in its own key. The judge is ``tests/references/ink_checker.py``,
which reads the finished SVG. Each touch that is left is listed, with its bar.
"""

import argparse
import re
import sys
from collections import Counter
from collections.abc import Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from os import cpu_count
from pathlib import Path
from statistics import median
from time import perf_counter

ROOT = Path(__file__).parents[1]
sys.path[:0] = [str(ROOT / "tests"), str(ROOT / "bench")]

from apoyando.arranging import arrange_song  # noqa: E402
from apoyando.engraving import engrave_svgs  # noqa: E402
from apoyando.model.arrangement import Arrangement  # noqa: E402
from apoyando.model.plan import Plan  # noqa: E402
from apoyando.model.sheet import Marking, Sheet  # noqa: E402
from apoyando.pipeline import make_ruler  # noqa: E402
from apoyando.reading import load_default_levels  # noqa: E402
from bench_songs import Case, add_only, choose_only, gather_cases  # noqa: E402 - found there
from references.ink_checker import Ink, find_outside, find_touches, read_picture  # noqa: E402 - found there

LEVEL = "intermediate"
TUNES = 30
SHEETS = {
    str(marking) + name: replace(sheet, marking=marking)
    for marking in Marking
    for name, sheet in {
        "": Sheet(),
        ", with all extras": Sheet(hold_lines=True, lyrics=True, chord_diagrams=True),
    }.items()
}
MARKS = ("digit", "string", "pluck", "barre", "hold")


@dataclass(frozen=True)
class Result:
    """One song at one amount of marking. ``marks`` counts what is printed, ``touches`` says what touches."""

    name: str
    marking: str
    pages: int
    notes: int
    marks: Counter[str]
    touches: tuple[tuple[str, str], ...]
    seconds: float


def choose_cases() -> list[Case]:
    cases = gather_cases(is_quick=False)
    sheets = [case for case in cases if case.group == "lead sheets"]
    tunes = [case for case in cases if case.group != "lead sheets"]
    return sheets + tunes[:: len(tunes) // TUNES][:TUNES]


def judge_song(case: Case) -> list[Result]:
    plan = Plan(level=LEVEL, key=str(case.song.key.tonic))
    levels = dict(load_default_levels())
    arrangement = arrange_song(case.song, plan, levels[LEVEL], make_ruler(plan, levels))
    return [judge_sheet(case, arrangement, name) for name in SHEETS]


def judge_sheet(case: Case, arrangement: Arrangement, name: str) -> Result:
    start = perf_counter()
    pages = engrave_svgs(arrangement, SHEETS[name])
    seconds = perf_counter() - start
    found = tuple(each for number, svg in enumerate(pages, 1) for each in judge_page(svg, number))
    return Result(case.name, name, len(pages), len(arrangement.notes), count_marks(pages), found, seconds)


def judge_page(svg: str, number: int) -> Iterable[tuple[str, str]]:
    for touch in find_touches(svg):
        yield touch.kinds, f"page {number}, {bar_of(touch.one, touch.other)}: {touch}"
    for ink in find_outside(svg):
        yield f"{ink.kind} off the sheet", f"page {number}, {bar_of(ink)}: {ink} is off the sheet"


def bar_of(*inks: Ink) -> str:
    """By the ids of the notes, which count the bars from 0."""
    found = (re.match(r"m(\d+)", ink.owner) for ink in inks)
    return next((f"bar {int(match[1]) + 1} of the page" for match in found if match), "between bars")


def count_marks(pages: Sequence[str]) -> Counter[str]:
    inks = (ink for svg in pages for ink in read_picture(svg).inks)
    return Counter(ink.kind for ink in inks if ink.kind in MARKS and (ink.text or ink.kind == "hold"))


def show(results: Sequence[Result]) -> None:
    markings = list(dict.fromkeys(each.marking for each in results))
    for marking in markings:
        here = [each for each in results if each.marking == marking]
        notes = sum(each.notes for each in here)
        marks = sum((each.marks for each in here), Counter())
        touches = Counter(kinds for each in here for kinds, _ in each.touches)
        clean = sum(not each.touches for each in here)
        per_note = ", ".join(f"{kind} {100 * marks[kind] / notes:.0f}" for kind in MARKS)
        print(
            f"\n{marking}: {len(here)} songs, {sum(each.pages for each in here)} pages, {clean} without a touch"
        )
        print(f"    marks per hundred notes: {per_note}")
        print(f"    engraved in {median(each.seconds for each in here):.2f} s (median)")
        print(f"    touches: {', '.join(f'{n} {kinds}' for kinds, n in touches.most_common()) or 'none'}")


def show_touches(results: Sequence[Result]) -> None:
    print()
    for each in results:
        for _, sentence in each.touches:
            print(f"{each.name}, {each.marking}, {sentence}")


def read_cases(description: str | None) -> list[Case]:
    """The songs that the command line asks for. ``description`` is that of the whole bench."""
    parser = argparse.ArgumentParser(description=(description or "").partition("\n")[0])
    add_only(parser)
    return choose_only(choose_cases(), parser.parse_args().only)


def main() -> None:
    cases = read_cases(__doc__)
    with ProcessPoolExecutor(cpu_count()) as pool:
        results = [result for found in pool.map(judge_song, cases) for result in found]
    show(results)
    show_touches(results)


if __name__ == "__main__":
    main()
