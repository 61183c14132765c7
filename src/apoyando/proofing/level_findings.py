"""Where an arrangement asks more than its level, in ways that can still be played.

These are findings, not refutations: the player may want the bar all the same.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from apoyando.model.arrangement import Arrangement, Note, Role
from apoyando.model.level import Level
from apoyando.model.song import bar_at
from apoyando.model.time import Quarters, Span
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
    """One limit passed in one bar. ``onset`` is the first place in the bar; the sentence tells of it.

    ``stretch``: in which time something would have to be other for it not to be passed; None where
    that is the whole piece, or its texture. ``kept_at``: the fastest tempo at which it would not be; None where no
    tempo would help.
    ``is_of_tune``: the tune alone passes it in this bar, whatever is played under it.
    """

    bar: str
    onset: Quarters
    rule: LevelRule
    sentence: str
    stretch: Span | None
    kept_at: Fraction | None = None
    is_of_tune: bool = False


def find_over_level(
    arrangement: Arrangement, level: Level, tune: Arrangement | None = None
) -> tuple[Finding, ...]:
    """Every soft limit of the level that a bar passes, at most once for each bar and rule.

    In order of time. An arrangement without bars has no findings. ``tune`` is the witness for what
    the tune alone asks: the same piece without its accompaniment, its tune fingered as well as it can be.
    Raises ValueError for one that is not the same tune, or more than the tune.
    """
    if not arrangement.bars:
        return ()
    if tune and _list_sung(tune.notes) != _list_sung(arrangement.voice(Role.MELODY)):
        raise ValueError("what is to show what the tune asks is not the tune")
    of_tune = {_key(tune, fault) for fault in _find_faults(tune, level)} if tune else set()
    first: dict[tuple[int, LevelRule], Fault] = {}
    for fault in _find_faults(arrangement, level):
        first.setdefault(_key(arrangement, fault), fault)
    return tuple(
        Finding(
            bar=bar_number(arrangement.bars, fault.onset),
            onset=fault.onset,
            rule=fault.rule,
            sentence=say(arrangement.bars, fault.onset, fault.words),
            stretch=fault.stretch,
            kept_at=fault.kept_at,
            is_of_tune=key in of_tune,
        )
        for key, fault in first.items()
    )


def _find_faults(arrangement: Arrangement, level: Level) -> list[Fault]:
    faults = (fault for find in _RULES for fault in find(arrangement, level))
    return sorted(faults, key=lambda fault: (fault.onset, fault.rule, fault.words))


def _key(arrangement: Arrangement, fault: Fault) -> tuple[int, LevelRule]:
    return bar_at(arrangement.bars, fault.onset).index, fault.rule


def _list_sung(notes: Iterable[Note]) -> list[tuple[Quarters, Quarters, int]]:
    return sorted((note.onset, note.offset, note.pitch.midi) for note in notes)
