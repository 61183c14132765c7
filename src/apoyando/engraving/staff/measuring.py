"""What each bar takes before lines are chosen: its natural width, and how far its music reaches.

Conventions: hundredths of a millimetre on the usual staff; y from its top line, down.
"""

from collections.abc import Iterator, Mapping, Sequence

from apoyando.engraving.drawing.shapes import Box
from apoyando.engraving.notation.accidentals import signature_of
from apoyando.engraving.staff.casting import Measures
from apoyando.engraving.staff.layout import SPACE, System, lay_out
from apoyando.engraving.staff.mei import Mei
from apoyando.model.song import Bar

CLEF_WIDTH = 4.2 * SPACE
SIGN_WIDTH = 1.0 * SPACE
STAFF_HEIGHT = 4 * SPACE
BARS_AT_ONCE = 16
"""The layout program is quicker with several systems than with one of all bars."""


def measure(bars: Sequence[Bar], mei: Mei) -> Measures:
    """What bars take when they are laid out without stretching them."""
    natural = lay_out(mei.broken(bar.index for bar in bars[BARS_AT_ONCE::BARS_AT_ONCE]))
    reaches: dict[int, Box] = {}
    for system in natural:
        reaches |= _reaches(system)
    first = bars[0].index
    boxes = [reaches[bar.index] for bar in bars]
    clefs = [_prefix(bar) if _is_first_of(natural, bar) and bar.index > first else 0.0 for bar in bars]
    return Measures(
        bars=tuple(bars),
        widths=tuple(box.width - clef for box, clef in zip(boxes, clefs, strict=True)),
        prefix=_prefix(bars[0]),
        tops=tuple(box.top for box in boxes),
        bottoms=tuple(box.bottom for box in boxes),
    )


def _prefix(bar: Bar) -> float:
    return CLEF_WIDTH + SIGN_WIDTH * abs(signature_of(bar.key))


def _is_first_of(systems: Sequence[System], bar: Bar) -> bool:
    return any(min(system.bars) == bar.index for system in systems)


def _reaches(system: System) -> Mapping[int, Box]:
    """For each bar of a system the box from barline to barline and round all that is in between."""
    tops = dict.fromkeys(system.bars, 0.0)
    bottoms = dict.fromkeys(system.bars, STAFF_HEIGHT)
    for index, box in _in_bars(system):
        tops[index] = min(tops[index], box.top)
        bottoms[index] = max(bottoms[index], box.bottom)
    return {
        index: Box(extent.left, tops[index], extent.right, bottoms[index])
        for index, extent in system.bars.items()
    }


def _in_bars(system: System) -> Iterator[tuple[int, Box]]:
    """Boxes of heads and stems with the index of their bar, by the ids of their notes."""
    for shape in system.shapes:
        if shape.owner.startswith("m") and "v" in shape.owner:
            for box in shape.boxes():
                yield int(shape.owner[1:].split("v")[0]), box
