"""The searcher: answers questions that differ little quickly, and has what comes again played alike."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from apoyando.fingering.fronts import Front, Pin, Task, Walk, cheapest_end, grips_traced_back, traced_back
from apoyando.fingering.layers import LayerMaker
from apoyando.fingering.problem import NoWayError, Problem
from apoyando.fingering.solution import Solution
from apoyando.fingering.touches import PLACE
from apoyando.model.instrument import Tuning
from apoyando.model.level import Level
from apoyando.model.prices import Prices


class Searcher:
    """Answers one question after the other, and goes anew only where they differ.

    From a slice that differs from the last question on, until the states are again as they
    were: then what follows is known up to the next slice that differs.
    """

    def __init__(self, *, tuning: Tuning, level: Level, prices: Prices, hand_size: float = 1.0) -> None:
        self._walk = Walk(LayerMaker(tuning, level, prices, hand_size))
        self._route = _Route()

    def find_best_way(self, problem: Problem) -> Solution:
        """The same as the function of this name. Raises NoWayError, and forgets nothing then."""
        self._route = _go(self._walk, [Task(slice_) for slice_ in problem.slices], self._route)
        solution = self._route.solution()
        alike = _played_alike(self._walk, self._route, problem.alike)
        if alike is self._route:
            return solution
        return replace(alike.solution(), lower_bound=solution.price, is_optimal=alike.price == solution.price)


@dataclass(frozen=True, slots=True, eq=False)
class _Route:
    """All fronts of a question, kept."""

    tasks: tuple[Task, ...] = ()
    fronts: tuple[Front, ...] = ()

    @property
    def price(self) -> int:
        return sum(front.rise for front in self.fronts) + cheapest_end(self.fronts[-1])[0]

    def solution(self) -> Solution:
        if not self.fronts:
            return Solution((), 0, 0, is_optimal=True)
        _, state = cheapest_end(self.fronts[-1])
        return Solution(tuple(traced_back(self.fronts, state)), self.price, self.price, is_optimal=True)

    def pins(self) -> list[Pin]:
        """How each slice is played at best."""
        _, state = cheapest_end(self.fronts[-1])
        return [
            tuple(PLACE[front.layer.ways.touches[:, grip]].tolist())
            for front, grip in zip(self.fronts, grips_traced_back(self.fronts, state), strict=True)
        ]


def _go(walk: Walk, tasks: Sequence[Task], known: _Route) -> _Route:
    """The fronts of all tasks; those of ``known`` are taken where nothing has changed."""
    fronts: list[Front] = []
    for index, task in enumerate(tasks):
        old = known.fronts[index] if known.tasks[index : index + 1] == (task,) else None
        if old and (index == 0 or fronts[-1] is known.fronts[index - 1]):
            fronts.append(old)
            continue
        front = walk.step(fronts[-1] if fronts else None, task)
        fronts.append(old if old and _is_alike(front, old) else front)
    return _Route(tuple(tasks), tuple(fronts))


def _is_alike(front: Front, known: Front) -> bool:
    return (
        front.layer.ways is known.layer.ways
        and np.array_equal(front.met, known.met)
        and np.array_equal(front.packed, known.packed)
        and np.array_equal(front.came_from, known.came_from)
        and front.rise == known.rise
    )


def _played_alike(walk: Walk, route: _Route, groups: Sequence[Sequence[range]]) -> _Route:
    """The route on which the stretches of each group are played alike.

    Where they are not, the group takes the fingering of one of them for all, the cheapest for the
    whole song, and the rest finds its best way around it. A group for which none can be taken
    stays as it is.
    """
    left = list(groups)
    while unlike := next((group for group in left if len(_patterns(route, group)) > 1), None):
        left.remove(unlike)
        trials = [_with_pattern(walk, route, unlike, pattern) for pattern in _patterns(route, unlike)]
        route = min((trial for trial in trials if trial), key=lambda trial: trial.price, default=route)
    return route


def _patterns(route: _Route, group: Sequence[range]) -> list[tuple[Pin, ...]]:
    """The different fingerings of a group's stretches, in the order of their first coming."""
    pins = route.pins()
    return list(dict.fromkeys(tuple(pins[index] for index in stretch) for stretch in group))


def _with_pattern(walk: Walk, route: _Route, group: Sequence[range], pattern: Sequence[Pin]) -> _Route | None:
    tasks = list(route.tasks)
    for stretch in group:
        for index, pin in zip(stretch, pattern, strict=True):
            tasks[index] = replace(tasks[index], pin=pin)
    try:
        return _go(walk, tasks, route)
    except NoWayError:
        return None
