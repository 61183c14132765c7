"""The key of each bar, from the notes around it.

Source of the profiles: Krumhansl & Kessler 1982, how well each tone fits a key (numbers
from memory). The keys follow each other by dynamic programming: a change has to pay.
Conventions: keys 0..11 are major on that pitch class, 12..23 minor.
"""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from apoyando.model.song import Bar
from apoyando.reading.harmony.evidence import Array, Cells
from apoyando.reading.harmony.weights import Weights

_MAJOR = (6.35, 2.23, 3.48, 2.33, 4.38, 4.09, 2.52, 5.19, 2.39, 3.66, 2.29, 2.88)
_MINOR = (6.33, 2.68, 3.52, 5.38, 2.60, 3.53, 2.54, 4.75, 3.98, 2.69, 3.34, 3.17)
KEYS = 24
_REACH = 8
_SILENT = 1e-9


def find_keys(cells: Cells, bars: Sequence[Bar], weights: Weights) -> list[int]:
    """The key of each bar."""
    by_bar = np.array([cells.tones[start:end].sum(axis=0) for start, end in pairwise(cells.first)])
    fits = _fit(_spread(by_bar, weights.key_window))
    for place, bar in enumerate(bars):
        tonic = 7 * bar.key.fifths % 12
        fits[place, [tonic, 12 + (tonic + 9) % 12]] += weights.key_signature
    return _follow(fits, weights.key_change)


def _spread(by_bar: Array, window: float) -> Array:
    """Each bar with its neighbours, the farther the less."""
    spread = by_bar.copy()
    for distance in range(1, min(_REACH, len(by_bar))):
        share = float(np.exp(-((distance / window) ** 2) / 2))
        spread[distance:] += share * by_bar[:-distance]
        spread[:-distance] += share * by_bar[distance:]
    return spread


def _fit(tones: Array) -> Array:
    """The correlation of each row with each key's profile; 0 where nothing sounds."""
    profiles = np.array([np.roll(mode, tonic) for mode in (_MAJOR, _MINOR) for tonic in range(12)])
    fits: Array = _standardized(tones) @ _standardized(profiles).T / 12
    return fits


def _standardized(rows: Array) -> Array:
    centred = rows - rows.mean(axis=1, keepdims=True)
    width = centred.std(axis=1, keepdims=True)
    levelled: Array = np.divide(centred, width, out=np.zeros_like(centred), where=width > _SILENT)
    return levelled


def _follow(fits: Array, change: float) -> list[int]:
    """The best row of keys: the sum of the fits, less the changes."""
    best = fits[0]
    back: list[Array] = []
    for fit in fits[1:]:
        stays = best >= best.max() - change
        back.append(np.where(stays, np.arange(KEYS), int(best.argmax())))
        best = np.where(stays, best, best.max() - change) + fit
    path = [int(best.argmax())]
    for step in reversed(back):
        path.append(int(step[path[-1]]))
    return path[::-1]
