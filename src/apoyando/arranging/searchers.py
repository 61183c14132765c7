"""Searchers, kept from one question to the next.

A searcher answers exactly, whatever it was asked before; it only is the quicker the more it has
seen. The twelve keys of a song, its sketch and its finished piece, a piece before and after a
choice of the player have most of their slices in common.
"""

from dataclasses import dataclass, replace

from apoyando.arranging.setting import Setting
from apoyando.fingering import Searcher
from apoyando.model.instrument import Tuning
from apoyando.model.level import Level
from apoyando.model.prices import Prices

_KEPT = 6
"""Two or three levels are asked for one piece (the next harder ones too), each for the tune alone as well, and
before it another piece."""


@dataclass(frozen=True, slots=True)
class _Hand:
    """All that a searcher depends on."""

    tuning: Tuning
    level: Level
    prices: Prices
    size: float


_kept: list[tuple[_Hand, Searcher]] = []
"""The one that was asked last stands last. Not a cache by hash: a level has a mapping in it."""


def find_searcher(setting: Setting, hand_size: float) -> Searcher:
    """The hand that arranges, without small barres: they would save a 500th of the price, and a reader of the page cannot
    tell them from a finger in two places. And whoever measures the page finds no span too wide.
    """
    level = replace(setting.level, small_barres=False, spans_from_nearest=False)
    hand = _Hand(setting.tuning, level, setting.prices, hand_size)
    found = next((each for each in _kept if each[0] == hand), None)
    if found:
        _kept.remove(found)
    else:
        found = (
            hand,
            Searcher(tuning=hand.tuning, level=level, prices=hand.prices, hand_size=hand_size),
        )
    _kept.append(found)
    del _kept[:-_KEPT]
    return found[1]
