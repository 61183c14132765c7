"""Addends: what goes into the price of a transition, table by table, and how prices are packed."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import reduce

import numpy as np
import numpy.typing as npt

from apoyando.fingering.problem import Table
from apoyando.fingering.touches import Ints, Small

Indices = npt.NDArray[np.intp]
PRICE_SHIFT = 24
"""Price and number of a state packed in one integer: the least of many is found in one sweep,
first state first."""

MOST_AT_ONCE = 4_000_000
"""Prices of hands or of transitions that are made at once, and of transitions that are kept of one pair of slices:
32 megabytes. A chord of seven tones under a high tune has tens of thousands of grips, and all their transitions
would fill the memory."""


@dataclass(frozen=True, slots=True)
class VoiceLink:
    """What a transition depends on in one voice, besides the grips.

    ``release_price`` is None where the voice is not held or must not be let go. ``is_hasty``: its
    note before was struck in the slice before, is over, and was too short to shift from.
    """

    was_singing: bool
    sings: bool
    is_struck: bool
    is_held: bool
    release_price: int | None
    steps: Table
    is_hasty: bool


@dataclass(frozen=True, slots=True)
class Addends:
    """What every grip before (rows) pays for every grip after (columns), not yet added up.

    Each table has a row for each grip before, and with it stands which of its columns each grip
    after takes. ``jumps`` (never negative): fingers that jump at one moment make one gap, the widest;
    ``haste`` likewise: the hand shifts once.
    """

    tables: list[tuple[Small, Indices]]
    jumps: list[tuple[Small, Indices]]
    haste: list[tuple[Small, Indices]]

    def taken(self, take: Callable[[Small, Indices], Small]) -> Small:
        """The prices that ``take`` picks from a table and its columns."""
        first, *others = self.tables
        total = take(*first)
        for table in others:
            total += take(*table)
        for alike in (self.jumps, self.haste):
            if alike:
                total += reduce(np.maximum, [take(*each) for each in alike])
        return total

    def least(self) -> Ints:
        """What no entry of a row is below."""
        return np.asarray(np.sum([table.min(axis=1) for table, _ in self.tables], axis=0, dtype=np.int64))

    def most(self) -> Ints:
        """What no entry of a row is above."""
        high = np.sum([table.max(axis=1) for table, _ in self.tables], axis=0, dtype=np.int64)
        for alike in (self.jumps, self.haste):
            high = high + reduce(np.maximum, [each.max(axis=1) for each, _ in alike], 0)
        return np.asarray(high)
