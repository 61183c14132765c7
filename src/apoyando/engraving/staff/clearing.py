"""Beams, flags and ties that run into something are moved until they clear it.

The layout program sets each voice well by itself, but a bass that is held under a moving inner
voice gets its ties and ledger lines crossed by the beams above it. What hangs at stems goes with
their ends, longer or shorter; a tie is lifted off its heads or bent more or less. Of all moves
that end free the cheapest is taken; what is free already stays as it is. (Stems of at least two
and a half spaces, longer ones rather than things that touch: common practice, no source.)

Conventions: as in ``layout``: hundredths of a millimetre, y down; prices in staff spaces.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import NamedTuple

from apoyando.engraving.drawing.boxes import Box, hull
from apoyando.engraving.drawing.outlines import outline_box, outline_boxes
from apoyando.engraving.drawing.shapes import Beam, Curve, Drawing, Glyph, Shape, Stroke

AIR = 0.12
"""Staff spaces that are left free round what was moved."""
TIE_AIR = 0.06
"""A tie begins close to its head."""
LONGER = tuple(0.25 * n for n in range(1, 25))
SHORTER = tuple(-0.25 * n for n in range(1, 9))
SHORT_STEM = 2.5
SHORT_PRICE = 2.0
"""For each space by which the shortest stem is shorter than that."""
LEAST_STEM = 1.75
LIFTS = (0.0, 0.15, 0.3, 0.45, 0.6, 0.75)
LIFT_PRICE = 1.5
BENDS = (0.0, 0.2, -0.2, 0.4, -0.4, 0.6, 0.8, 1.0, 1.3, 1.6, 2.0)
LEAST_BEND = 0.2
SLICED = frozenset({"flag", "accid"})
"""Signs whose boxes are mostly empty are looked at in slices."""
SLICE = 0.25
NEAR_END = 1.8
IN_LINE = 0.1
ALONG = 0.2
SPACES_IN_BUCKET = 3

_SIGNS = frozenset({"notehead", "accid", "dots", "rest", "mRest", "arpeg", "tupletNum", "tupletBracket"})
KEPT_CLEAR: Mapping[str, frozenset[str]] = {
    "beam": _SIGNS | {"flag", "tie", "ledgerLines", "beam", "barLine", "fermata", "stem"},
    "flag": _SIGNS | {"flag", "beam", "barLine", "stem"},
    "stem": _SIGNS | {"flag", "beam"},
    "tie": _SIGNS | {"tie", "beam", "ledgerLines", "fermata"},
}
"""What each kind that can be moved may not touch. The rest it may: staff lines, a tie over a stem."""


class Part(NamedTuple):
    """A shape of a system; ``holder`` names the beam or the stem to which it belongs, "" if none."""

    shape: Shape
    holder: str


@dataclass(frozen=True, slots=True)
class _Move:
    """Drawings that take the place of others, by their index among the parts."""

    price: float
    drawings: Mapping[int, Drawing]


@dataclass(frozen=True, slots=True)
class _Hung:
    """Stems and what hangs at their ends, by index: one beam with its short ones, or one flag."""

    stems: tuple[int, ...]
    hanging: tuple[int, ...]

    @property
    def members(self) -> tuple[int, ...]:
        return (*self.stems, *self.hanging)


@dataclass(frozen=True, slots=True)
class _Tie:
    index: int

    @property
    def members(self) -> tuple[int, ...]:
        return (self.index,)


_Movable = _Hung | _Tie


def clear_touches(parts: Sequence[Part], space: float) -> tuple[Shape, ...]:
    """The shapes of a system in their order, those moved that ran into something. ``space`` is that of the staff."""
    field = _Field(parts, space)
    movables = list(_movables(parts))
    owners = {index: movable for movable in movables for index in movable.members}
    for movable in movables:
        hit = field.touched(movable.members)
        if hit or _is_cramped(movable, field):
            partners = dict.fromkeys(owners[index] for index in sorted(hit) if index in owners)
            moves = sorted((m for each in (movable, *partners) for m in _moves(each, field)), key=_price)
            freeing = (move for move in moves if field.is_freed(movable.members, move))
            field.apply(next(freeing, _Move(0.0, {})))
    return tuple(field.shapes)


def _price(move: _Move) -> float:
    return move.price


def _movables(parts: Sequence[Part]) -> Iterator[_Movable]:
    """From left to right as they are drawn; ties last, for they bend round the rest."""
    held: dict[str, list[int]] = defaultdict(list)
    ties: list[_Movable] = []
    for index, part in enumerate(parts):
        if part.holder and part.shape.kind in {"stem", "beam", "flag"}:
            held[part.holder].append(index)
        elif isinstance(part.shape.drawing, Curve):
            ties.append(_Tie(index))
    for indices in held.values():
        stems = tuple(index for index in indices if parts[index].shape.kind == "stem")
        hanging = tuple(index for index in indices if parts[index].shape.kind != "stem")
        if stems and hanging:
            yield _Hung(stems, hanging)
    yield from ties


class _Field:
    """The shapes of a system, findable by where they are along the line.

    ``around`` has for each the box around all of it. Most things have nothing near: only where two such
    boxes overlap are they looked at piece by piece.
    """

    def __init__(self, parts: Sequence[Part], space: float) -> None:
        self.space, self.bucket = space, SPACES_IN_BUCKET * space
        self.shapes = [part.shape for part in parts]
        self.around = [_around(shape, space) for shape in self.shapes]
        self.buckets: dict[int, list[tuple[int, Box]]] = defaultdict(list)
        for index in range(len(parts)):
            self._enter(index)

    def _enter(self, index: int) -> None:
        if self.shapes[index].kind != "staffLine":
            box = self.around[index]
            for bucket in self._buckets(box):
                self.buckets[bucket].append((index, box))

    def _buckets(self, box: Box) -> range:
        return range(int(box.left // self.bucket), int(box.right // self.bucket) + 1)

    def apply(self, move: _Move) -> None:
        for bucket in self.buckets.values():
            bucket[:] = [entry for entry in bucket if entry[0] not in move.drawings]
        for index, drawing in move.drawings.items():
            self.shapes[index] = replace(self.shapes[index], drawing=drawing)
            self.around[index] = _around(self.shapes[index], self.space)
            self._enter(index)

    def touched(self, members: Sequence[int], move: _Move | None = None) -> set[int]:
        """What the members touch, where they are or after a move; after it there must be air round them."""
        moved = move.drawings if move else {}
        found: set[int] = set()
        for index in members:
            shunned = KEPT_CLEAR[self.shapes[index].kind]
            around = hull(self._reach(index, moved)) if index in moved else self.around[index]
            near = [
                other
                for other in self._near(around, moved)
                if other not in members and self.shapes[other].kind in shunned
            ]
            if near:
                pieces = self._reach(index, moved)
                found.update(other for other in near if self._is_touched(other, moved, index, pieces))
        return found

    def is_freed(self, members: Sequence[int], move: _Move) -> bool:
        """After a move neither the members nor what was moved touch anything."""
        return not self.touched(tuple(move.drawings), move) and not self.touched(members, move)

    def _reach(self, index: int, moved: Mapping[int, Drawing]) -> Sequence[Box]:
        """The pieces of a member, with air round them after a move."""
        pieces = self._pieces(index, moved)
        if index not in moved:
            return pieces
        air = (TIE_AIR if self.shapes[index].kind == "tie" else AIR) * self.space
        return [box.grown(air) for box in pieces]

    def _pieces(self, index: int, moved: Mapping[int, Drawing]) -> Sequence[Box]:
        shape = self.shapes[index]
        return (
            _boxes(moved[index], shape.kind, self.space) if index in moved else _boxes_of(shape, self.space)
        )

    def _near(self, box: Box, moved: Mapping[int, Drawing]) -> list[int]:
        """What is around a box, and all that was moved."""
        left, top, right, bottom = box
        return [
            *moved,
            *(
                other
                for bucket in self._buckets(box)
                for other, (its_left, its_top, its_right, its_bottom) in self.buckets.get(bucket, ())
                if left < its_right and its_left < right and top < its_bottom and its_top < bottom
                if other not in moved
            ),
        ]

    def _is_touched(
        self, other: int, moved: Mapping[int, Drawing], index: int, pieces: Sequence[Box]
    ) -> bool:
        return any(
            piece.overlaps(its) and not self._is_meant(index, piece, other, its)
            for its in self._pieces(other, moved)
            for piece in pieces
        )

    def _is_meant(self, index: int, box: Box, other: int, its_box: Box) -> bool:
        """Things that meet because they belong together: a stem along a head, at its flag or its beam."""
        kinds = (self.shapes[index].kind, self.shapes[other].kind)
        if kinds[0] == "stem":
            return self._is_at_stem(box, kinds[1], its_box)
        return kinds[1] == "stem" and self._is_at_stem(its_box, kinds[0], box)

    def _is_at_stem(self, stem: Box, kind: str, thing: Box) -> bool:
        x = stem.middle[0]
        match kind:
            case "notehead":
                return min(abs(x - thing.left), abs(x - thing.right)) < ALONG * self.space
            case "flag":
                return abs(x - thing.left) < ALONG * self.space
            case "beam":
                reach = (NEAR_END - AIR) * self.space
                return any(thing.top - reach < y < thing.bottom + reach for y in (stem.top, stem.bottom))
            case _:
                return False


def _around(shape: Shape, space: float) -> Box:
    if shape.kind in SLICED and isinstance(shape.drawing, Glyph):
        return outline_box(shape.drawing, SLICE * space)
    boxes = shape.boxes()
    return boxes[0] if len(boxes) == 1 else hull(boxes)


def _boxes_of(shape: Shape, space: float) -> Sequence[Box]:
    return _boxes(shape.drawing, shape.kind, space) if shape.kind in SLICED else shape.boxes()


def _boxes(drawing: Drawing, kind: str, space: float) -> Sequence[Box]:
    if kind in SLICED and isinstance(drawing, Glyph):
        return outline_boxes(drawing, SLICE * space)
    return drawing.boxes()


# --- moves ---------------------------------------------------------------------------


def _moves(movable: _Movable, field: _Field) -> Iterator[_Move]:
    if isinstance(movable, _Tie):
        yield from _tie_moves(movable, field)
    else:
        yield from _stem_moves(movable, field)


def _tie_moves(tie: _Tie, field: _Field) -> Iterator[_Move]:
    curve = field.shapes[tie.index].drawing
    if isinstance(curve, Curve):
        bend = curve.points[1][1] - curve.points[0][1]
        way = 1.0 if bend > 0 else -1.0
        for lift, more in product(LIFTS, BENDS):
            if abs(bend) + more * field.space > LEAST_BEND * field.space:
                drawing = _bent(curve, way * lift * field.space, way * (lift + more) * field.space)
                yield _Move(LIFT_PRICE * lift + abs(more), {tie.index: drawing})


def _bent(curve: Curve, ends: float, middle: float) -> Curve:
    start, one, two, end, three, four = curve.points
    lowered = ((start, ends), (one, middle), (two, middle), (end, ends), (three, middle), (four, middle))
    return replace(curve, points=tuple((x, y + by) for (x, y), by in lowered))


def _stem_moves(hung: _Hung, field: _Field) -> Iterator[_Move]:
    stems = {
        index: drawing for index in hung.stems if isinstance(drawing := field.shapes[index].drawing, Stroke)
    }
    way, shortest = _way(stems.values()), min(_length(stem) for stem in stems.values()) / field.space
    for longer in (*LONGER, *SHORTER):
        length = shortest + longer
        if longer > 0 or length >= LEAST_STEM:
            by = way * longer * field.space
            price = abs(longer) + SHORT_PRICE * max(0.0, SHORT_STEM - length)
            lengthened = {index: _lengthened(stem, by) for index, stem in stems.items()}
            hanging = {index: _lowered(field.shapes[index].drawing, by) for index in hung.hanging}
            yield _Move(price, {**lengthened, **hanging})


def _is_cramped(movable: _Movable, field: _Field) -> bool:
    """A beam so close to a head that the stem is hardly seen."""
    if isinstance(movable, _Tie):
        return False
    stems = [stem for index in movable.stems if isinstance(stem := field.shapes[index].drawing, Stroke)]
    return min(_length(stem) for stem in stems) < LEAST_STEM * field.space


def _way(stems: Iterable[Stroke]) -> float:
    """1 for stems that go down from their heads, -1 for those that go up."""
    stem = next(iter(stems))
    return 1.0 if stem.points[-1][1] > stem.points[0][1] else -1.0


def _length(stem: Stroke) -> float:
    return abs(stem.points[-1][1] - stem.points[0][1])


def _lengthened(stem: Stroke, by: float) -> Stroke:
    *fixed, (x, y) = stem.points
    return replace(stem, points=(*fixed, (x, y + by)))


def _lowered(drawing: Drawing, by: float) -> Drawing:
    match drawing:
        case Glyph():
            return replace(drawing, y=drawing.y + by)
        case Beam():
            return replace(drawing, points=tuple((x, y + by) for x, y in drawing.points))
        case _:
            return drawing
