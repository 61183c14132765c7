"""Where an arrangement asks more than its level, in ways that can still be played.

These are findings, not refutations: the player may want the bar all the same.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from apoyando.model.arrangement import Arrangement
from apoyando.model.level import Level
from apoyando.model.song import bar_at
from apoyando.model.time import Quarters
from apoyando.proofing.level_rules import (
    Fault,
    LevelRule,
    find_far_shifts,
    find_hasty_shifts,
    find_high_frets,
    find_hinges,
    find_long_barres,
    find_small_barres,
    find_tired_barres,
    find_unknown_barres,
)
from apoyando.proofing.level_values import find_foreign_keys, find_full_strokes, find_short_values
from apoyando.proofing.wording import bar_number, say

__all__ = ["Finding", "LevelRule", "find_over_level"]

_RULES = (
    find_foreign_keys,
    find_high_frets,
    find_long_barres,
    find_unknown_barres,
    find_hinges,
    find_tired_barres,
    find_small_barres,
    find_short_values,
    find_full_strokes,
    find_far_shifts,
    find_hasty_shifts,
)


@dataclass(frozen=True, slots=True)
class Finding:
    """One limit passed in one bar. ``onset`` is the first place in the bar; the sentence tells of it."""

    bar: str
    onset: Quarters
    rule: LevelRule
    sentence: str


def find_over_level(arrangement: Arrangement, level: Level) -> tuple[Finding, ...]:
    """Every soft limit of the level that a bar passes, at most once for each bar and rule.

    In order of time. An arrangement without bars has no findings.
    """
    if not arrangement.bars:
        return ()
    faults = [fault for find in _RULES for fault in find(arrangement, level)]
    return tuple(_once_a_bar(arrangement, sorted(faults)))


def _once_a_bar(arrangement: Arrangement, faults: Iterable[Fault]) -> Iterator[Finding]:
    seen: set[tuple[int, LevelRule]] = set()
    for onset, rule, fault in faults:
        key = (bar_at(arrangement.bars, onset).index, rule)
        if key not in seen:
            seen.add(key)
            sentence = say(arrangement.bars, onset, fault)
            yield Finding(bar_number(arrangement.bars, onset), onset, rule, sentence)
