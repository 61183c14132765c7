"""The search: the cheapest way of the hands through all slices, and the notes it takes.

Time grows linearly with the slices, and memory does not grow but for the answer.
"""

import numpy as np

from apoyando.fingering.alike import PROOF_ROUNDS
from apoyando.fingering.fronts import Front, Task, Walk, cheapest_end, traced_back
from apoyando.fingering.layers import LayerMaker
from apoyando.fingering.problem import Problem
from apoyando.fingering.searcher import Searcher
from apoyando.fingering.solution import ChosenSlice, Solution
from apoyando.model.instrument import Tuning
from apoyando.model.level import Level
from apoyando.model.prices import Prices

_SETTLED_EVERY = 64
"""After so many slices the ways are traced back to where all of them are one."""


def find_best_way(
    problem: Problem,
    *,
    tuning: Tuning,
    level: Level,
    prices: Prices,
    hand_size: float = 1.0,
    proof_rounds: int = PROOF_ROUNDS,
) -> Solution:
    """The cheapest choice of notes and touches for all slices.

    Where nothing has to be played alike it is always proven; where something has, the proof is
    given up after ``proof_rounds``, and the answer says whether it was found. Raises NoWayError
    if the hand cannot sound all that must sound.
    """
    if problem.alike:
        searcher = Searcher(tuning=tuning, level=level, prices=prices, hand_size=hand_size)
        return searcher.find_best_way(problem, proof_rounds=proof_rounds)
    walk = Walk(LayerMaker(tuning, level, prices, hand_size))
    past = _Past()
    front = None
    for slice_ in problem.slices:
        front = walk.step(front, Task(slice_))
        past.add(front)
    return past.solution()


class _Past:
    """The ways so far. Where all of them are one, they are settled, and the fronts let go.

    So memory does not grow with the song, but for its answer: ways that part meet again
    within a few bars.
    """

    def __init__(self) -> None:
        self._settled: list[ChosenSlice] = []
        self._open: list[Front] = []
        self._price = 0

    def add(self, front: Front) -> None:
        self._open.append(front)
        self._price += front.rise
        if len(self._open) % _SETTLED_EVERY == 0:
            self._settle()

    def solution(self) -> Solution:
        if not self._open:
            return Solution((), 0, 0, is_optimal=True)
        last, state = cheapest_end(self._open[-1])
        price = self._price + last
        return Solution((*self._settled, *traced_back(self._open, state)), price, price, is_optimal=True)

    def _settle(self) -> None:
        """Where the ways into all states of the last front go through one state."""
        states = self._open[-1].open_states()
        for index in range(len(self._open) - 1, 0, -1):
            states = np.unique(self._open[index].came_from.ravel()[states])
            if len(states) == 1:
                self._settled += traced_back(self._open[:index], int(states[0]))
                del self._open[:index]
                return
