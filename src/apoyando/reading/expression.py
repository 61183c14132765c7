"""Signs that say how a tune is played and not what: they are not carried over, and are told once."""

from collections.abc import Iterable

from apoyando.model.bar_names import list_bars
from apoyando.model.song import ReadingRemark


def tell_expression(found: Iterable[tuple[str, str]]) -> tuple[ReadingRemark, ...]:
    """One remark for all of them. ``found``: for each its bar's number and its name, in order."""
    signs = tuple(found)
    if not signs:
        return ()
    names = ", ".join(dict.fromkeys(name for _, name in signs))
    bars = list_bars(number for number, _ in signs)
    return (ReadingRemark(signs[0][0], f"Signs of expression are not carried over: {names} ({bars})."),)
