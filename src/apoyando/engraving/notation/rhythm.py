"""Exact lengths as written values: dots, ties, tuplets.

``spell_bar`` takes what one voice does in one bar and says with which signs it is
written: where tuplets lie (``tuplets``), and in and outside them the values (``values``).

Conventions: positions are quarters from the downbeat; ``phase`` is where in the meter the
bar begins (a pickup begins late). Written length times normal/actual is real length, but
for the absurd: what needs a sign shorter than a 1024th or a tuplet of more than
``MOST_IN_TUPLET`` keeps its exact duration and gets the nearest sign.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import accumulate, pairwise

from apoyando.engraving.notation.meter import Node, bar_nodes
from apoyando.engraving.notation.tuplets import Piece, Region, find_tuplets
from apoyando.engraving.notation.values import NoteValue, split_length
from apoyando.model.song import Meter
from apoyando.model.time import Quarters


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


def _place(stretches: Sequence[Stretch], phase: Quarters) -> tuple[Piece, ...]:
    borders = accumulate((stretch.duration for stretch in stretches), initial=phase)
    return tuple(
        Piece(item, onset, offset, stretch.is_rest)
        for item, (stretch, (onset, offset)) in enumerate(zip(stretches, pairwise(borders), strict=True))
    )


def _clip(pieces: Sequence[Piece], onset: Quarters, offset: Quarters) -> tuple[Piece, ...]:
    clipped = (replace(p, onset=max(p.onset, onset), offset=min(p.offset, offset)) for p in pieces)
    return tuple(piece for piece in clipped if piece.onset < piece.offset)


def _spell_under(root: Node, pieces: Sequence[Piece]) -> Iterator[tuple[int, Written]]:
    """The signs under one bar tree, in order of time."""
    now = root.onset
    for region in find_tuplets(root, pieces):
        yield from _spell_plain(root, _clip(pieces, now, region.node.onset))
        yield from _spell_tuplet(region, _clip(pieces, region.node.onset, region.node.offset))
        now = region.node.offset
    yield from _spell_plain(root, _clip(pieces, now, root.offset))


def _spell_plain(root: Node, pieces: Sequence[Piece]) -> Iterator[tuple[int, Written]]:
    for piece in pieces:
        for onset, offset, value in split_length(root, piece.onset, piece.offset, piece.is_rest):
            yield piece.item, Written(onset, offset - onset, value)


def _spell_tuplet(region: Region, pieces: Sequence[Piece]) -> Iterator[tuple[int, Written]]:
    signs: list[tuple[int, Written]] = []
    tuplet = Tuplet(region.actual, region.normal)
    for piece in pieces:
        span = region.written(piece.onset), region.written(piece.offset)
        for onset, offset, value in split_length(region.flat_node, *span, piece.is_rest):
            real = region.real(onset)
            signs.append((piece.item, Written(real, region.real(offset) - real, value, tuplet)))
    for index, (item, sign) in enumerate(signs):
        ends = replace(tuplet, starts=index == 0, stops=index == len(signs) - 1)
        yield item, replace(sign, tuplet=ends)
