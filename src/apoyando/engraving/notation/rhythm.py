"""Exact lengths as written values: dots, ties, tuplets.

``spell_bar`` takes what one voice does in one bar and says with which signs it is
written, so that the pulse can be seen: nothing runs over the middle of a 4/4 bar or over
a pulse of a compound meter unless it fills whole parts or, in 4/4, starts on the
downbeat; off-beat quarters between eighths are allowed within a half bar; rests never
hide a pulse. (Common practice, no source; the rules are in ``_may_stand`` and
``_rest_may_stand``.)

Conventions: positions are quarters from the downbeat; ``phase`` is where in the meter the
bar begins (a pickup begins late). Written length times normal/actual is real length, but
for the absurd: what needs a sign shorter than a 1024th or a tuplet of more than
``MOST_IN_TUPLET`` keeps its exact duration and gets the nearest sign.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from itertools import accumulate, pairwise
from math import lcm

from apoyando.engraving.notation.meter import QUARTER, Node, bar_nodes, innermost
from apoyando.model.song import Meter
from apoyando.model.time import Quarters

FINEST = Fraction(1, 256)
"""A 1024th, the shortest sign of MusicXML 4.0 (``note-type-value``), in quarters."""
LONGEST = Fraction(8)
"""A breve, in quarters; longer signs are not in use today."""
MOST_DOTS = 2
MOST_IN_TUPLET = 63
TRIPLET = 3


@dataclass(frozen=True, slots=True)
class NoteValue:
    """A written value: ``base`` is quarters of the undotted sign (4 = whole, 1/4 = sixteenth)."""

    base: Fraction
    dots: int = 0

    @property
    def quarters(self) -> Quarters:
        return self.base * (2 - Fraction(1, 2**self.dots))


@dataclass(frozen=True, slots=True)
class Tuplet:
    """``actual`` notes in the time of ``normal``: a triplet is 3:2. ``starts``/``stops``: bracket."""

    actual: int
    normal: int
    starts: bool = False
    stops: bool = False


@dataclass(frozen=True, slots=True)
class Stretch:
    """What a voice does for a time: sounds, or is silent."""

    duration: Quarters
    is_rest: bool = False


@dataclass(frozen=True, slots=True)
class Written:
    """One sign. ``onset`` counts from the start of the bar; ``duration`` is real time."""

    onset: Quarters
    duration: Quarters
    value: NoteValue
    tuplet: Tuplet | None = None


@dataclass(frozen=True, slots=True)
class _Piece:
    """A stretch at its place. ``item`` says which one it is or came from."""

    item: int
    onset: Quarters
    offset: Quarters
    is_rest: bool


@dataclass(frozen=True, slots=True)
class _Region:
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


def spell_bar(
    stretches: Sequence[Stretch], meter: Meter, phase: Quarters = Fraction(0)
) -> tuple[tuple[Written, ...], ...]:
    """The signs for each stretch of one voice in one bar.

    The stretches follow each other from the start of the bar. Several signs for a sounding
    stretch are to be tied. Laws: the signs of a stretch follow each other without gap and
    their durations sum to its duration.
    """
    pieces = _place(stretches, phase)
    spelled: list[list[Written]] = [[] for _ in stretches]
    for root in bar_nodes(meter, phase, pieces[-1].offset if pieces else phase):
        for item, sign in _spell_under(root, _clip(pieces, root.onset, root.offset)):
            spelled[item].append(replace(sign, onset=sign.onset - phase))
    return tuple(tuple(signs) for signs in spelled)


def single_value(length: Quarters) -> NoteValue | None:
    """The one sign for a length, with up to two dots, or None if it takes several."""
    for dots in range(MOST_DOTS + 1):
        value = NoteValue(length / (2 - Fraction(1, 2**dots)), dots)
        if FINEST <= value.base <= LONGEST and _is_power_of_two(value.base):
            return value
    return None


def _place(stretches: Sequence[Stretch], phase: Quarters) -> tuple[_Piece, ...]:
    borders = accumulate((stretch.duration for stretch in stretches), initial=phase)
    return tuple(
        _Piece(item, onset, offset, stretch.is_rest)
        for item, (stretch, (onset, offset)) in enumerate(zip(stretches, pairwise(borders), strict=True))
    )


def _clip(pieces: Sequence[_Piece], onset: Quarters, offset: Quarters) -> tuple[_Piece, ...]:
    clipped = (replace(p, onset=max(p.onset, onset), offset=min(p.offset, offset)) for p in pieces)
    return tuple(piece for piece in clipped if piece.onset < piece.offset)


def _spell_under(root: Node, pieces: Sequence[_Piece]) -> Iterator[tuple[int, Written]]:
    """The signs under one bar tree, in order of time."""
    now = root.onset
    for region in _tuplet_regions(root, pieces):
        yield from _spell_plain(root, _clip(pieces, now, region.node.onset))
        yield from _spell_tuplet(region, _clip(pieces, region.node.onset, region.node.offset))
        now = region.node.offset
    yield from _spell_plain(root, _clip(pieces, now, root.offset))


def _spell_plain(root: Node, pieces: Sequence[_Piece]) -> Iterator[tuple[int, Written]]:
    for piece in pieces:
        for onset, offset, value in _values(root, piece.onset, piece.offset, piece.is_rest):
            yield piece.item, Written(onset, offset - onset, value)


def _spell_tuplet(region: _Region, pieces: Sequence[_Piece]) -> Iterator[tuple[int, Written]]:
    signs: list[tuple[int, Written]] = []
    tuplet = Tuplet(region.actual, region.normal)
    for piece in pieces:
        span = region.written(piece.onset), region.written(piece.offset)
        for onset, offset, value in _values(region.flat_node, *span, piece.is_rest):
            real = region.real(onset)
            signs.append((piece.item, Written(real, region.real(offset) - real, value, tuplet)))
    for index, (item, sign) in enumerate(signs):
        ends = replace(tuplet, starts=index == 0, stops=index == len(signs) - 1)
        yield item, replace(sign, tuplet=ends)


# --- tuplets -------------------------------------------------------------------------


def _tuplet_regions(node: Node, pieces: Sequence[_Piece]) -> tuple[_Region, ...]:
    """The tuplets under a node: over as many parts as notes bind together, if they are even there."""
    if not _odd_ends(node, pieces):
        return ()
    return tuple(found for run in _runs(node, pieces) for found in _regions_of_run(node, run, pieces))


def _regions_of_run(node: Node, run: Sequence[Node], pieces: Sequence[_Piece]) -> tuple[_Region, ...]:
    if len(run) > 1:
        whole = replace(node, onset=run[0].onset, length=run[-1].offset - run[0].onset)
        region = _region(whole, pieces)
        if region and (node.is_beat or _is_even(region, pieces)):
            return (region,)
    if node.length <= FINEST:
        return ()
    return tuple(found for part in run for found in _tuplet_regions(part, pieces))


def _runs(node: Node, pieces: Sequence[_Piece]) -> tuple[tuple[Node, ...], ...]:
    """The parts of a node; those that an uneven note binds together in one run."""
    runs: list[tuple[Node, ...]] = []
    for part in node.parts:
        if runs and _is_bound(node, part.onset, pieces):
            runs[-1] = (*runs[-1], part)
        else:
            runs.append((part,))
    return tuple(runs)


def _is_bound(node: Node, border: Quarters, pieces: Sequence[_Piece]) -> bool:
    """A piece with an odd end inside the node runs over the border."""
    return any(
        piece.onset < border < piece.offset and any(_is_odd_inside(node, end) for end in _ends(piece))
        for piece in pieces
    )


def _region(node: Node, pieces: Sequence[_Piece]) -> _Region | None:
    """The tuplet over a node in which all its points have a place; None if there is no sensible one."""
    shares = [(end - node.onset) / node.length for end in _ends_inside(node, pieces)]
    actual = _odd_part(lcm(*(share.denominator for share in shares)))
    normal = _odd_part(node.length.numerator)
    if not normal < actual <= MOST_IN_TUPLET or actual % 3 == normal % 3 == 0:
        return None
    while 2 * normal <= actual:
        normal *= 2
    return _Region(node, actual, normal)


def _is_even(region: _Region, pieces: Sequence[_Piece]) -> bool:
    """Nothing with an odd end inside leaves the region, and everything inside falls on its units."""
    node, unit = region.node, region.flat_node.unit
    is_closed = not any(_is_bound(node, border, pieces) for border in (node.onset, node.offset))
    return is_closed and all(
        (region.written(end) / unit).denominator == 1 for end in _ends_inside(node, pieces)
    )


def _ends(piece: _Piece) -> tuple[Quarters, Quarters]:
    return piece.onset, piece.offset


def _ends_inside(node: Node, pieces: Sequence[_Piece]) -> tuple[Quarters, ...]:
    points = {end for piece in pieces for end in _ends(piece)}
    return tuple(sorted(point for point in points if node.onset < point < node.offset))


def _odd_ends(node: Node, pieces: Sequence[_Piece]) -> tuple[Quarters, ...]:
    return tuple(end for end in _ends_inside(node, pieces) if not _is_dyadic(end))


def _is_odd_inside(node: Node, point: Quarters) -> bool:
    """No halving reaches the point."""
    return node.onset < point < node.offset and not _is_dyadic(point)


# --- values --------------------------------------------------------------------------

_Signs = tuple[tuple[Quarters, Quarters, NoteValue], ...]


@lru_cache(maxsize=4096)
def _values(root: Node, onset: Quarters, offset: Quarters, is_rest: bool) -> _Signs:
    """The fewest signs for a stretch that show the pulse; among those the longest first."""
    if not (_has_sign(onset) and _has_sign(offset)):
        return ((onset, offset, _nearest_value(offset - onset)),)
    value = single_value(offset - onset)
    if value and (_rest_may_stand if is_rest else _may_stand)(root, onset, offset, value):
        return ((onset, offset, value),)
    ways = (
        _values(root, onset, border, is_rest) + _values(root, border, offset, is_rest)
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


def _is_dyadic(position: Quarters) -> bool:
    return _odd_part(position.denominator) == 1


def _odd_part(number: int) -> int:
    return number // (number & -number)
