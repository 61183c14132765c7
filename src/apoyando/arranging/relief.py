"""Relief: bars that ask more than the level has, made easier with the least loss.

The greatest fidelity under a bound on difficulty per unit of time (the design of Nakamura &
Yoshii 2018 for piano reduction); the unit is the bar, the bound is what the level allows a bar of its length.
What is given up comes from the accompaniment, step by step in ``STEPS``: the tune stays as it
is. A bar takes as few steps as it needs; one that none of them brings within the bound keeps
those with which it is easiest. Bars that are played alike are relieved alike.

Monotone: an easier level is never measured harder. A hand that knows less (no hinge barre, no
far shift) may need more points for the same bar; so the whole piece is held against that of the
next harder level, and where it asks more the bars that are worst off are relieved too.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from types import MappingProxyType

from apoyando.arranging.easing import STEPS, ease_slice, name_steps, tell_eased
from apoyando.arranging.posed import PosedSong
from apoyando.arranging.preparation import PreparedSong
from apoyando.arranging.recurrence import bars_alike
from apoyando.arranging.ruler import Measure, Remake
from apoyando.arranging.section_bars import find_bars
from apoyando.fingering import NoWayError, Slice
from apoyando.model.arrangement import Arrangement, Relaxation, RelaxationStep
from apoyando.model.song import bar_at
from apoyando.model.time import Quarters

# How far each bar has to go.

_NEGLIGIBLE = 0.005
"""Points are told to a hundredth."""

Steps = Mapping[int, int]
"""How many steps are on a bar, by the bar's index; none on those that are not named."""


@dataclass(frozen=True, slots=True)
class _State:
    """What comes of some steps."""

    steps: Steps
    arrangement: Arrangement
    points: Sequence[float]


def find_wished_steps(prepared: PreparedSong) -> Steps:
    """The steps that the player wishes for single bars. Raises UsageError for a bar that is not there."""
    return {
        index: section.easier
        for number, section in enumerate(prepared.plan.sections, 1)
        if section.easier
        for index in find_bars(prepared.song, section, number)
    }


def relieve(
    posed: PosedSong,
    arrangement: Arrangement,
    measure: Measure,
    remake: Remake,
    ceiling: Sequence[float] = (),
    wished: Steps = MappingProxyType({}),
) -> Arrangement:
    """The arrangement with every bar within the level's bound, or as near to it as the tune lets it be.

    ``ceiling`` has the points of every bar at the next harder level; in sum no more are asked.
    ``wished``: so many steps at least are taken on some bars.
    What was done is listed bar by bar among the relaxations (``BAR_EASED``), and what is beyond
    the bound all the same (``OVER_LEVEL``).
    """
    level = posed.setting.level
    before = _State({}, arrangement, measure(arrangement, level))
    bounds = tuple(level.points_for(bar.span.duration) for bar in arrangement.bars)
    relief = _Relief(posed, measure, remake, bounds)
    eased = relief.ease(before, wished)
    after = relief.come_under(ceiling, relief.come_within(eased))
    return arrangement if after is before else _tell(before, relief.settle(after, ceiling), bounds)


