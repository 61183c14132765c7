"""A route: the fronts of a whole question, kept, so that a question that differs little is soon answered."""

from collections.abc import Sequence
from dataclasses import dataclass

from apoyando.fingering.fronts import Front, Task, Walk, cheapest_end, grips_traced_back, traced_back
from apoyando.fingering.solution import Solution


@dataclass(frozen=True, slots=True, eq=False)
class Route:
    """All fronts of a question, kept."""

    tasks: tuple[Task, ...] = ()
    fronts: tuple[Front, ...] = ()

    @property
    def price(self) -> int:
        end = cheapest_end(self.fronts[-1])[0] if self.fronts else 0
        return sum(front.rise for front in self.fronts) + end

    def solution(self) -> Solution:
        if not self.fronts:
            return Solution((), 0, 0, is_optimal=True)
        _, state = cheapest_end(self.fronts[-1])
        return Solution(tuple(traced_back(self.fronts, state)), self.price, self.price, is_optimal=True)

    def grips(self) -> list[int]:
        """How each slice is played at best."""
        return grips_traced_back(self.fronts, cheapest_end(self.fronts[-1])[1]) if self.fronts else []


def go(walk: Walk, tasks: Sequence[Task], known: Route) -> Route:
    """The fronts of all tasks; those of ``known`` are taken where nothing has changed."""
    fronts: list[Front] = []
    for index, task in enumerate(tasks):
        old = known.fronts[index] if known.tasks[index : index + 1] == (task,) else None
        if old and (index == 0 or fronts[-1] is known.fronts[index - 1]):
            fronts.append(old)
            continue
        fronts.append(walk.step(fronts[-1] if fronts else None, task))
    return Route(tuple(tasks), tuple(fronts))
