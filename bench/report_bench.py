"""Arrange hundreds of songs and count, from the pages alone, what makes them worth playing.

    python bench/report_bench.py [--quick] [--own-key] [--level LEVEL] [--only TEXT] [--bars]

The songs are those of ``bench_songs.py``. Each is arranged in the cheapest key and proven, and its
MusicXML is read again by ``tests/references/page_checker.py``; nothing is engraved. ``--quick``
takes every fifth tune, each in its own key. ``--bars`` names the bars over the level.

The counting is plain code of its own; only the findings over the level are the proofing room's,
and the list of shifts is the model's.
"""

import argparse
import sys
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import astuple, dataclass
from fractions import Fraction
from functools import partial
from itertools import pairwise
from os import cpu_count
from pathlib import Path
from time import perf_counter

ROOT = Path(__file__).parents[1]
sys.path[:0] = [str(ROOT / "tests"), str(ROOT / "bench")]

from apoyando.arranging import arrange_song, finger_tune_alone  # noqa: E402
from apoyando.engraving import notate, write_musicxml  # noqa: E402
from apoyando.model.arrangement import Arrangement, RelaxationStep, Role  # noqa: E402
from apoyando.model.level import Level  # noqa: E402
from apoyando.model.plan import Plan  # noqa: E402
from apoyando.model.position import list_shifts  # noqa: E402
from apoyando.model.song import Song  # noqa: E402
from apoyando.pipeline import judge, make_ruler  # noqa: E402
from apoyando.proofing import Finding, LevelRule, find_over_level  # noqa: E402
from apoyando.reading import load_default_levels  # noqa: E402
from bench_songs import Case, add_only, choose_only, gather_cases  # noqa: E402 - found there
from references.page_checker import Page, PageBar, check_page, read_page  # noqa: E402 - found there

EIGHTH, QUARTER = Fraction(1, 2), Fraction(1)
FAST_QUARTERS_PER_MINUTE = 168
"""Above this tempo the texture moves in quarters (docs/objective.md)."""
MOVING_TEXTURES = ("running-eighths", "arpeggio")
FIFTH, OCTAVE = 7, 12
HUNDRED_BARS = 100


@dataclass(frozen=True)
class Counts:
    """What is counted of one piece, or of many together."""

    songs: int = 0
    finished: int = 0
    complaints: int = 0
    bars: int = 0
    melody: int = 0
    melody_kept: int = 0
    melody_listed: int = 0
    eighths: int = 0
    moving: int = 0
    harmonies: int = 0
    told: int = 0
    parallels: int = 0
    gap_quarters: Fraction = Fraction(0)
    gap_semitones: Fraction = Fraction(0)
    bars_over: int = 0
    bars_over_by_quick_notes: int = 0
    bars_over_by_tune: int = 0
    relaxations: int = 0
    lines: int = 0
    otherwise: int = 0
    free_songs: int = 0
    barres: int = 0
    shifts: int = 0
    notes: int = 0

    def __add__(self, other: "Counts") -> "Counts":
        return Counts(*(one + more for one, more in zip(astuple(self), astuple(other), strict=True)))


@dataclass(frozen=True)
class Measured:
    """``trouble`` says what went wrong, "" if nothing did. ``steps`` counts what was relaxed."""

    case: Case
    counts: Counts
    trouble: str = ""
    steps: tuple[str, ...] = ()
    over: tuple[Finding, ...] = ()


# ---- one song -------------------------------------------------------------------------


def measure(case: Case, levels: Mapping[str, Level], level_name: str, *, in_own_key: bool) -> Measured:
    level = levels[level_name]
    plan = Plan(level=level_name, key=str(case.song.key.tonic) if in_own_key else "")
    try:
        arrangement = arrange_song(case.song, plan, level, make_ruler(plan, levels))
        judge(arrangement, case.song, level, plan.hand_size)
        xml = write_musicxml(notate(arrangement))
        complaints = complain(xml, arrangement, case.song, level)
    except Exception as error:  # noqa: BLE001 - whatever stops a song is what is measured
        return Measured(case, Counts(songs=1), f"{type(error).__name__}: {error}")
    over = find_over_level(arrangement, level, finger_tune_alone(arrangement, level))
    return Measured(
        case,
        count(arrangement, read_page(xml), case.song, level, len(complaints)),
        "; ".join(complaints),
        tuple(str(each.step) for each in arrangement.relaxations),
        over,
    )


