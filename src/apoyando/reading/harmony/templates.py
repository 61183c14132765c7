"""What each chord expects to sound, and what each change of chord costs, as tables.

Conventions: a state is a pair of root (pitch class) and kind; rows and columns of the
tables are places in STATES. The tones of a kind are those of ``model.harmony``.
"""

from collections.abc import Callable, Iterator
from functools import lru_cache

import numpy as np

from apoyando.model.harmony import Chord, ChordFunction, chord_tones
from apoyando.model.pitch import PitchName
from apoyando.reading.harmony.evidence import Array
from apoyando.reading.harmony.keys import KEYS
from apoyando.reading.harmony.weights import KINDS, Weights

STATES = tuple((root, kind) for kind in KINDS for root in range(12))
_DIMINISHED_GOALS = (0, 1, 8)
"""Itself, home, and the dominant of which it is the upper part."""
_GOALS = {
    "dominant": (0, 5, 1, 2),
    "diminished": _DIMINISHED_GOALS,
    "half-diminished": _DIMINISHED_GOALS,
    "diminished-seventh": _DIMINISHED_GOALS,
}
"""Where a dissonant chord leads, in semitones up from its root: a dominant to itself, home, or by a deceptive step."""
SCALES = ((0, 2, 4, 5, 7, 9, 11), (0, 2, 3, 5, 7, 8, 10, 11))
"""Of the major keys and of the minor ones: the natural minor and its leading tone."""


class Templates:
    """The tables of one set of weights."""

    def __init__(self, weights: Weights) -> None:
        self._weights = weights
        self._inside = _table(lambda _: 1.0)
        self._needed = _table(lambda function: _missing(function, weights))
        self._bass = _table(lambda function: _bass(function, weights), weights.bass_foreign)
        kinds = np.array([weights.kind[kind] for _, kind in STATES])
        self._expected = kinds + weights.outside_key * _outside_keys()
        self.motion = _motion(weights)
        self.change = weights.change

    def score(self, tones: Array, basses: Array, key: int) -> list[Array]:
        """The worth of each chord for each span of a bar, by first cell and then by length.

        ``tones`` and ``basses`` are the rows of the bar's cells; each array has a row for
        each length, a column for each state.
        """
        return [
            self._score(tones[first:].cumsum(axis=0), basses[first:].cumsum(axis=0), key)
            for first in range(len(tones))
        ]

    def _score(self, tones: Array, basses: Array, key: int) -> Array:
        weights = self._weights
        total = tones.sum(axis=1, keepdims=True)
        fit = (1 + weights.foreign) * (tones @ self._inside) - weights.foreign * total
        present = np.minimum(
            1.0, np.divide(tones, weights.presence * total, out=np.zeros_like(tones), where=total > 0)
        )
        missing = self._needed.sum(axis=0) - present @ self._needed
        heard = basses.sum(axis=1, keepdims=True)
        reach = np.minimum(
            1.0, np.divide(weights.bass_reach, heard, out=np.ones_like(heard), where=heard > 0)
        )
        worth = fit + (basses * reach) @ self._bass - missing - self._expected[key]
        return np.where(total > 0, worth, 0.0)


@lru_cache(maxsize=1)
def _tones() -> tuple[tuple[int, int, ChordFunction], ...]:
    """Each state with each pitch class in it and what it is there."""
    return tuple(_list_tones())


def _list_tones() -> Iterator[tuple[int, int, ChordFunction]]:
    for state, (root, kind) in enumerate(STATES):
        for tone in chord_tones(Chord(root=PitchName.from_fifths(7 * root % 12), kind=kind)):
            yield state, tone.name.pitch_class, tone.function


def _table(worth_of: Callable[[ChordFunction], float], otherwise: float = 0.0) -> Array:
    table = np.full((12, len(STATES)), otherwise)
    for state, pitch_class, function in _tones():
        table[pitch_class, state] = worth_of(function)
    return table


def _missing(function: ChordFunction, weights: Weights) -> float:
    named = {
        ChordFunction.ROOT: weights.missing_root,
        ChordFunction.THIRD: weights.missing_third,
        ChordFunction.FIFTH: weights.missing_fifth,
    }
    return named.get(function, weights.missing_other)


def _bass(function: ChordFunction, weights: Weights) -> float:
    named = {
        ChordFunction.ROOT: weights.bass_root,
        ChordFunction.THIRD: weights.bass_third,
        ChordFunction.FIFTH: weights.bass_fifth,
        ChordFunction.SEVENTH: weights.bass_seventh,
    }
    return named.get(function, weights.bass_foreign)


@lru_cache(maxsize=1)
def _outside_keys() -> Array:
    """How many tones of each state lie outside each key."""
    counts = np.zeros((KEYS, len(STATES)))
    for key in range(KEYS):
        scale = {(key + step) % 12 for step in SCALES[key // 12]}
        for state, pitch_class, _ in _tones():
            counts[key, state] += pitch_class not in scale
    return counts


def _motion(weights: Weights) -> Array:
    """What it costs to go from one state (row) to another."""
    roots = np.array([root for root, _ in STATES])
    by_rise = np.array([_motion_from(kind, weights) for _, kind in STATES])
    rises = (roots[None, :] - roots[:, None]) % 12
    return np.take_along_axis(by_rise, rises, axis=1)


def _motion_from(kind: str, weights: Weights) -> list[float]:
    """By the semitones that the root rises after a chord of this kind."""
    goals = _GOALS.get(kind, range(12))
    return [cost + weights.unresolved * (rise not in goals) for rise, cost in enumerate(weights.motion)]
