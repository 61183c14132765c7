"""The level that a plan names, and how hard a piece is by the rules of the levels."""

from collections.abc import Mapping
from functools import partial

from apoyando.arranging import Ruler
from apoyando.model.errors import UsageError
from apoyando.model.level import Level
from apoyando.model.plan import Plan
from apoyando.proofing import find_over_level
from apoyando.teaching import measure_points


def find_level(plan: Plan, levels: Mapping[str, Level]) -> Level:
    if plan.level not in levels:
        raise UsageError(f"there is no level {plan.level}. The levels are: {', '.join(levels)}.")
    return levels[plan.level]


def make_ruler(plan: Plan, levels: Mapping[str, Level]) -> Ruler:
    """How hard a piece is for the hand of the plan, and the levels that allow more points than its own."""
    asked = levels[plan.level]
    harder = [level for level in levels.values() if level.most_points > asked.most_points]
    return Ruler(
        partial(measure_points, hand_size=plan.hand_size),
        tuple(sorted(harder, key=lambda level: level.most_points)),
        find_over_level,
        plan.hand_size,
    )
