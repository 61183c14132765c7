"""The right hand: which finger plucks which string.

Conventions (common practice, no source): the thumb p plays the accompaniment on strings 4
to 6; i, m and a the strings above, in their order across the strings; no finger plucks
twice running in quick notes; a is the melody's first choice on string 1. Rules after
Skarha 2018 (no finger twice running, thumb for the bass, fingers in resting order).

The cheapest way by dynamic programming over the strokes; a stroke is what is plucked at
one moment.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from apoyando.model.hand import Pluck
from apoyando.model.instrument import StringNumber

_FINGERS = (Pluck.P, Pluck.I, Pluck.M, Pluck.A)
_HOME_STRING = {Pluck.P: 5, Pluck.I: 3, Pluck.M: 2, Pluck.A: 1}

# Prices, on the scale of model.prices.
_REPEATED_FINGER = 120
"""The same finger twice running within the quick time below."""
_REPEATED_THUMB = 25
"""The thumb repeats with ease on low strings."""
_QUICK_SECONDS = 0.45
_AWAY_FROM_HOME = 16
"""For each string by which a finger leaves its resting string."""
_THUMB_ON_TREBLE = 60
_FINGER_ON_BASS = 45
_HIGHEST_THUMB_STRING, _LOWEST_FINGER_STRING = 4, 3
_CROSSED = 80
"""A finger crosses under its neighbour from one stroke to the next."""


@dataclass(frozen=True, slots=True)
class Stroke:
    """What is plucked at one moment. ``strings`` run from the lowest-pitched up."""

    strings: tuple[StringNumber, ...]
    seconds_since_last: float


_Hand = tuple[Pluck, ...]


def choose_plucks(strokes: Sequence[Stroke]) -> tuple[tuple[Pluck, ...], ...]:
    """For each stroke the finger of each of its strings, cheapest in all."""
    best: dict[_Hand, tuple[int, tuple[_Hand, ...]]] = {(): (0, ())}
    before: Stroke | None = None
    for stroke in strokes:
        best = {
            hand: min(
                (price + _stroke_price(stroke, hand) + _change_price(before, old, stroke, hand), (*way, hand))
                for old, (price, way) in best.items()
            )
            for hand in _hands(len(stroke.strings))
        }
        before = stroke
    return min(best.values())[1]


def _hands(count: int) -> list[_Hand]:
    """Fingers in order: p on the lowest string, a on the highest."""
    return list(combinations(_FINGERS, min(count, len(_FINGERS))))


def _stroke_price(stroke: Stroke, hand: _Hand) -> int:
    return sum(_place_price(string, finger) for string, finger in zip(stroke.strings, hand, strict=True))


def _place_price(string: int, finger: Pluck) -> int:
    if finger is Pluck.P:
        return _THUMB_ON_TREBLE * max(_HIGHEST_THUMB_STRING - string, 0)
    on_bass = _FINGER_ON_BASS * max(string - _LOWEST_FINGER_STRING, 0)
    return on_bass + _AWAY_FROM_HOME * abs(string - _HOME_STRING[finger])


def _change_price(before: Stroke | None, old: _Hand, now: Stroke, hand: _Hand) -> int:
    if before is None:
        return 0
    return sum(
        _pair_price(old_string, old_finger, string, finger, now.seconds_since_last)
        for old_string, old_finger in zip(before.strings, old, strict=True)
        for string, finger in zip(now.strings, hand, strict=True)
    )


def _pair_price(old_string: int, old: Pluck, string: int, finger: Pluck, seconds: float) -> int:
    if old is finger:
        if seconds > _QUICK_SECONDS:
            return 0
        return _REPEATED_THUMB if finger is Pluck.P else _REPEATED_FINGER
    order = _FINGERS.index(finger) - _FINGERS.index(old)
    crossed = (order > 0 and string > old_string) or (order < 0 and string < old_string)
    return _CROSSED if crossed and old_string != string else 0
