"""A way for the hand through a score, whatever it takes.

The order: as asked; where the hand is stuck, with the widest stretches and barres that any
level knows; where it is stuck even so, with the notes of that bar eased (see ``given``).
Elsewhere the piece is played as it would be without the bars in question.
"""

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace

from apoyando.arranging.scores.given import Question, build_given_problem
from apoyando.arranging.scores.playing import collect_sounds
from apoyando.arranging.scores.wishes import pin_wish
from apoyando.arranging.setting import Setting
from apoyando.fingering import NoWayError, Problem, Solution, find_best_way
from apoyando.model.errors import UsageError
from apoyando.model.hand import FINGER_PAIRS
from apoyando.model.level import Level, SpanLimit
from apoyando.model.song import Bar, bar_at
from apoyando.model.time import Span

_BARS_EASED_ONE_BY_ONE = 6
"""A piece in which the hand is stuck more often is no guitar music: all that follows is eased at once."""


@dataclass(frozen=True, slots=True)
class Way:
    """The hand's way. ``level`` is what the hand was held to."""

    solution: Solution
    level: Level


@dataclass(frozen=True, slots=True)
class _Hand:
    """What the hand is held to in one search."""

    setting: Setting
    level: Level
    size: float

    def search(self, problem: Problem) -> Solution | None:
        try:
            return find_best_way(
                problem,
                tuning=self.setting.tuning,
                level=self.level,
                prices=self.setting.prices,
                hand_size=self.size,
            )
        except NoWayError:
            return None


def find_way(
    question: Question, bars: tuple[Bar, ...], setting: Setting, wide: Level, hand_size: float
) -> Way:
    """The cheapest way at the setting's level; where it is stuck, the cheapest at ``wide``.

    Raises UsageError only where thousands of notes would have to be left out.
    """
    asked = _Hand(setting, setting.level, hand_size)
    solution, stuck = _ease(question, bars, asked)
    if not stuck:
        return Way(solution, setting.level)
    pinned = _pin(question, solution, stuck)
    solution, _ = _ease(pinned, bars, _Hand(setting, wide, hand_size))
    return Way(solution, wide)


def _ease(question: Question, bars: tuple[Bar, ...], hand: _Hand) -> tuple[Solution, frozenset[int]]:
    """The way with as few bars eased as it takes, and the sounds that were eased in them."""
    eased: frozenset[int] = frozenset()
    passed = 0
    for attempt in range(len(bars) + 1):
        problem = build_given_problem(question, hand.setting, eased)
        solution = hand.search(problem)
        if solution:
            return solution, eased
        passed = _first_stuck(problem, passed, hand)
        bar = bar_at(bars, question.slices[passed].onset).span
        span = bar if attempt < _BARS_EASED_ONE_BY_ONE else Span(bar.onset, bars[-1].offset)
        eased |= _sounding_in(question, span)
    raise UsageError("thousands of notes cannot be played: this is no music for one guitar.")


def _pin(question: Question, solution: Solution, stuck: Collection[int]) -> Question:
    """The question with all sounds that were not eased kept where the hand has them now."""
    played, _ = collect_sounds(question, solution.slices)
    touches = {each.sound: each.touch for each in played}
    wishes = [
        wish if index in stuck or sound not in touches else pin_wish(wish, touches[sound])
        for index, (sound, wish) in enumerate(zip(question.sounds, question.wishes, strict=True))
    ]
    return replace(question, wishes=tuple(wishes))


def _first_stuck(problem: Problem, passed: int, hand: _Hand) -> int:
    """The index of the first slice that the hand cannot get into; the first ``passed`` are known to go."""
    good, bad = passed, len(problem.slices)
    while bad - good > 1:
        middle = (good + bad) // 2
        if hand.search(Problem(problem.slices[:middle])):
            good = middle
        else:
            bad = middle
    return good


def _sounding_in(question: Question, span: Span) -> frozenset[int]:
    return frozenset(index for index, sound in enumerate(question.sounds) if sound.span.overlaps(span))


def widest_level(asked: Level, levels: Iterable[Level]) -> Level:
    """The level asked for, with the outermost stretches of all levels and every kind of barre."""
    listed = [asked, *levels]
    spans = {
        pair: SpanLimit(
            asked.spans[pair].comfortable_mm, max(level.spans[pair].outermost_mm for level in listed)
        )
        for pair in FINGER_PAIRS
    }
    barre_quarters = max(level.barre_quarters for level in listed)
    return replace(asked, spans=spans, barre_quarters=barre_quarters, small_barres=True)
