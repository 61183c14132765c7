"""Limits of the level kept, with the least loss: a barre too long, a shift without time, a fret too high.

Unlike points, which a bar has as a whole, such a limit is passed in a stretch of time; only what may
sound in that stretch is made easier, by as few of the steps of ``easing`` as it needs. What the tune
alone passes no accompaniment can mend, and it is let be. What is played alike is eased alike.
"""

from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from apoyando.arranging.easing import STEPS, ease_slice, name_steps, tell_eased
from apoyando.arranging.posed import PosedSong
from apoyando.arranging.recurrence import slices_alike
from apoyando.arranging.ruler import Excess, Remake, Ruler
from apoyando.arranging.tune_alone import finger_tune_alone
from apoyando.fingering import NoWayError, Problem, Slice
from apoyando.model.arrangement import Arrangement, Relaxation, RelaxationStep
from apoyando.model.song import bar_at
from apoyando.model.time import Quarters

Counts = Mapping[int, int]
"""How many steps are on a slice, by its index; none on those that are not named."""
_Place = tuple[int, str]
"""The bar and the limit that is passed in it."""


@dataclass(frozen=True, slots=True)
class Kept:
    """What became of a song for its level's limits. ``posed`` asks the question that was answered at last.

    ``eased`` has for each slice that was made easier how many steps, and for which limits.
    """

    posed: PosedSong
    arrangement: Arrangement
    eased: Mapping[int, tuple[int, frozenset[str]]]

    def tell(self, arrangement: Arrangement) -> Arrangement:
        """An arrangement that answers the question, with all that was done: bar by bar, and thing by thing."""
        if not self.eased:
            return arrangement
        return tell_eased(arrangement, self._list_eased(), self._steps_at)

    def _list_eased(self) -> Iterator[Relaxation]:
        bars, slices = self.posed.song.bars, self.posed.slices
        for bar in bars:
            here = [index for index in sorted(self.eased) if bar.span.contains(slices[index].onset)]
            if here:
                rules = sorted(frozenset().union(*(self.eased[index][1] for index in here)))
                done = name_steps(max(self.eased[index][0] for index in here))
                why = f"{', '.join(rules)}: {done}"
                yield Relaxation(RelaxationStep.LEVEL_KEPT, bar.number, slices[here[0]].onset, why)

    def _steps_at(self, moment: Quarters) -> int:
        index = bisect_right(self.posed.slices, moment, key=lambda slice_: slice_.onset) - 1
        count, _ = self.eased.get(index, (0, frozenset()))
        return count


def keep_limits(posed: PosedSong, arrangement: Arrangement, ruler: Ruler, remake: Remake) -> Kept:
    """The arrangement with every limit of the level kept that the tune alone would keep, as far as can be."""
    unchanged = Kept(posed, arrangement, {})
    found = ruler.find(arrangement, posed.setting.level)
    if not found:
        return unchanged
    limits = _Limits(posed, ruler, remake, _find_of_tune(arrangement, posed, ruler))
    before = limits.look({}, {}, arrangement)
    after = limits.settle(limits.drop_vain(limits.step_on(before))) if before.passed else before
    return limits.tell(after) if after.counts else unchanged


def _find_of_tune(arrangement: Arrangement, posed: PosedSong, ruler: Ruler) -> frozenset[_Place]:
    """Which limits the tune alone passes, and where."""
    level = posed.setting.level
    tune = finger_tune_alone(arrangement, level, ruler.hand_size)
    return frozenset(_place(each, tune) for each in ruler.find(tune, level)) if tune else frozenset()


def _place(excess: Excess, arrangement: Arrangement) -> _Place:
    return bar_at(arrangement.bars, excess.onset).index, excess.rule


@dataclass(frozen=True, slots=True)
class _State:
    """What comes of some steps. ``passed``: the limits that are passed all the same, and where.

    ``asked``: for each limit the slices that were made easier for it.
    """

    counts: Counts
    asked: Mapping[_Place, frozenset[int]]
    arrangement: Arrangement
    passed: Sequence[Excess]


