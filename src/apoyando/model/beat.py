"""Beats, for messages: the only place where score time is counted in felt pulses.

Conventions: beats are counted from 1 by the meter's pulse, so that 6/8 has two; a pickup
begins late in its bar.
"""

import re
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
_NUMBER = re.compile(r"\d{1,4}(\.\d{1,6}|/[1-9]\d{0,3})?", re.ASCII)
"""Short, so that no text makes a number that takes long to reckon with."""


def count_beat(bar: Bar, moment: Quarters) -> Fraction:
    """The felt beat of a moment in its bar: 5/2 is half way through the second."""
    return (moment - bar.onset + bar.meter_phase) / bar.meter.pulse + 1


def find_beat(bar: Bar, beat: Fraction) -> Quarters:
    """The moment of a felt beat in a bar: the way back from ``count_beat``."""
    return bar.onset - bar.meter_phase + (beat - 1) * bar.meter.pulse


def name_count(number: Fraction) -> str:
    """A count as people write it: "2½", "¾", "1 + 2/5"."""
    whole = number.numerator // number.denominator
    rest = number - whole
    sign = _FRACTION_SIGNS.get(rest, f" + {rest}")
    return sign if sign and not whole else f"{whole}{sign}"


def read_count(text: str) -> Fraction | None:
    """A count as people write it: "2½", "1 + 2/5", "5/2", "2.5"; None if it is none.

    Law: ``read_count(name_count(number)) == number`` for numbers with up to four digits.
    """
    for value, sign in _FRACTION_SIGNS.items():
        text = text.replace(sign, f" + {value}") if sign else text
    parts = [part.strip() for part in text.strip().removeprefix("+").split("+")]
    return sum(map(Fraction, parts), Fraction(0)) if all(map(_NUMBER.fullmatch, parts)) else None
