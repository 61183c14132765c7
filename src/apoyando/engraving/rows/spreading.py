"""Things side by side that must not touch: each as near to its place as the others let it be."""

from collections.abc import Sequence
from itertools import accumulate


def spread(
    lefts: Sequence[float], widths: Sequence[float], gaps: Sequence[float], limits: tuple[float, float]
) -> list[float]:
    """Where things begin that would begin at ``lefts``, in order, at least a gap between each two.

    ``gaps`` are those after each thing. The sum of the squares of the moves is the least
    possible: monotone regression by pooling neighbours (Ayer et al., 1955). All lie within
    ``limits`` if they have room there; otherwise they begin at the left one.
    """
    taken = [0.0, *accumulate(w + g for w, g in zip(widths, gaps, strict=True))]
    fitted = _pool([left - before for left, before in zip(lefts, taken, strict=False)])
    lowest = limits[0]
    highest = max(lowest, limits[1] - taken[-1] + gaps[-1]) if gaps else lowest
    return [min(max(place, lowest), highest) + before for place, before in zip(fitted, taken, strict=False)]


def _pool(values: Sequence[float]) -> list[float]:
    """The nearest values that never fall."""
    pools: list[tuple[float, int]] = []
    for value in values:
        pool, count = value, 1
        while pools and pools[-1][0] > pool:
            before, others = pools.pop()
            pool = (pool * count + before * others) / (count + others)
            count += others
        pools.append((pool, count))
    return [pool for pool, count in pools for _ in range(count)]
