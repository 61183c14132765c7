"""A limiter: what would go over the ceiling is turned down smoothly, all channels alike.

Conventions: the gain is known at the edges of cells of ``CELL`` samples and runs straight between
them; at an edge it is as low as both its cells need, so that no sample goes over.
"""

from collections.abc import Iterable, Iterator

import numpy as np

from apoyando.sound.convolution import in_hops
from apoyando.sound.samples import SAMPLE_RATE_HZ, Floats, Sound

CELL = 256
_HOP = 128 * CELL
_RECOVERY_S = 0.25
"""From silence back to 1, at most; a slow recovery does not distort (common practice, no source)."""
_RISE = CELL / (_RECOVERY_S * SAMPLE_RATE_HZ)


def limit_peaks(blocks: Iterable[Sound], ceiling: float) -> Iterator[Sound]:
    """The same sound, never over the ceiling; untouched where it does not come near it."""
    before: Sound | None = None
    gain = 1.0
    for block in in_hops(blocks, _HOP):
        if before is None:
            gain = float(_needed_gains(block[:, :CELL], ceiling)[0])
        else:
            gains = _edge_gains(before, block, ceiling, gain)
            yield _turn_down(before, gains)
            gain = float(gains[-1])
        before = block
    if before is not None:
        yield _turn_down(before, _edge_gains(before, before[:, :0], ceiling, gain))


def _edge_gains(block: Sound, following: Sound, ceiling: float, first: float) -> Floats:
    """The gains at the edges of a block's cells, of which the first is decided."""
    cells = -(-block.shape[1] // CELL)
    needed = _needed_gains(np.concatenate([block, following[:, :CELL]], axis=1), ceiling)
    needed = np.append(needed, 1.0)[: cells + 1]
    rises = _RISE * np.arange(cells + 1)
    lowest = np.append(first, np.minimum(needed[:-1], needed[1:]))
    return np.asarray(np.minimum(np.minimum.accumulate(lowest - rises) + rises, 1.0))


def _needed_gains(block: Sound, ceiling: float) -> Floats:
    """For each cell the gain at which it just reaches the ceiling, or 1."""
    peaks = np.abs(block).max(axis=0)
    whole = np.pad(peaks, (0, -len(peaks) % CELL)).reshape(-1, CELL).max(axis=1)
    return np.asarray(np.minimum(ceiling / np.maximum(whole, ceiling), 1.0), dtype=np.float64)


def _turn_down(block: Sound, edges: Floats) -> Sound:
    if edges.min() == 1.0:
        return block
    places = np.arange(block.shape[1]) / CELL
    return np.asarray(block * np.interp(places, np.arange(len(edges)), edges), dtype=np.float32)
