"""The outline of a sign, in slices: the bounding box of a flag or a natural is mostly empty.

Source of the path commands: SVG 1.1, chapter 8 (https://www.w3.org/TR/SVG11/paths.html); those
that the music font uses are read.
"""

import re
from collections.abc import Iterator, Sequence
from functools import lru_cache

from apoyando.engraving.drawing.boxes import Box, Point, hull
from apoyando.engraving.drawing.shapes import GLYPH_UNITS_PER_EM, Glyph, curve_points, glyph_outline

FINENESS = 10.0
"""Thousandths of an em between points of an outline."""
_TOKEN = re.compile(r"[A-Za-z]|-?\d+(?:\.\d+)?")
_ARGUMENTS = {"m": 2, "l": 2, "h": 1, "v": 1, "c": 6, "s": 4, "z": 0}


def outline_boxes(sign: Glyph, slice_height: float) -> tuple[Box, ...]:
    """The sign at its place in slices about so high; what lies within its outlines counts as filled."""
    scale = sign.size / GLYPH_UNITS_PER_EM
    return tuple(box.placed(sign.x, sign.y, scale) for box in _slices(sign.code, round(slice_height / scale)))


def outline_box(sign: Glyph, slice_height: float) -> Box:
    """The box around all slices of the sign."""
    scale = sign.size / GLYPH_UNITS_PER_EM
    return _around_slices(sign.code, round(slice_height / scale)).placed(sign.x, sign.y, scale)


@lru_cache(256)
def _slices(code: str, height: int) -> tuple[Box, ...]:
    """In thousandths of an em, y down."""
    outlines = read_outlines(glyph_outline(code))
    return tuple(box for outline in outlines for box in _slices_of(tuple(_dense(outline)), height))


@lru_cache(256)
def _around_slices(code: str, height: int) -> Box:
    return hull(_slices(code, height))


def _slices_of(points: Sequence[Point], height: int) -> Iterator[Box]:
    rows: dict[int, list[Point]] = {}
    for x, y in points:
        rows.setdefault(int(-y // height), []).append((x, -y))
    for row in rows.values():
        yield hull(Box(x, y, x, y) for x, y in row)


def _dense(outline: Sequence[Point]) -> Iterator[Point]:
    """Points along an outline that lie close enough for none of its slices to be missed."""
    for (x, y), (to_x, to_y) in zip(outline, [*outline[1:], outline[0]], strict=True):
        count = int(max(abs(to_x - x), abs(to_y - y)) // FINENESS) + 1
        yield from ((x + (to_x - x) * n / count, y + (to_y - y) * n / count) for n in range(count))


def read_outlines(path: str) -> Iterator[list[Point]]:
    """The closed outlines of a path as they are written. Raises ValueError for a command that is not read."""
    points: list[Point] = []
    control: Point = (0.0, 0.0)
    for command, numbers in _commands(path):
        if command in "zZ":
            yield points
            points = points[:1]
            continue
        start = points[-1] if points else (0.0, 0.0)
        places = _places(command, numbers, start)
        if command in "mM":
            points = []
        if command in "cCsS":
            mirrored = (2 * start[0] - control[0], 2 * start[1] - control[1])
            first = places[0] if command in "cC" else mirrored
            points += curve_points(start, first, places[-2], places[-1])[1:]
            control = places[-2]
        else:
            points.append(places[-1])
            control = places[-1]


def _commands(path: str) -> Iterator[tuple[str, list[float]]]:
    """Each command with its numbers; one that is not repeated goes on."""
    tokens = _TOKEN.findall(path)
    command, at = "", 0
    while at < len(tokens):
        if tokens[at].isalpha():
            command, at = tokens[at], at + 1
        if command.lower() not in _ARGUMENTS:
            message = f"a path command that is not read: {command!r}"
            raise ValueError(message)
        count = _ARGUMENTS[command.lower()]
        yield command, [float(token) for token in tokens[at : at + count]]
        at += count


def _places(command: str, numbers: Sequence[float], start: Point) -> list[Point]:
    """The places that a command names; those of a small letter count from where it starts."""
    x, y = start if command.islower() else (0.0, 0.0)
    match command.lower():
        case "h":
            return [(x + numbers[0], start[1])]
        case "v":
            return [(start[0], y + numbers[0])]
        case _:
            return [(x + dx, y + dy) for dx, dy in zip(numbers[::2], numbers[1::2], strict=True)]
