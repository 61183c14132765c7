"""What it costs to pluck: one stroke by one set of fingers, and two strokes in turn.

Conventions: a hand is the fingers of a stroke from its lowest-pitched string up, always in
the order p i m a, so that no two fingers cross within a stroke. Prices are whole numbers;
their names and reasons are in ``model.prices``, the formula in ``docs/objective.md``. The
rules are those of Skarha 2018 (no finger twice running, the thumb for the bass, fingers in
resting order, no a-m-a) and of common practice.
"""

from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations

from apoyando.model.arrangement import Role
from apoyando.model.hand import Pluck
from apoyando.model.instrument import StringNumber
from apoyando.model.prices import Prices

Fingers = tuple[Pluck, ...]
Strings = tuple[StringNumber, ...]
Roles = tuple[Role, ...]
Matrix = tuple[tuple[int, ...], ...]

_THUMB_AND_FINGERS = (Pluck.P, Pluck.I, Pluck.M, Pluck.A)
_ORDER = {finger: place for place, finger in enumerate(_THUMB_AND_FINGERS)}
_HOME_STRING = {Pluck.I: 3, Pluck.M: 2, Pluck.A: 1}
_THUMBS_STRING, _FINGERS_STRING = 4, 3
"""The thumb's highest string and the fingers' lowest, where both are at home."""

NEVER = 1 << 30
"""A price that no sum of real prices reaches."""
QUICK_SECONDS, FREE_SECONDS = 0.35, 0.6
"""Eighths at 86 to the minute are quick; eighths at 50, or quarters at 100, are not."""


@dataclass(frozen=True, slots=True)
class Hand:
    """The fingers of a stroke. ``follows_ring``: its m comes right after an a, half of a-m-a."""

    fingers: Fingers
    follows_ring: bool = False


@dataclass(frozen=True, slots=True)
class PlacePrices:
    """For one note by one finger, at any tempo."""

    thumb_on_string_three: int
    thumb_on_string_high: int
    melody_by_thumb: int
    finger_on_string_four: int
    finger_on_string_low: int
    finger_from_home_per_string: int
    bass_by_finger: int


@dataclass(frozen=True, slots=True)
class TurnPrices:
    """For two neighbouring strokes, in the time that lies between them.

    ``ring_middle_ring`` is for the last two of three, in the longer of the times between them.
    """

    finger_repeated: int
    chord_repeated: int
    thumb_repeated: int
    ring_beside_middle: int
    ring_in_run: int
    ring_middle_ring: int
    fingers_crossed: int


def place_prices(prices: Prices) -> PlacePrices:
    return PlacePrices(
        thumb_on_string_three=prices.thumb_on_string_three,
        thumb_on_string_high=prices.thumb_on_string_high,
        melody_by_thumb=prices.melody_by_thumb,
        finger_on_string_four=prices.finger_on_string_four,
        finger_on_string_low=prices.finger_on_string_low,
        finger_from_home_per_string=prices.finger_from_home_per_string,
        bass_by_finger=prices.bass_by_finger,
    )


def turn_prices(prices: Prices, seconds: float, seconds_before: float) -> TurnPrices:
    """The prices of a change of hands in the time since the last stroke, and before that one.

    In full up to QUICK_SECONDS, nothing from FREE_SECONDS on, in proportion between.
    """
    quickness = _quickness(seconds)
    return TurnPrices(
        finger_repeated=round(prices.finger_repeated * quickness),
        chord_repeated=round(prices.chord_repeated * quickness),
        thumb_repeated=round(prices.thumb_repeated * quickness),
        ring_beside_middle=round(prices.ring_beside_middle * quickness),
        ring_in_run=round(prices.ring_in_run * quickness),
        ring_middle_ring=round(prices.ring_middle_ring * min(quickness, _quickness(seconds_before))),
        fingers_crossed=round(prices.fingers_crossed * quickness),
    )


def _quickness(seconds: float) -> float:
    return min(max((FREE_SECONDS - seconds) / (FREE_SECONDS - QUICK_SECONDS), 0.0), 1.0)


@lru_cache(maxsize=16)
def hands_for(count: int) -> tuple[Hand, ...]:
    """Every hand for so many strings, in the order of the fingers.

    For more strings than fingers there is one: the thumb strums the lowest, i m a take the
    three highest (common practice, no source).
    """
    strummed = max(count - len(_THUMB_AND_FINGERS), 0)
    return tuple(
        Hand((Pluck.P,) * strummed + fingers, follows_ring)
        for fingers in combinations(_THUMB_AND_FINGERS, count - strummed)
        for follows_ring in (False, True)
        if not follows_ring or _is_middle_alone(fingers)
    )


