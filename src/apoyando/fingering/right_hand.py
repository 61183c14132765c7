"""The right hand: which finger plucks which string.

Conventions: the thumb is p, the fingers i m a. A stroke is what is plucked at one moment.
The answer is the cheapest way by the stated prices, found by dynamic programming from the
last stroke back to the first; of ways that cost the same the first is taken, stroke by
stroke, in the order p i m a.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise, starmap
from operator import add

from apoyando.fingering.plucking import (
    NEVER,
    Fingers,
    Hand,
    Matrix,
    Roles,
    Strings,
    TurnPrices,
    hands_for,
    place_prices,
    price_places,
    price_turns,
    turn_prices,
)
from apoyando.model.prices import Prices

Way = tuple[int, ...]
"""For each stroke the index of its hand in ``hands_for``."""


@dataclass(frozen=True, slots=True)
class Stroke:
    """What is plucked at one moment. ``strings`` run from the lowest-pitched up.

    ``roles`` are those of the notes on the strings. ``opens_group`` begins a bar, or another
    stretch that is played alike wherever it comes again.
    """

    strings: Strings
    roles: Roles
    seconds_since_last: float
    opens_group: bool = False


@dataclass(frozen=True, slots=True)
class _Step:
    """A stroke and the prices of its hands; ``turns[old][new]`` from those of the stroke before."""

    hands: tuple[Hand, ...]
    places: Sequence[int]
    turns: Matrix


def choose_plucks(strokes: Sequence[Stroke], prices: Prices) -> tuple[Fingers, ...]:
    """For each stroke the finger of each of its strings, cheapest in all.

    A group that comes again has a pattern, the cheapest way to play it round and round, and
    each stroke that departs from it costs ``pattern_left``.
    """
    if not strokes:
        return ()
    pricing = _Pricing(prices)
    steps = [pricing.first_step(strokes[0]), *starmap(pricing.step, pairwise(strokes))]
    for start, pattern in _find_patterns(strokes, pricing):
        for index, fingers in enumerate(pattern, start):
            steps[index] = _held_to(steps[index], fingers, prices.pattern_left)
    way = _cheapest_way(steps)
    return tuple(step.hands[hand].fingers for step, hand in zip(steps, way, strict=True))


class _Pricing:
    """Makes steps of strokes by one price list."""

    def __init__(self, prices: Prices) -> None:
        self._prices = prices
        self._places = place_prices(prices)
        self._turns: dict[tuple[float, float], TurnPrices] = {}

    def first_step(self, stroke: Stroke) -> _Step:
        places = price_places(stroke.strings, stroke.roles, self._places)
        return _Step(hands_for(len(stroke.strings)), places, ())

    def step(self, before: Stroke, now: Stroke) -> _Step:
        hands, places = hands_for(len(now.strings)), price_places(now.strings, now.roles, self._places)
        turns = self._turn_prices(now.seconds_since_last, before.seconds_since_last)
        return _Step(hands, places, price_turns(before.strings, now.strings, turns))

    def loop(self, strokes: Sequence[Stroke]) -> list[_Step]:
        """The steps of strokes that are played round and round: the last comes before the first."""
        return [self.step(strokes[index - 1], stroke) for index, stroke in enumerate(strokes)]

    def _turn_prices(self, seconds: float, seconds_before: float) -> TurnPrices:
        key = seconds, seconds_before
        if key not in self._turns:
            self._turns[key] = turn_prices(self._prices, *key)
        return self._turns[key]


def _held_to(step: _Step, fingers: Fingers, price: int) -> _Step:
    """The step with a price on all fingers but these."""
    priced = zip(step.hands, step.places, strict=True)
    return replace(step, places=[place + price * (hand.fingers != fingers) for hand, place in priced])


# The way through the steps.


def _cheapest_way(steps: Sequence[_Step]) -> Way:
    worths = _worth_backwards(steps, [0] * len(steps[-1].hands))
    first = steps[0]
    whole = [
        NEVER if hand.follows_ring else place + worth
        for hand, place, worth in zip(first.hands, first.places, worths[0], strict=True)
    ]
    return _walk(steps, worths, whole.index(min(whole)))


def _worth_backwards(steps: Sequence[_Step], last: Sequence[int]) -> list[Sequence[int]]:
    """For each hand of each step the least price of all that follows, given those of the last."""
    worths = [last]
    for step in steps[:0:-1]:
        onward = _onward(step, worths[-1])
        worths.append([min(map(add, turns, onward)) for turns in step.turns])
    return worths[::-1]


def _onward(step: _Step, worth: Sequence[int]) -> list[int]:
    return list(map(add, step.places, worth))


def _walk(steps: Sequence[_Step], worths: Sequence[Sequence[int]], first: int) -> Way:
    """The cheapest way on from a hand of the first step; of equals the first hand."""
    way = [first]
    for step, worth in zip(steps[1:], worths[1:], strict=True):
        prices = list(map(add, step.turns[way[-1]], _onward(step, worth)))
        way.append(prices.index(min(prices)))
    return tuple(way)


# Patterns: groups that come again.


def _find_patterns(strokes: Sequence[Stroke], pricing: _Pricing) -> Iterator[tuple[int, tuple[Fingers, ...]]]:
    """Where each group that comes again starts, and the hands of its pattern."""
    alike: dict[object, list[int]] = {}
    groups = dict(_groups(strokes))
    for start, group in groups.items():
        alike.setdefault(_shape(group), []).append(start)
    for starts in alike.values():
        group = groups[starts[0]]
        if len(starts) > 1 and len(group) > 1:
            soonest = min(groups[start][0].seconds_since_last for start in starts)
            pattern = _cheapest_loop(
                pricing.loop([replace(group[0], seconds_since_last=soonest), *group[1:]])
            )
            yield from ((start, pattern) for start in starts)


def _groups(strokes: Sequence[Stroke]) -> Iterator[tuple[int, Sequence[Stroke]]]:
    starts = [index for index, stroke in enumerate(strokes) if stroke.opens_group or not index]
    for start, end in pairwise([*starts, len(strokes)]):
        yield start, strokes[start:end]


def _shape(group: Sequence[Stroke]) -> object:
    """Equal for groups that are played alike. When the first stroke comes is no part of it."""
    return (
        tuple((stroke.strings, stroke.roles) for stroke in group),
        tuple(stroke.seconds_since_last for stroke in group[1:]),
    )


def _cheapest_loop(steps: Sequence[_Step]) -> tuple[Fingers, ...]:
    """The cheapest way to play the steps round and round, the last before the first."""
    hands = range(len(steps[0].hands))
    _, way = min(_cheapest_loop_from(steps, hand) for hand in hands)
    return tuple(step.hands[hand].fingers for step, hand in zip(steps, way, strict=True))


def _cheapest_loop_from(steps: Sequence[_Step], hand: int) -> tuple[int, Way]:
    """… that comes back to the same hand, and its price."""
    round_once = [*steps, steps[0]]
    last = [NEVER * (other != hand) for other in range(len(steps[0].hands))]
    worths = _worth_backwards(round_once, last)
    return worths[0][hand], _walk(round_once, worths, hand)[:-1]