@dataclass(frozen=True, slots=True)
class _Relief:
    """The bars of one song on their way down, each to its bound."""

    posed: PosedSong
    measure: Measure
    remake: Remake
    bounds: tuple[float, ...]

    def list_over(self, state: _State) -> list[int]:
        """The bars beyond their bound."""
        pairs = zip(state.points, self.bounds, strict=True)
        return [index for index, (points, bound) in enumerate(pairs) if points > bound]

    def ease(self, before: _State, steps: Steps) -> _State:
        """With some steps, on all bars that are to be played alike; as it was where no hand can."""
        wanted = {alike: count for index, count in steps.items() for alike in bars_alike(self.posed, index)}
        return self._try(wanted) or before if wanted else before

    def come_within(self, before: _State) -> _State:
        """Every bar within its bound, as far as that can be had."""
        return self._drop_idle(before, self._step_down(before)) if self.list_over(before) else before

    def come_under(self, ceiling: Sequence[float], before: _State) -> _State:
        """In sum no harder than the ceiling: the bars that are farthest above theirs go down, a step at a time.

        They are within their bounds already; so none goes farther than the sum asks.
        """
        state = before
        while ceiling and sum(state.points) > sum(ceiling) + _NEGLIGIBLE:
            further = self._go_on(state.steps, _list_worst(state, ceiling))
            after = self._try(further) if further != state.steps else None
            if after is None:
                break
            state = after
        return self._drop_vain(before, state, ceiling)

    def _drop_vain(self, before: _State, after: _State, ceiling: Sequence[float]) -> _State:
        """Without the steps on bars that came no lower by them, if the sum allows it."""
        served = {
            alike
            for index, points in enumerate(after.points)
            if points < before.points[index] - _NEGLIGIBLE
            for alike in bars_alike(self.posed, index)
        }
        steps = {
            index: count
            for index, taken in after.steps.items()
            for count in [taken if index in served else before.steps.get(index, 0)]
            if count
        }
        dropped = self._try(steps) if steps != after.steps else None
        is_lower = dropped and sum(dropped.points) <= max(sum(after.points), sum(ceiling)) + _NEGLIGIBLE
        return dropped if dropped and is_lower else after

    def _step_down(self, state: _State) -> _State:
        """One step more on every bar that is beyond the bound, until there is none or none is left."""
        seen: list[dict[int, float]] = [{} for _ in state.points]
        while True:
            for index, points in enumerate(state.points):
                seen[index][state.steps.get(index, 0)] = points
            further = self._go_on(state.steps, self.list_over(state))
            after = self._try(further) if further != state.steps else None
            if after is None:
                return self._at_their_easiest(state, seen)
            state = after

    def _go_on(self, steps: Steps, over: Iterable[int]) -> Steps:
        further = dict(steps)
        for index in over:
            for alike in bars_alike(self.posed, index):
                further[alike] = min(steps.get(alike, 0) + 1, len(STEPS))
        return further

    def _at_their_easiest(self, state: _State, seen: Sequence[Mapping[int, float]]) -> _State:
        """Bars for which all steps were not enough, with those that served them best."""
        steps = dict(state.steps)
        for index in self.list_over(state):
            best = min(seen[index], key=lambda count: (round(seen[index][count], 2), count))
            steps.update(dict.fromkeys(bars_alike(self.posed, index), best))
        return self._try(steps) or state

    def _drop_idle(self, before: _State, after: _State) -> _State:
        """Without the steps on bars that are beyond the bound all the same, and no easier by them."""
        over = self.list_over(after)
        idle = {index for index in over if after.points[index] >= before.points[index]}
        steps = {
            index: count
            for index, count in after.steps.items()
            if count and not idle.issuperset(set(bars_alike(self.posed, index)) & set(over) or {index})
        }
        return after if steps == after.steps else self._try(steps) or after

    def settle(self, state: _State, ceiling: Sequence[float]) -> _State:
        """The state as far as it can be proven optimal, unless it is harder then."""
        proven = self._try(state.steps, is_final=True) or state
        is_under = sum(proven.points) <= max(sum(state.points), sum(ceiling)) + _NEGLIGIBLE
        return proven if is_under and len(self.list_over(proven)) <= len(self.list_over(state)) else state

    def _try(self, steps: Steps, *, is_final: bool = False) -> _State | None:
        """None where the hand finds no way, as beside a lock."""
        problem = replace(self.posed.problem, slices=tuple(self._relieved_slices(steps)))
        try:
            arrangement = self.remake(problem, is_final=is_final)
        except NoWayError:
            return None
        return _State(steps, arrangement, self.measure(arrangement, self.posed.setting.level))

    def _relieved_slices(self, steps: Steps) -> Iterator[Slice]:
        for index, plotted in enumerate(self.posed.slices):
            bar = bar_at(self.posed.song.bars, plotted.onset)
            yield ease_slice(self.posed, index, steps.get(bar.index, 0))


def _list_worst(state: _State, ceiling: Sequence[float]) -> list[int]:
    """As few bars with steps left as together have what the sum is too high by; the farthest above theirs first."""
    above = [points - most for points, most in zip(state.points, ceiling, strict=True)]
    worst: list[int] = []
    left = sum(above)
    for index in sorted(range(len(above)), key=lambda index: -above[index]):
        if left <= 0 or above[index] <= 0:
            break
        if state.steps.get(index, 0) < len(STEPS):
            worst.append(index)
            left -= above[index]
    return worst


# What is told.


def _tell(before: _State, after: _State, bounds: Sequence[float]) -> Arrangement:
    told = tell_eased(after.arrangement, _list_eased(before, after), partial(_steps_at, after))
    relaxations = (*told.relaxations, *_list_beyond(after, bounds))
    return replace(told, relaxations=tuple(sorted(relaxations, key=lambda each: each.onset)))


def _list_eased(before: _State, after: _State) -> Iterator[Relaxation]:
    for index, count in sorted(after.steps.items()):
        bar = after.arrangement.bars[index]
        change = f"{after.points[index]:.1f} points instead of {before.points[index]:.1f}"
        why = f"{change}: {name_steps(count)}"
        yield Relaxation(RelaxationStep.BAR_EASED, bar.number, bar.onset, why)


def _steps_at(after: _State, moment: Quarters) -> int:
    return after.steps.get(bar_at(after.arrangement.bars, moment).index, 0)


def _list_beyond(after: _State, bounds: Sequence[float]) -> Iterator[Relaxation]:
    for bar, points, most in zip(after.arrangement.bars, after.points, bounds, strict=True):
        if points > most:
            why = f"{points:.1f} points, at most {most:g} at this level"
            yield Relaxation(RelaxationStep.OVER_LEVEL, bar.number, bar.onset, why)
