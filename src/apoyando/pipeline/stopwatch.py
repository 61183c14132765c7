"""How long a work takes."""

from collections.abc import Callable
from time import perf_counter
from typing import TypeVar

Made = TypeVar("Made")


def timed(work: Callable[[], Made]) -> tuple[Made, float]:
    """What the work makes, and the seconds that it took."""
    start = perf_counter()
    return work(), perf_counter() - start
