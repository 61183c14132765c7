"""Beats, for messages: the only place where score time is counted in felt pulses.

Conventions: beats are counted from 1 by the meter's pulse, so that 6/8 has two; a pickup
begins late in its bar.
"""

from fractions import Fraction

from apoyando.model.song import Bar
from apoyando.model.time import Quarters

_FRACTION_SIGNS = {
    Fraction(0): "",
    Fraction(1, 4): "¼",
    Fraction(1, 3): "⅓",
    Fraction(1, 2): "½",
    Fraction(2, 3): "⅔",
    Fraction(3, 4): "¾",
}


def count_beat(bar: Bar, moment: Quarters) -> Fraction:
    """The felt beat of a moment in its bar: 5/2 is half way through the second."""
    return (moment - bar.onset + bar.meter_phase) / bar.meter.pulse + 1


def name_count(number: Fraction) -> str:
    """A count as people write it: "2½", "¾", "1 + 2/5"."""
    whole = number.numerator // number.denominator
    rest = number - whole
    sign = _FRACTION_SIGNS.get(rest, f" + {rest}")
    return sign if sign and not whole else f"{whole}{sign}"
