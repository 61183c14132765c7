"""The searcher: answers one question after the other, and has what comes again played alike."""

from dataclasses import replace

from apoyando.fingering.alike import PROOF_ROUNDS, play_alike
from apoyando.fingering.fronts import Task, Walk
from apoyando.fingering.layers import LayerMaker
from apoyando.fingering.problem import Problem
from apoyando.fingering.route import Route, go
from apoyando.fingering.solution import Solution
from apoyando.model.instrument import Tuning
from apoyando.model.level import Level
from apoyando.model.prices import Prices

_KEPT_STATES = 2_000_000
"""Some 25 megabytes: all that is tried for a song of 32 bars in which much comes again."""


class Searcher:
    """Answers one question after the other, and goes anew only where they differ.

    From a slice that differs from the last question on, until the states are again as they
    were: then what follows is known up to the next slice that differs.
    """

    def __init__(self, *, tuning: Tuning, level: Level, prices: Prices, hand_size: float = 1.0) -> None:
        self._walk = Walk(LayerMaker(tuning, level, prices, hand_size), _KEPT_STATES)
        self._route = Route()

    def find_best_way(self, problem: Problem, *, proof_rounds: int = PROOF_ROUNDS) -> Solution:
        """The same as the function of this name. Raises NoWayError, and forgets nothing then."""
        self._route = go(self._walk, [Task(slice_) for slice_ in problem.slices], self._route)
        route, bound = play_alike(self._walk, self._route, problem.alike, proof_rounds)
        solution = route.solution()
        return replace(solution, lower_bound=bound, is_optimal=bound == solution.price)
