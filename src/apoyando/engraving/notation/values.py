"""Which signs a length is written with, so that the pulse can be seen.

Nothing runs over the middle of a 4/4 bar or over a pulse of a compound meter unless it fills whole parts
or, in 4/4, starts on the downbeat; off-beat quarters between eighths are allowed within a half bar;
rests never hide a pulse. (Common practice, no source; the rules are in ``_may_stand`` and
``_rest_may_stand``.)
"""

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from apoyando.engraving.notation.meter import QUARTER, Node, innermost
from apoyando.model.time import Quarters

FINEST = Fraction(1, 256)
"""A 1024th, the shortest sign of MusicXML 4.0 (``note-type-value``), in quarters."""
LONGEST = Fraction(8)
"""A breve, in quarters; longer signs are not in use today."""
MOST_DOTS = 2
TRIPLET = 3


@dataclass(frozen=True, slots=True)
class NoteValue:
    """A written value: ``base`` is quarters of the undotted sign (4 = whole, 1/4 = sixteenth)."""

    base: Fraction
    dots: int = 0

    @property
    def quarters(self) -> Quarters:
        return self.base * (2 - Fraction(1, 2**self.dots))


def single_value(length: Quarters) -> NoteValue | None:
    """The one sign for a length, with up to two dots, or None if it takes several."""
    for dots in range(MOST_DOTS + 1):
        value = NoteValue(length / (2 - Fraction(1, 2**dots)), dots)
        if FINEST <= value.base <= LONGEST and _is_power_of_two(value.base):
            return value
    return None


Signs = tuple[tuple[Quarters, Quarters, NoteValue], ...]


@lru_cache(maxsize=4096)
def split_length(root: Node, onset: Quarters, offset: Quarters, is_rest: bool) -> Signs:
    """The fewest signs for a stretch that show the pulse; among those the longest first."""
    if not (_has_sign(onset) and _has_sign(offset)):
        return ((onset, offset, _nearest_value(offset - onset)),)
    value = single_value(offset - onset)
    if value and (_rest_may_stand if is_rest else _may_stand)(root, onset, offset, value):
        return ((onset, offset, value),)
    ways = (
        split_length(root, onset, border, is_rest) + split_length(root, border, offset, is_rest)
        for border in _cuts(root, onset, offset)
    )
    return min(ways, key=lambda signs: (len(signs), onset - signs[0][1]))


def _may_stand(root: Node, onset: Quarters, offset: Quarters, value: NoteValue) -> bool:
    """A note of this value may be written here as one sign: the pulse stays visible."""
    node = innermost(root, onset, offset)
    starts_part = onset == node.onset or onset in node.borders
    ends_part = offset == node.offset or offset in node.borders
    if starts_part and ends_part:
        return True
    if node.shows_borders:
        # Only the dotted half on the downbeat of 4/4 may hide its middle.
        return node.is_binary and _is_power_of_two(node.count) and onset == node.onset and value.dots > 0
    if value.dots:
        # Long-short anywhere; short-long (sixteenth, dotted eighth) within a beat.
        return starts_part or (offset == node.offset and node.is_binary and node.length <= QUARTER)
    return _is_syncopation(node, onset, offset)


def _is_syncopation(node: Node, onset: Quarters, offset: Quarters) -> bool:
    """From the middle of one part to the middle of the next: eighth, quarter, eighth."""
    half = node.parts[0].length / 2
    return offset - onset == 2 * half and any(border - onset == half for border in node.borders)


def _rest_may_stand(root: Node, onset: Quarters, offset: Quarters, value: NoteValue) -> bool:
    """A rest fills a node, the first two thirds of a compound pulse, or whole units of a larger tuplet."""
    node = innermost(root, onset, offset)
    if onset == node.onset and offset == node.offset:
        return True
    if value.dots or offset not in (*node.borders, node.offset):
        return False
    if node.is_flat and node.count > TRIPLET:
        return onset == node.onset or onset in node.borders
    return onset == node.onset and (node.is_compound_pulse or node.is_flat)


def _cuts(root: Node, onset: Quarters, offset: Quarters) -> tuple[Quarters, ...]:
    """Where a stretch may be cut: borders of its node, and of the parts that it fills only partly."""
    node = innermost(root, onset, offset)
    deeper = (cut for part in node.parts for cut in _cuts_of_partly_filled(part, onset, offset))
    return (*_borders_between(node, onset, offset), *deeper)


def _cuts_of_partly_filled(node: Node, onset: Quarters, offset: Quarters) -> tuple[Quarters, ...]:
    is_filled = onset <= node.onset and node.offset <= offset
    if is_filled or offset <= node.onset or node.offset <= onset:
        return ()
    deeper = (cut for part in node.parts for cut in _cuts_of_partly_filled(part, onset, offset))
    return (*_borders_between(node, onset, offset), *deeper)


def _borders_between(node: Node, onset: Quarters, offset: Quarters) -> tuple[Quarters, ...]:
    return tuple(border for border in node.borders if onset < border < offset)


def _has_sign(position: Quarters) -> bool:
    return (position / FINEST).denominator == 1


def _nearest_value(length: Quarters) -> NoteValue:
    """The longest plain sign that is not longer, for lengths that no sign can say."""
    base = LONGEST
    while base > max(length, FINEST):
        base /= 2
    return NoteValue(base)


def _is_power_of_two(number: Fraction) -> bool:
    numerator, denominator = number.numerator, number.denominator
    return number > 0 and numerator & (numerator - 1) == 0 and denominator & (denominator - 1) == 0
