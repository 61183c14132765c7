"""What a song costs in one key: as the search finds it, and as it is at its level."""

from dataclasses import dataclass

from apoyando.arranging.arrange import keep_to_level
from apoyando.arranging.as_played import price_as_played
from apoyando.arranging.ruler import Ruler
from apoyando.arranging.solved import solve_in_key
from apoyando.arranging.tune_alone import finger_tune_alone
from apoyando.model.arrangement import Arrangement, RelaxationStep
from apoyando.model.level import Level
from apoyando.model.pitch import Key
from apoyando.model.plan import Plan
from apoyando.model.song import Song

_ROUNDS = 1
"""Without one a song whose bars come again may seem five per cent dearer in a key than it is; with one it was never
as much as two, in six keys of each of 29 lead sheets."""


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

    The next harder level is not asked, and the plan's ending not yet made. The price is what the notes cost as
    they are then, and something for each bar that is beyond the level all the same, unless its tune alone is.
    Raises as ``solve_in_key``.
    """
    solved = solve_in_key(song, plan, level, key, _ROUNDS)
    arrangement = keep_to_level(solved, ruler)
    notes = price_as_played(solved.posed, arrangement, solved.searcher)
    beyond = _count_bars_beyond(arrangement, ruler, level) * solved.posed.setting.prices.bar_over_level
    return KeptToLevel(arrangement, notes + beyond)


def _count_bars_beyond(arrangement: Arrangement, ruler: Ruler, level: Level) -> int:
    """Bars that ask more points than the level has, but for those whose tune alone does."""
    beyond = {each.onset for each in arrangement.relaxations if each.step is RelaxationStep.OVER_LEVEL}
    tune = finger_tune_alone(arrangement, level, ruler.hand_size) if beyond else None
    points = ruler.measure(tune, level) if tune else ()
    of_tune = {
        bar.onset
        for bar, asked in zip(arrangement.bars, points, strict=False)
        if asked > level.points_for(bar.span.duration)
    }
    return len(beyond - of_tune)
