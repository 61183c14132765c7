"""The price of the right hand, written afresh from docs/objective.md, and the list of all ways.

Nothing here is quick: every way through the strokes is priced.
"""

from collections.abc import Iterator, Sequence
from itertools import combinations, product

from apoyando.fingering import Stroke
from apoyando.model.arrangement import Role
from apoyando.model.hand import Pluck
from apoyando.model.prices import Prices

Way = tuple[tuple[Pluck, ...], ...]

FINGERS = (Pluck.P, Pluck.I, Pluck.M, Pluck.A)
OWN_STRING = {Pluck.I: 3, Pluck.M: 2, Pluck.A: 1}


def list_ways(strokes: Sequence[Stroke]) -> Iterator[Way]:
    """All ways, in the order p i m a stroke by stroke."""
    return product(*(combinations(FINGERS, len(stroke.strings)) for stroke in strokes))


def plain_best(strokes: Sequence[Stroke], prices: Prices) -> tuple[int, Way]:
    """The least price, and the first way that has it."""
    patterns = find_patterns(strokes, prices)
    priced = ((plain_price(strokes, way, prices, patterns), way) for way in list_ways(strokes))
    return min(priced, key=lambda one: one[0])


def plain_price(
    strokes: Sequence[Stroke], way: Way, prices: Prices, patterns: dict[int, tuple[Pluck, ...]]
) -> int:
    price = 0
    for index, (stroke, hand) in enumerate(zip(strokes, way, strict=True)):
        price += place_price(stroke, hand, prices)
        price += prices.pattern_left if patterns.get(index, hand) != hand else 0
        if index:
            price += turn_price(strokes[index - 1], way[index - 1], stroke, hand, prices)
        if index > 1:
            price += ring_again_price(strokes[index - 1 : index + 1], way[index - 2 : index + 1], prices)
    return price


def place_price(stroke: Stroke, hand: Sequence[Pluck], prices: Prices) -> int:
    price = 0
    for string, role, finger in zip(stroke.strings, stroke.roles, hand, strict=True):
        if finger == Pluck.P:
            price += {3: prices.thumb_on_string_three, 2: prices.thumb_on_string_high}.get(
                max(int(string), 2), 0
            )
            price += prices.melody_by_thumb if role == Role.MELODY else 0
        else:
            price += {4: prices.finger_on_string_four, 5: prices.finger_on_string_low}.get(
                min(int(string), 5), 0
            )
            price += prices.finger_from_home_per_string * abs(string - OWN_STRING[finger])
            price += prices.bass_by_finger if role == Role.BASS else 0
    return price


def quickness(seconds: float) -> float:
    if seconds <= 0.35:
        return 1.0
    return 0.0 if seconds >= 0.6 else (0.6 - seconds) / 0.25


def turn_price(
    before: Stroke, old: Sequence[Pluck], now: Stroke, new: Sequence[Pluck], prices: Prices
) -> int:
    def due(price: int) -> int:
        return round(price * quickness(now.seconds_since_last))

    price = due(prices.thumb_repeated) if Pluck.P in old and Pluck.P in new else 0
    both_chords = all(len([f for f in hand if f != Pluck.P]) >= 2 for hand in (old, new))
    again = due(prices.chord_repeated if both_chords else prices.finger_repeated)
    price += sum(again for finger in OWN_STRING if finger in old and finger in new)
    here = [(f in old, f in new) for f in (Pluck.M, Pluck.A)]
    if here in ([(True, False), (False, True)], [(False, True), (True, False)]):
        price += due(prices.ring_beside_middle)
    for (string, finger), (next_string, next_finger) in product(
        zip(before.strings, old, strict=True), zip(now.strings, new, strict=True)
    ):
        if finger == next_finger:
            continue
        if string == next_string:
            price += due(prices.ring_in_run) if Pluck.A in {finger, next_finger} else 0
        elif (FINGERS.index(finger) < FINGERS.index(next_finger)) != (string > next_string):
            price += due(prices.fingers_crossed)
    return price


def ring_again_price(last_two: Sequence[Stroke], hands: Sequence[Sequence[Pluck]], prices: Prices) -> int:
    first, middle, last = hands
    if Pluck.A in first and Pluck.M in middle and Pluck.A not in middle and Pluck.A in last:
        slower = max(stroke.seconds_since_last for stroke in last_two)
        return round(prices.ring_middle_ring * quickness(slower))
    return 0


def find_patterns(strokes: Sequence[Stroke], prices: Prices) -> dict[int, tuple[Pluck, ...]]:
    """For each stroke that is part of a pattern, by its index, the pattern's fingers."""
    starts = [0, *(index for index, stroke in enumerate(strokes) if index and stroke.opens_group)]
    groups = [(a, list(strokes[a:b])) for a, b in zip(starts, [*starts[1:], len(strokes)], strict=True)]
    found: dict[int, tuple[Pluck, ...]] = {}
    for start, group in groups:
        alike = [other for _, other in groups if are_alike(group, other)]
        if len(group) >= 2 and len(alike) >= 2:
            soonest = min(other[0].seconds_since_last for other in alike)
            found.update(enumerate(best_loop(group, soonest, prices), start))
    return found


def are_alike(group: list[Stroke], other: list[Stroke]) -> bool:
    return [(s.strings, s.roles) for s in group] == [(s.strings, s.roles) for s in other] and [
        s.seconds_since_last for s in group[1:]
    ] == [s.seconds_since_last for s in other[1:]]


def best_loop(group: list[Stroke], soonest: float, prices: Prices) -> Way:
    first = Stroke(group[0].strings, group[0].roles, soonest)
    loop = [first, *group[1:]]
    return min(list_ways(loop), key=lambda way: loop_price(loop, way, prices))


def loop_price(loop: list[Stroke], way: Way, prices: Prices) -> int:
    price = 0
    for index in range(len(loop)):
        price += place_price(loop[index], way[index], prices)
        price += turn_price(loop[index - 1], way[index - 1], loop[index], way[index], prices)
        price += ring_again_price(
            (loop[index - 1], loop[index]), (way[index - 2], way[index - 1], way[index]), prices
        )
    return price