def _is_middle_alone(fingers: Fingers) -> bool:
    return Pluck.M in fingers and Pluck.A not in fingers


@lru_cache(maxsize=4096)
def price_places(strings: Strings, roles: Roles, prices: PlacePrices) -> tuple[int, ...]:
    """For each of ``hands_for`` a stroke what it costs to stand there."""
    return tuple(
        sum(
            _price_place(string, role, finger, prices)
            for string, role, finger in zip(strings, roles, hand.fingers, strict=True)
        )
        for hand in hands_for(len(strings))
    )


def _price_place(string: int, role: Role, finger: Pluck, prices: PlacePrices) -> int:
    if finger is Pluck.P:
        return _price_thumb(string, role, prices)
    price = prices.finger_from_home_per_string * abs(string - _HOME_STRING[finger])
    if string > _FINGERS_STRING:
        is_next = string == _FINGERS_STRING + 1
        price += prices.finger_on_string_four if is_next else prices.finger_on_string_low
    return price + prices.bass_by_finger * (role is Role.BASS)


def _price_thumb(string: int, role: Role, prices: PlacePrices) -> int:
    price = prices.melody_by_thumb * (role is Role.MELODY)
    if string < _THUMBS_STRING:
        is_next = string == _THUMBS_STRING - 1
        price += prices.thumb_on_string_three if is_next else prices.thumb_on_string_high
    return price


@lru_cache(maxsize=4096)
def price_turns(before: Strings, now: Strings, prices: TurnPrices) -> Matrix:
    """``[old][new]``: from each hand of the stroke before to each hand of this one."""
    return tuple(
        tuple(_price_turn(before, old, now, new, prices) for new in hands_for(len(now)))
        for old in hands_for(len(before))
    )


def _price_turn(before: Strings, old: Hand, now: Strings, new: Hand, prices: TurnPrices) -> int:
    follows_ring = Pluck.A in old.fingers and _is_middle_alone(new.fingers)
    if new.follows_ring != follows_ring:
        return NEVER
    return (
        _price_fingers(old.fingers, new.fingers, prices)
        + prices.fingers_crossed * _count_crossed(before, old.fingers, now, new.fingers)
        + prices.ring_in_run * _count_runs_with_ring(before, old.fingers, now, new.fingers)
        + prices.ring_middle_ring * (old.follows_ring and Pluck.A in new.fingers)
    )


@lru_cache(maxsize=4096)
def _price_fingers(old: Fingers, new: Fingers, prices: TurnPrices) -> int:
    """What two hands in turn cost whatever the strings."""
    old_fingers, new_fingers = set(old) - {Pluck.P}, set(new) - {Pluck.P}
    are_chords = len(old_fingers) > 1 and len(new_fingers) > 1
    repeated = prices.chord_repeated if are_chords else prices.finger_repeated
    return (
        repeated * len(old_fingers & new_fingers)
        + prices.thumb_repeated * (Pluck.P in old and Pluck.P in new)
        + prices.ring_beside_middle * _go_between_ring_and_middle(old_fingers, new_fingers)
    )


def _go_between_ring_and_middle(old: set[Pluck], new: set[Pluck]) -> bool:
    left, taken = old - new, new - old
    return (Pluck.A in left and Pluck.M in taken) or (Pluck.M in left and Pluck.A in taken)


def _count_crossed(before: Strings, old: Fingers, now: Strings, new: Fingers) -> int:
    """Pairs of fingers of which the one of higher order plucks the lower-pitched string."""
    return sum(
        (_ORDER[finger] - _ORDER[old_finger]) * (old_string - string) < 0
        for old_string, old_finger in zip(before, old, strict=True)
        for string, finger in zip(now, new, strict=True)
    )


def _count_runs_with_ring(before: Strings, old: Fingers, now: Strings, new: Fingers) -> int:
    """Strings that two different fingers pluck in turn, one of them a."""
    old_fingers = dict(zip(before, old, strict=True))
    return sum(
        string in old_fingers and finger != old_fingers[string] and Pluck.A in {finger, old_fingers[string]}
        for string, finger in zip(now, new, strict=True)
    )
