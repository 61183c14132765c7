"""What each bar takes before lines are chosen: its natural width, and how far its music reaches.

Conventions: hundredths of a millimetre on the usual staff; y from its top line, down.
"""

from collections.abc import Sequence

from apoyando.engraving.notation.accidentals import signature_of
from apoyando.engraving.staff.casting import Measures
from apoyando.engraving.staff.layout import SPACE, find_reaches
from apoyando.engraving.staff.mei import Mei
from apoyando.model.song import Bar

CLEF_WIDTH = 4.2 * SPACE
SIGN_WIDTH = 1.0 * SPACE
BARS_AT_ONCE = 16
"""The layout program is quicker with several systems than with one of all bars."""


def measure(bars: Sequence[Bar], mei: Mei) -> Measures:
    """What bars take when they are laid out without stretching them."""
    _, *heads = [bar.index for bar in bars[::BARS_AT_ONCE]]
    reaches = find_reaches(mei.broken(heads))
    boxes = [reaches[bar.index] for bar in bars]
    clefs = [_prefix(bar) if bar.index in heads else 0.0 for bar in bars]
    return Measures(
        bars=tuple(bars),
        widths=tuple(box.width - clef for box, clef in zip(boxes, clefs, strict=True)),
        prefix=_prefix(bars[0]),
        tops=tuple(box.top for box in boxes),
        bottoms=tuple(box.bottom for box in boxes),
    )


def _prefix(bar: Bar) -> float:
    return CLEF_WIDTH + SIGN_WIDTH * abs(signature_of(bar.key))
