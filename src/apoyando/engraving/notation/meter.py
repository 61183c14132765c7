"""The tree of a bar: which stretches of it a reader sees as one.

A 4/4 bar is two halves of two quarters, each of two eighths and so on; a 6/8 bar is two
dotted quarters of three eighths. Written values (rhythm.py) and beams (beams.py) are
judged by its nodes. Odd meters fall into groups as the source has them, else as is usual
(``group_beats``): 5 = 3 + 2, 7 = 2 + 2 + 3.

Conventions: positions are quarters from the downbeat, half-open.
"""

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import accumulate

from apoyando.model.song import Meter, group_beats
from apoyando.model.time import Quarters

QUARTER = Fraction(1)
_KEPT_NODES = 4096


@dataclass(frozen=True, slots=True)
class Node:
    """A stretch of ``length / unit`` written units. A flat one (a tuplet) has no groups in it.

    ``groups`` are those that the source gives to a whole bar, in units.
    """

    onset: Quarters
    length: Quarters
    unit: Quarters
    is_flat: bool = False
    groups: tuple[int, ...] = ()

    @property
    def offset(self) -> Quarters:
        return self.onset + self.length

    @property
    def count(self) -> Fraction:
        """How many written units it holds; a part of a unit counts as less than one."""
        return self.length / self.unit

    @property
    def parts(self) -> tuple["Node", ...]:
        return _parts_of(self)

    @property
    def borders(self) -> tuple[Quarters, ...]:
        """Where its parts meet."""
        return tuple(part.onset for part in self.parts[1:])

    @property
    def is_compound_pulse(self) -> bool:
        """Three eighths, or three of something shorter."""
        return self.count == 3 and self.unit < QUARTER  # noqa: PLR2004

    @property
    def is_beat(self) -> bool:
        """One pulse or less: here tuplets and sixteenths are gathered."""
        return self.length <= QUARTER or self.is_compound_pulse

    @property
    def shows_borders(self) -> bool:
        """Nothing but whole parts may run over the borders within: the middle of 4/4, the pulses of 6/8."""
        return not self.is_flat and self.count > 3  # noqa: PLR2004

    @property
    def is_binary(self) -> bool:
        return len(self.parts) == 2 and self.parts[0].length == self.parts[1].length  # noqa: PLR2004

    def part_lengths(self) -> tuple[Quarters, ...]:
        if self.count <= 1 or self.count.denominator != 1:
            return (self.length / 2, self.length / 2)
        counts = (1,) * int(self.count) if self.is_flat else self.groups or group_beats(int(self.count))
        return tuple(count * self.unit for count in counts)


@lru_cache(_KEPT_NODES)
def _parts_of(node: Node) -> tuple[Node, ...]:
    lengths = node.part_lengths()
    onsets = accumulate(lengths, initial=node.onset)
    return tuple(Node(onset, length, node.unit) for onset, length in zip(onsets, lengths, strict=False))


def bar_node(meter: Meter, around: Quarters = Fraction(0)) -> Node:
    """The tree of the bar around a position; positions past the meter's length start another one."""
    onset = around // meter.bar_length * meter.bar_length
    return Node(onset, meter.bar_length, Fraction(4, meter.beat_unit), groups=meter.groups)


def bar_nodes(meter: Meter, onset: Quarters, offset: Quarters) -> tuple[Node, ...]:
    """Every bar tree that a stretch touches: one, but for bars that hold more than their meter says."""
    nodes = [bar_node(meter, onset)]
    while nodes[-1].offset < offset:
        nodes.append(bar_node(meter, nodes[-1].offset))
    return tuple(nodes)


def innermost(node: Node, onset: Quarters, offset: Quarters) -> Node:
    """The smallest node below ``node`` that holds all of a stretch."""
    for part in node.parts:
        if part.onset <= onset and offset <= part.offset:
            return innermost(part, onset, offset)
    return node
