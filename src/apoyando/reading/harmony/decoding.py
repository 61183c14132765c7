"""The row of chords that explains a piece best: dynamic programming over spans of cells.

A span is a row of cells within a bar. Each chord is weighed against all that sounds in the
span at once, so that a broken chord is as good as a struck one; the sum over all spans,
less what their changes cost, is made greatest, exactly.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from apoyando.reading.harmony.evidence import Array, Cells
from apoyando.reading.harmony.meter import DOWNBEAT
from apoyando.reading.harmony.templates import STATES, Templates

Places = NDArray[np.intp]
_EVERY = np.arange(len(STATES))


@dataclass(frozen=True, slots=True)
class Found:
    """A chord from cell to cell, the end not included; ``state`` is a place in STATES."""

    first: int
    end: int
    state: int


@dataclass(frozen=True, slots=True)
class _Entry:
    """The best way to begin each chord at a cell: its worth, and the chord before."""

    worth: Array
    before: Places


def decode(cells: Cells, keys: Sequence[int], templates: Templates) -> list[Found]:
    """The chords, in order and without gap. Where nothing sounds the chord before goes on."""
    best: Array = np.zeros(len(STATES))
    entries: list[_Entry] = []
    begun: list[Places] = []
    for bar, (first, end) in enumerate(pairwise(cells.first)):
        scores = templates.score(cells.tones[first:end], cells.basses[first:end], keys[bar])
        for cell in range(first, end):
            entries.append(_enter(best, templates, cells.strengths[cell], is_first=cell == 0))
            worths = np.array(
                [
                    entries[since].worth + scores[since - first][cell - since]
                    for since in range(first, cell + 1)
                ]
            )
            chosen = worths.argmax(axis=0)
            best = worths[chosen, _EVERY]
            begun.append(first + chosen)
    return _trace(int(best.argmax()), entries, begun)


def _enter(best: Array, templates: Templates, strength: int, *, is_first: bool) -> _Entry:
    """A chord may go on over a barline; inside the bar a longer span says the same."""
    if is_first:
        return _Entry(best, _EVERY)
    worths = best[:, None] - templates.motion - templates.change[strength]
    worths[_EVERY, _EVERY] = best if strength == DOWNBEAT else -np.inf
    before = worths.argmax(axis=0)
    return _Entry(worths[before, _EVERY], before)


def _trace(state: int, entries: Sequence[_Entry], begun: Sequence[Places]) -> list[Found]:
    """Back from the last cell, equal neighbours made one."""
    found: list[Found] = []
    end = len(begun)
    while end > 0:
        first = int(begun[end - 1][state])
        if found and found[-1].state == state:
            found[-1] = Found(first, found[-1].end, state)
        else:
            found.append(Found(first, end, state))
        state, end = int(entries[first].before[state]), first
    return found[::-1]
