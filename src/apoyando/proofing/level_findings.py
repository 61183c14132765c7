"""Where an arrangement asks more than its level, in ways that can still be played.

These are findings, not refutations: the player may want the bar all the same.
"""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from apoyando.model.arrangement import Arrangement, Barre, Note, Role
from apoyando.model.hand import Finger
from apoyando.model.level import Level
from apoyando.model.song import bar_at
from apoyando.model.time import Quarters
from apoyando.proofing.moment import sweep
from apoyando.proofing.wording import bar_number, name_barre, name_note, say


class LevelRule(StrEnum):
    """The soft limits of a level."""

    HIGHEST_FRET = "highest fret"
    BARRE = "length of a barre"
    SMALL_BARRE = "small barre"
    SHORTEST = "shortest value"
    STRUCK_TOGETHER = "notes struck together"
    SHIFT = "farthest shift"


@dataclass(frozen=True, slots=True)
class Finding:
    """One limit passed in one bar. ``onset`` is the first place in the bar; the sentence tells of it."""

    bar: str
    onset: Quarters
    rule: LevelRule
    sentence: str


_Place = tuple[Quarters, LevelRule, str]


def find_over_level(arrangement: Arrangement, level: Level) -> tuple[Finding, ...]:
    """Every soft limit of the level that a bar passes, at most once for each bar and rule.

    In order of time. An arrangement without bars has no findings.
    """
    if not arrangement.bars:
        return ()
    places = [
        *_high_frets(arrangement, level),
        *_long_barres(arrangement, level),
        *_small_barres(arrangement, level),
        *_short_values(arrangement, level),
        *_full_strokes(arrangement, level),
        *_far_shifts(arrangement, level),
    ]
    return tuple(_once_a_bar(arrangement, sorted(places)))


def _once_a_bar(arrangement: Arrangement, places: Iterable[_Place]) -> Iterator[Finding]:
    seen: set[tuple[int, LevelRule]] = set()
    for onset, rule, fault in places:
        key = (bar_at(arrangement.bars, onset).index, rule)
        if key not in seen:
            seen.add(key)
            sentence = say(arrangement.bars, onset, fault)
            yield Finding(bar_number(arrangement.bars, onset), onset, rule, sentence)


def _high_frets(arrangement: Arrangement, level: Level) -> Iterator[_Place]:
    for note in arrangement.notes:
        highest = _highest_fret(arrangement, note, level)
        if note.place.fret > highest:
            fault = f"{name_note(note)} lies above fret {highest}"
            yield note.onset, LevelRule.HIGHEST_FRET, fault


def _highest_fret(arrangement: Arrangement, note: Note, level: Level) -> int:
    if note.role.is_accompaniment:
        return level.accompaniment_highest_fret
    if note.place.fret <= level.melody_highest_fret:
        return level.melody_highest_fret
    return level.peak_fret if _is_over_open_strings(arrangement, note) else level.melody_highest_fret


def _is_over_open_strings(arrangement: Arrangement, peak: Note) -> bool:
    return all(
        note.place.is_open for note in arrangement.notes if note.span.overlaps(peak.span) and note is not peak
    )


def _long_barres(arrangement: Arrangement, level: Level) -> Iterator[_Place]:
    for run in _barre_runs(arrangement.barres):
        length = run[-1].span.offset - run[0].span.onset
        if length > level.barre_quarters:
            allowed = f"at most {level.barre_quarters}" if level.allows_barre else "none in this level"
            fault = f"{name_barre(run[0])} lies for {length} quarters, {allowed}"
            yield run[0].span.onset, LevelRule.BARRE, fault


def _small_barres(arrangement: Arrangement, level: Level) -> Iterator[_Place]:
    for barre in arrangement.barres:
        if barre.is_small and not level.small_barres:
            fault = f"{name_barre(barre)} is a small one, none in this level"
            yield barre.span.onset, LevelRule.SMALL_BARRE, fault


def _barre_runs(barres: Iterable[Barre]) -> list[list[Barre]]:
    """Barres at one fret that follow each other without a gap are one: the finger never rests."""
    runs: list[list[Barre]] = []
    for barre in sorted(barres, key=lambda barre: (barre.finger, barre.span.onset)):
        last = runs[-1][-1] if runs else None
        if last and _goes_on(last, barre):
            runs[-1].append(barre)
        else:
            runs.append([barre])
    return runs


def _goes_on(last: Barre, barre: Barre) -> bool:
    is_the_same = last.finger is barre.finger and last.fret == barre.fret
    return is_the_same and last.span.offset == barre.span.onset


def _short_values(arrangement: Arrangement, level: Level) -> Iterator[_Place]:
    for note in arrangement.notes:
        is_melody = note.role is Role.MELODY
        shortest = level.melody_shortest if is_melody else level.accompaniment_shortest
        if note.duration < shortest:
            fault = f"{name_note(note)} lasts {note.duration} quarters, shorter than {shortest}"
            yield note.onset, LevelRule.SHORTEST, fault


def _full_strokes(arrangement: Arrangement, level: Level) -> Iterator[_Place]:
    for onset, count in Counter(note.onset for note in arrangement.notes).items():
        if count > level.struck_together:
            fault = f"{count} notes are struck together, at most {level.struck_together}"
            yield onset, LevelRule.STRUCK_TOGETHER, fault


def _far_shifts(arrangement: Arrangement, level: Level) -> Iterator[_Place]:
    for (_, before), (onset, after) in pairwise(_positions(arrangement)):
        frets = abs(after - before)
        if frets > level.shift_frets:
            fault = f"the hand shifts {frets} frets, at most {level.shift_frets}"
            yield onset, LevelRule.SHIFT, fault


def _positions(arrangement: Arrangement) -> Iterator[tuple[Quarters, int]]:
    """Where finger 1 lies or would lie, at every moment in which a finger presses."""
    for moment in sweep(note for note in arrangement.notes if note.finger is not Finger.OPEN):
        lowest = min(moment.notes, key=lambda note: note.finger)
        yield moment.span.onset, max(1, lowest.place.fret - lowest.finger + 1)
