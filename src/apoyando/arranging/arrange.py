"""The arranger: from a song and a plan to the arrangement in one key."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial

from apoyando.arranging.closing_harmonics import close_on_harmonics
from apoyando.arranging.form import mark_ending
from apoyando.arranging.limits import keep_limits
from apoyando.arranging.relief import find_wished_steps, relieve
from apoyando.arranging.ruler import Ruler
from apoyando.arranging.solved import SolvedSong, solve_in_key
from apoyando.cores import beside
from apoyando.fingering import PROOF_ROUNDS, Problem
from apoyando.model.arrangement import Arrangement
from apoyando.model.level import Level
from apoyando.model.pitch import Key
from apoyando.model.plan import Plan
from apoyando.model.song import Song

Show = Callable[[Arrangement], None]
"""Is given a piece to look at while it is still worked at."""


def arrange_in_key(
    song: Song,
    plan: Plan,
    level: Level,
    key: Key,
    *,
    ruler: Ruler | None = None,
    show: Show | None = None,
) -> Arrangement:
    """The song in one key: the cheapest arrangement by the stated prices that keeps the locks.

    With a ``ruler`` of difficulty bars that ask more than the level has are made easier, and the
    piece is no harder than at the next harder level. ``show`` is given the piece at once, before
    that, and before it is proven that no other costs less.
    Raises UsageError for locks that cannot be kept, naming the fewest that clash.
    """
    ask_ceiling = (
        beside(partial(measure_next_level, song, plan, level, key, ruler))
        if ruler and ruler.harder
        else tuple
    )
    solved = solve_in_key(song, plan, level, key, 0 if show else PROOF_ROUNDS)
    if show:
        show(_close(solved, solved.arrange()))
        solved = solved.ask(solved.posed.problem, PROOF_ROUNDS)
    return _close(solved, keep_to_level(solved, ruler, ask_ceiling, PROOF_ROUNDS))


def keep_to_level(
    solved: SolvedSong,
    ruler: Ruler | None,
    ask_ceiling: Callable[[], Sequence[float]] = tuple,
    proof_rounds: int = 0,
) -> Arrangement:
    """The arrangement with its limits kept and its hard bars made easier, and all that was done told.

    In sum it asks no more points than the bars of the ceiling have. Without a ``ruler`` it is as it was solved.
    """
    if not ruler:
        return solved.arrange()

    def remake(problem: Problem, *, is_final: bool) -> Arrangement:
        return solved.ask(problem, proof_rounds if is_final else 0).arrange()

    kept = keep_limits(solved.posed, solved.arrange(), ruler, remake)
    wished = find_wished_steps(solved.prepared)
    relieved = relieve(kept.posed, kept.arrangement, ruler.measure, remake, ask_ceiling(), wished)
    return kept.tell(relieved)


def _close(solved: SolvedSong, arrangement: Arrangement) -> Arrangement:
    """With the ending that the plan wants."""
    plan = solved.prepared.plan
    closed = close_on_harmonics(arrangement, solved.posed, plan.ending, plan.hand_size)
    return mark_ending(closed, plan.ending)


def measure_next_level(song: Song, plan: Plan, level: Level, key: Key, ruler: Ruler) -> Sequence[float]:
    """The points of every bar of the piece at the next harder level, for the hand of this one.

    No time is spent on proving that piece optimal. Nothing where there is no harder level.
    """
    if not ruler.harder:
        return ()
    next_level, *harder = ruler.harder
    plan, above = replace(plan, level=next_level.name), replace(ruler, harder=tuple(harder))
    solved = solve_in_key(song, plan, next_level, key, 0)
    ask_ceiling = partial(measure_next_level, song, plan, next_level, key, above)
    return ruler.measure(_close(solved, keep_to_level(solved, above, ask_ceiling)), level)