@dataclass(frozen=True, slots=True)
class _Limits:
    """The stretches of one song that pass a limit, on their way down."""

    posed: PosedSong
    ruler: Ruler
    remake: Remake
    of_tune: frozenset[_Place]

    def look(
        self, counts: Counts, asked: Mapping[_Place, frozenset[int]], arrangement: Arrangement
    ) -> _State:
        found = self.ruler.find(arrangement, self.posed.setting.level)
        passed = [each for each in found if each.stretch and _place(each, arrangement) not in self.of_tune]
        return _State(counts, asked, arrangement, passed)

    def step_on(self, state: _State) -> _State:
        """One step more wherever a limit is passed, until none is or no step is left."""
        while state.passed:
            counts, asked = dict(state.counts), dict(state.asked)
            for each in state.passed:
                stretch = self._list_slices(each)
                further = min(1 + max(state.counts.get(index, 0) for index in stretch), len(STEPS))
                counts |= dict.fromkeys(stretch, further)
                place = _place(each, state.arrangement)
                asked[place] = asked.get(place, frozenset()).union(stretch)
            after = self._try(counts, asked) if counts != state.counts else None
            if after is None:
                break
            state = after
        return state

    def drop_vain(self, state: _State) -> _State:
        """Without the steps where a limit is passed all the same."""
        vain = {_place(each, state.arrangement) for each in state.passed}
        asked = {place: slices for place, slices in state.asked.items() if place not in vain}
        needed = frozenset().union(*asked.values())
        counts = {index: count for index, count in state.counts.items() if index in needed}
        less = self._try(counts, asked) if counts != state.counts else None
        return less if less and len(less.passed) <= len(state.passed) else state

    def settle(self, state: _State) -> _State:
        """The state as far as it can be proven optimal, unless that passes more limits."""
        proven = self._try(state.counts, state.asked, is_final=True)
        return proven if proven and len(proven.passed) <= len(state.passed) else state

    def tell(self, state: _State) -> Kept:
        eased = {
            index: (count, frozenset(rule for (_, rule), slices in state.asked.items() if index in slices))
            for index, count in state.counts.items()
        }
        posed = replace(self.posed, problem=self._ease(state.counts))
        return Kept(posed, state.arrangement, eased)

    def _list_slices(self, excess: Excess) -> list[int]:
        """The slices in its stretch, and those that are to be played alike."""
        slices = self.posed.slices
        stretch = excess.stretch
        own = [index for index, each in enumerate(slices) if stretch and each.span.overlaps(stretch)]
        return sorted({alike for index in own for alike in slices_alike(self.posed, index)})

    def _try(
        self, counts: Counts, asked: Mapping[_Place, frozenset[int]], *, is_final: bool = False
    ) -> _State | None:
        """None where the hand finds no way, as beside a lock."""
        try:
            arrangement = self.remake(self._ease(counts), is_final=is_final)
        except NoWayError:
            return None
        return self.look(counts, asked, arrangement)

    def _ease(self, counts: Counts) -> Problem:
        """The question with so many steps on its slices; a note is as easy throughout as where it is easiest."""
        notes: dict[tuple[int, int], int] = {}
        for index, count in counts.items():
            for voice, entry in enumerate(self.posed.slices[index].entries):
                if entry is not None:
                    notes[voice, entry] = max(count, notes.get((voice, entry), 0))
        slices = (
            self._ease_slice(index, counts.get(index, 0), notes) for index in range(len(self.posed.slices))
        )
        return replace(self.posed.problem, slices=tuple(slices))

    def _ease_slice(self, index: int, count: int, notes: Mapping[tuple[int, int], int]) -> Slice:
        entries = self.posed.slices[index].entries
        counts = [0 if entry is None else notes.get((voice, entry), 0) for voice, entry in enumerate(entries)]
        if not any((count, *counts)):
            return self.posed.problem.slices[index]
        return replace(
            ease_slice(self.posed, index, count),
            voices=tuple(
                ease_slice(self.posed, index, steps).voices[voice] for voice, steps in enumerate(counts)
            ),
        )
