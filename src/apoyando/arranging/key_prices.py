"""What a song costs in one key: as the search finds it, and as it is at its level."""

from dataclasses import dataclass
from functools import partial

from apoyando.arranging.arrange import keep_to_level, measure_next_level
from apoyando.arranging.as_played import price_as_played
from apoyando.arranging.ruler import Ruler
from apoyando.arranging.solved import solve_in_key
from apoyando.arranging.tune_alone import finger_tune_alone
from apoyando.model.arrangement import Arrangement
from apoyando.model.level import Level
from apoyando.model.pitch import Key
from apoyando.model.plan import Plan
from apoyando.model.song import Song, bar_at

_ROUNDS = 1
"""Without one a song whose bars come again may seem much dearer in a key than it is; with one it was never as much
as two per cent, in six keys of each of 29 lead sheets."""


def price_in_key(song: Song, plan: Plan, level: Level, key: Key) -> int:
    """What the search asks for the song in one key. Raises as ``solve_in_key``."""
    return solve_in_key(song, plan, level, key, 0).solution.price


@dataclass(frozen=True, slots=True)
class KeptToLevel:
    """A song in one key as the level has it, and what it costs so: no less than what ``price_in_key`` finds."""

    arrangement: Arrangement
    price: int


def keep_to_level_in_key(song: Song, plan: Plan, level: Level, key: Key, ruler: Ruler) -> KeptToLevel:
    """The song as ``arrange_in_key`` makes it, to compare with other keys: at once, without a proof.

    The plan's ending is not yet made. The price is what the notes cost as they are then, and something for each
    bar that is beyond the level all the same, unless its tune alone is. Raises as ``solve_in_key``.
    """
    solved = solve_in_key(song, plan, level, key, _ROUNDS)
    arrangement = keep_to_level(solved, ruler, partial(measure_next_level, song, plan, level, key, ruler))
    notes = price_as_played(solved.posed, arrangement, solved.searcher)
    beyond = _count_bars_beyond(arrangement, ruler, level) * solved.posed.setting.prices.bar_over_level
    return KeptToLevel(arrangement, notes + beyond)


def _count_bars_beyond(arrangement: Arrangement, ruler: Ruler, level: Level) -> int:
    """Bars that ask more points than the level has, or pass another limit of it, but for those whose tune alone does."""
    beyond = _list_beyond(arrangement, ruler, level)
    tune = finger_tune_alone(arrangement, level, ruler.hand_size) if beyond else None
    of_tune = _list_beyond(tune, ruler, level) if tune else frozenset[tuple[int, str]]()
    return len({bar for bar, _ in beyond - of_tune})


def _list_beyond(arrangement: Arrangement, ruler: Ruler, level: Level) -> frozenset[tuple[int, str]]:
    """Bars, by their index, each with the limit that it passes; what belongs to no stretch of time is no matter here."""
    points = zip(arrangement.bars, ruler.measure(arrangement, level), strict=True)
    hard = {(bar.index, "points") for bar, asked in points if asked > level.points_for(bar.span.duration)}
    found = (each for each in ruler.find(arrangement, level) if each.stretch)
    return frozenset(hard | {(bar_at(arrangement.bars, each.onset).index, str(each.rule)) for each in found})