def complain(xml: bytes, arrangement: Arrangement, song: Song, level: Level) -> list[str]:
    """The page checker's complaints, but of bars that the source has longer or shorter than its meter."""
    melody = [(note.onset, note.duration, int(note.pitch.midi)) for note in song.melody]
    changed = [change.onset for change in arrangement.melody_changes]
    limits = {(int(a), int(b)): limit.outermost_mm for (a, b), limit in level.spans.items()}
    complaints = check_page(xml, melody=melody, changed=changed, limits_mm=limits)
    uneven = [f"bar {bar.number}: holds" for bar in song.bars if bar.span.duration != bar.meter.bar_length]
    return [each for each in complaints if not each.startswith(tuple(uneven))]


def count(arrangement: Arrangement, page: Page, song: Song, level: Level, complaints: int) -> Counts:
    kept, listed = count_melody(arrangement, song)
    eighths, moving = count_motion(arrangement, page)
    harmonies, told = count_harmonies(arrangement, page)
    quarters, semitones = measure_gap(page)
    over, by_quick_notes, by_tune = count_bars_over(arrangement, level)
    given_up = [each for each in arrangement.relaxations if each.step.is_given_up]
    return Counts(
        songs=1,
        finished=1,
        complaints=complaints,
        bars=len(page.bars),
        melody=len(song.melody),
        melody_kept=kept,
        melody_listed=listed,
        eighths=eighths,
        moving=moving,
        harmonies=harmonies,
        told=told,
        parallels=count_parallels(arrangement),
        gap_quarters=quarters,
        gap_semitones=semitones,
        bars_over=over,
        bars_over_by_quick_notes=by_quick_notes,
        bars_over_by_tune=by_tune,
        relaxations=len(given_up),
        lines=sum(each.step is RelaxationStep.BASS_LINE for each in arrangement.relaxations),
        otherwise=sum(each.step is RelaxationStep.LEVEL_KEPT for each in arrangement.relaxations),
        free_songs=not given_up,
        barres=len(arrangement.barres),
        shifts=len(list_shifts(arrangement.notes)),
        notes=len(page.sounds),
    )


def count_melody(arrangement: Arrangement, song: Song) -> tuple[int, int]:
    """The song's notes that are there in full in the piece, and those that are listed as changed."""
    interval = arrangement.transposition.semitones
    played = {(n.onset, n.offset, int(n.pitch.midi)) for n in arrangement.notes if n.role is Role.MELODY}
    kept = sum((n.onset, n.offset, n.pitch.midi + interval) in played for n in song.melody)
    return kept, len({change.onset for change in arrangement.melody_changes})


def count_motion(arrangement: Arrangement, page: Page) -> tuple[int, int]:
    """The eighths on which something should be struck, and is.

    Those of accompanied bars in a texture that moves, but of pulses in which the tune moves in
    triplets, and of the notes on which it rests for good or under a fermata; quarters where the
    tempo is fast.
    """
    moving, rests = find_moving_bars(arrangement), find_rests_for_good(arrangement)
    unit = EIGHTH if arrangement.tempo_quarters_per_minute <= FAST_QUARTERS_PER_MINUTE else QUARTER
    strokes = {sound.onset for sound in page.sounds}
    steps = [
        start
        for bar, model in zip(page.bars, arrangement.bars, strict=True)
        if model.index in moving and is_accompanied(page, bar)
        for start in split(bar.onset, bar.onset + bar.length, unit)
        if not is_in_tuplet(start, bar.onset, model.meter.pulse, strokes)
        and not any(onset <= start < offset for onset, offset in rests)
    ]
    return len(steps), sum(any(start <= stroke < start + unit for stroke in strokes) for start in steps)


def find_moving_bars(arrangement: Arrangement) -> set[int]:
    numbers = [bar.number for bar in arrangement.bars]
    return {
        index
        for section in arrangement.sections
        if section.texture in MOVING_TEXTURES
        for index in range(numbers.index(section.bar), numbers.index(section.to_bar) + 1)
    }


def find_rests_for_good(arrangement: Arrangement) -> list[tuple[Fraction, Fraction]]:
    tune = [note for note in arrangement.notes if note.role is Role.MELODY]
    last = max(note.onset for note in tune)
    return [
        (note.onset, arrangement.bars[-1].offset if note.onset == last else note.offset)
        for note in tune
        if note.has_fermata or note.onset == last
    ]


