"""Where tuplets lie: stretches of a bar in which notes begin or end where no halving of the meter reaches."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import lcm

from apoyando.engraving.notation.meter import Node
from apoyando.engraving.notation.values import FINEST
from apoyando.model.time import Quarters

MOST_IN_TUPLET = 63


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch at its place. ``item`` says which one it is or came from."""

    item: int
    onset: Quarters
    offset: Quarters
    is_rest: bool


@dataclass(frozen=True, slots=True)
class Region:
    """A node that is read as a tuplet: its time is stretched by actual/normal onto a flat node."""

    node: Node
    actual: int
    normal: int

    def written(self, position: Quarters) -> Quarters:
        return (position - self.node.onset) * self.actual / self.normal

    def real(self, position: Quarters) -> Quarters:
        return self.node.onset + position * self.normal / self.actual

    @property
    def flat_node(self) -> Node:
        return Node(Fraction(0), self.written(self.node.offset), self.node.length / self.normal, is_flat=True)


def find_tuplets(node: Node, pieces: Sequence[Piece]) -> tuple[Region, ...]:
    """The tuplets under a node: over as many parts as notes bind together, if they are even there."""
    if not _odd_ends(node, pieces):
        return ()
    return tuple(found for run in _runs(node, pieces) for found in _regions_of_run(node, run, pieces))


def _regions_of_run(node: Node, run: Sequence[Node], pieces: Sequence[Piece]) -> tuple[Region, ...]:
    if len(run) > 1:
        whole = replace(node, onset=run[0].onset, length=run[-1].offset - run[0].onset)
        region = _region(whole, pieces)
        if region and (node.is_beat or _is_even(region, pieces)):
            return (region,)
    if node.length <= FINEST:
        return ()
    return tuple(found for part in run for found in find_tuplets(part, pieces))


def _runs(node: Node, pieces: Sequence[Piece]) -> tuple[tuple[Node, ...], ...]:
    """The parts of a node; those that an uneven note binds together in one run."""
    runs: list[tuple[Node, ...]] = []
    for part in node.parts:
        if runs and _is_bound(node, part.onset, pieces):
            runs[-1] = (*runs[-1], part)
        else:
            runs.append((part,))
    return tuple(runs)


def _is_bound(node: Node, border: Quarters, pieces: Sequence[Piece]) -> bool:
    """A piece with an odd end inside the node runs over the border."""
    return any(
        piece.onset < border < piece.offset and any(_is_odd_inside(node, end) for end in _ends(piece))
        for piece in pieces
    )


def _region(node: Node, pieces: Sequence[Piece]) -> Region | None:
    """The tuplet over a node in which all its points have a place; None if there is no sensible one."""
    shares = [(end - node.onset) / node.length for end in _ends_inside(node, pieces)]
    actual = _odd_part(lcm(*(share.denominator for share in shares)))
    normal = _odd_part(node.length.numerator)
    if not normal < actual <= MOST_IN_TUPLET or actual % 3 == normal % 3 == 0:
        return None
    while 2 * normal <= actual:
        normal *= 2
    return Region(node, actual, normal)


def _is_even(region: Region, pieces: Sequence[Piece]) -> bool:
    """Nothing with an odd end inside leaves the region, and everything inside falls on its units."""
    node, unit = region.node, region.flat_node.unit
    is_closed = not any(_is_bound(node, border, pieces) for border in (node.onset, node.offset))
    return is_closed and all(
        (region.written(end) / unit).denominator == 1 for end in _ends_inside(node, pieces)
    )


def _ends(piece: Piece) -> tuple[Quarters, Quarters]:
    return piece.onset, piece.offset


def _ends_inside(node: Node, pieces: Sequence[Piece]) -> tuple[Quarters, ...]:
    points = {end for piece in pieces for end in _ends(piece)}
    return tuple(sorted(point for point in points if node.onset < point < node.offset))


def _odd_ends(node: Node, pieces: Sequence[Piece]) -> tuple[Quarters, ...]:
    return tuple(end for end in _ends_inside(node, pieces) if not _is_dyadic(end))


def _is_odd_inside(node: Node, point: Quarters) -> bool:
    """No halving reaches the point."""
    return node.onset < point < node.offset and not _is_dyadic(point)


def _is_dyadic(position: Quarters) -> bool:
    return _odd_part(position.denominator) == 1


def _odd_part(number: int) -> int:
    return number // (number & -number)