def is_accompanied(page: Page, bar: PageBar) -> bool:
    return any(
        not sound.is_melody and sound.onset < bar.onset + bar.length and bar.onset < sound.offset
        for sound in page.sounds
    )


def split(start: Fraction, end: Fraction, unit: Fraction) -> Iterator[Fraction]:
    while start < end:
        yield start
        start += unit


def is_in_tuplet(moment: Fraction, bar: Fraction, pulse: Fraction, strokes: Iterable[Fraction]) -> bool:
    start = bar + (moment - bar) // pulse * pulse
    inside = (stroke - bar for stroke in strokes if start <= stroke < start + pulse)
    return any(within.denominator & (within.denominator - 1) for within in inside)


def count_harmonies(arrangement: Arrangement, page: Page) -> tuple[int, int]:
    """Chords bar by bar, pickups aside, and those whose third or seventh sounds."""
    ends = [*(chord.onset for chord in page.chords[1:]), page.bars[-1].onset + page.bars[-1].length]
    stretches = [
        (chord.telling, max(chord.onset, bar.onset), min(end, bar.onset + bar.length))
        for chord, end in zip(page.chords, ends, strict=False)
        for bar, model in zip(page.bars, arrangement.bars, strict=True)
        if chord.telling and not model.is_pickup
    ]
    stretches = [(telling, start, end) for telling, start, end in stretches if start < end]
    told = [
        any(s.midi % 12 in telling and s.onset < end and start < s.offset for s in page.sounds)
        for telling, start, end in stretches
    ]
    return len(told), sum(told)


def measure_gap(page: Page) -> tuple[Fraction, Fraction]:
    """For how long an accompaniment sounds under the tune, and that times the semitones between them."""
    moments = sorted({moment for sound in page.sounds for moment in (sound.onset, sound.offset)})
    quarters, semitones = Fraction(0), Fraction(0)
    for start, end in pairwise(moments):
        sounding = [sound for sound in page.sounds if sound.onset <= start < sound.offset]
        tune = [sound.midi for sound in sounding if sound.is_melody]
        below = [sound.midi for sound in sounding if not sound.is_melody]
        if tune and below:
            quarters += end - start
            semitones += (end - start) * (min(tune) - max(below))
    return quarters, semitones


def count_parallels(arrangement: Arrangement) -> int:
    """Where tune and bass go from a perfect fifth or octave to the same one, both in one direction.

    The tune's note just before a new bass is compared with its note at it.
    """
    bass = sorted((n for n in arrangement.notes if n.role is Role.BASS), key=lambda n: n.onset)
    tune = [n for n in arrangement.notes if n.role is Role.MELODY]

    def tune_at(is_there: Callable[[Fraction, Fraction], bool]) -> int | None:
        return next((int(n.pitch.midi) for n in tune if is_there(n.onset, n.offset)), None)

    found = 0
    for one, other in pairwise(bass):
        at = other.onset
        before = tune_at(lambda onset, offset, at=at: onset < at <= offset)  # type: ignore[misc]
        after = tune_at(lambda onset, offset, at=at: onset <= at < offset)  # type: ignore[misc]
        if one.offset == at and before is not None and after is not None:
            found += is_parallel(int(one.pitch.midi), int(other.pitch.midi), before, after)
    return found


def is_parallel(bass: int, new_bass: int, tune: int, new_tune: int) -> bool:
    goes_along = (new_bass - bass) * (new_tune - tune) > 0
    interval = (tune - bass) % OCTAVE
    return goes_along and interval in {0, FIFTH} and (new_tune - new_bass) % OCTAVE == interval


def count_bars_over(arrangement: Arrangement, level: Level) -> tuple[int, int, int]:
    """Bars over the level; those among them that are so by the tune's own quick notes alone; and the others
    that are so all the same when the tune is played alone, fingered as well as it can be, in this key.
    """
    tune = finger_tune_alone(arrangement, level)
    found: dict[str, list[Finding]] = {}
    for each in find_over_level(arrangement, level, tune):
        found.setdefault(each.bar, []).append(each)
    by_tune = [bar for bar in found.values() if all(each.is_of_tune for each in bar)]
    quick = sum(all(each.rule in {LevelRule.SHORTEST, LevelRule.TEMPO} for each in bar) for bar in by_tune)
    return len(found), quick, len(by_tune) - quick


# ---- the table ------------------------------------------------------------------------

Column = tuple[str, Callable[[Counts], str]]


def share(part: int, whole: int) -> str:
    return f"{part / whole:.1%}" if whole else "-"


def per_hundred(number: int, bars: int) -> str:
    return f"{HUNDRED_BARS * number / bars:.1f}" if bars else "-"


COLUMNS: tuple[Column, ...] = (
    ("songs", lambda c: str(c.songs)),
    ("finished", lambda c: str(c.finished)),
    ("bars", lambda c: str(c.bars)),
    ("complaints of the page checker", lambda c: str(c.complaints)),
    ("melody notes kept", lambda c: share(c.melody_kept, c.melody)),
    ("… or listed as changed", lambda c: share(c.melody_kept + c.melody_listed, c.melody)),
    ("eighths in motion", lambda c: share(c.moving, c.eighths)),
    ("harmonies with third or seventh", lambda c: share(c.told, c.harmonies)),
    ("parallels per 100 bars", lambda c: per_hundred(c.parallels, c.bars)),
    ("gap under the tune, semitones", lambda c: f"{float(c.gap_semitones / (c.gap_quarters or 1)):.1f}"),
    (
        "bars over level",
        lambda c: share(c.bars_over - c.bars_over_by_quick_notes - c.bars_over_by_tune, c.bars),
    ),
    ("… by the tune's quick notes alone", lambda c: share(c.bars_over_by_quick_notes, c.bars)),
    ("… by the tune alone, or the key", lambda c: share(c.bars_over_by_tune, c.bars)),
    ("relaxations per 100 bars", lambda c: per_hundred(c.relaxations, c.bars)),
    ("… songs without any", lambda c: share(c.free_songs, c.songs)),
    ("other basses for the line per 100 bars", lambda c: per_hundred(c.lines, c.bars)),
    ("played otherwise for the level per 100 bars", lambda c: per_hundred(c.otherwise, c.bars)),
    ("barres per 100 bars", lambda c: per_hundred(c.barres, c.bars)),
    ("shifts per 100 bars", lambda c: per_hundred(c.shifts, c.bars)),
)


def show(measured: Sequence[Measured]) -> None:
    groups = list(dict.fromkeys(each.case.group for each in measured))
    totals = {group: total(each for each in measured if each.case.group == group) for group in groups}
    totals["all"] = total(measured)
    width = max(len(head) for head, _ in COLUMNS)
    print(" " * width, *(f"{group:>14}" for group in totals))
    for head, tell in COLUMNS:
        print(f"{head:{width}}", *(f"{tell(counts):>14}" for counts in totals.values()))


def total(measured: Iterable[Measured]) -> Counts:
    return sum((each.counts for each in measured), Counts())


def show_troubles(measured: Sequence[Measured]) -> None:
    for each in measured:
        if each.trouble:
            print(f"{each.case.group}, {each.case.name}: {each.trouble}")
    steps = Counter(step for each in measured for step in each.steps)
    print("\nrelaxed:", ", ".join(f"{number} {step}" for step, number in steps.most_common()) or "nothing")
    for is_of_tune, where in ((False, "over the level"), (True, "by the tune alone")):
        found = (finding for each in measured for finding in each.over)
        rules = Counter(str(finding.rule) for finding in found if finding.is_of_tune is is_of_tune)
        print(f"{where}:", ", ".join(f"{number} {rule}" for rule, number in rules.most_common()) or "nothing")


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--quick", action="store_true", help="every fifth tune, each song in its own key")
    parser.add_argument("--own-key", action="store_true", help="each song in its own key")
    parser.add_argument("--level", default="intermediate")
    add_only(parser)
    parser.add_argument("--bars", action="store_true", help="name the bars over the level")
    asked = parser.parse_args()
    start = perf_counter()
    cases = choose_only(gather_cases(is_quick=asked.quick), asked.only)
    work = partial(
        measure,
        levels=dict(load_default_levels()),
        level_name=asked.level,
        in_own_key=asked.quick or asked.own_key,
    )
    with ProcessPoolExecutor(cpu_count()) as pool:
        measured = list(pool.map(work, cases))
    show(measured)
    show_troubles(measured)
    for each in measured if asked.bars else ():
        for finding in each.over:
            print(f"{each.case.group}, {each.case.name}: {finding.rule}: {finding.sentence}")
    print(f"\n{len(cases)} songs in {perf_counter() - start:.0f} s")


if __name__ == "__main__":
    main()
