"""Reads tablature off a page as a player does: by where its figures stand.

It imports nothing of the program that makes the pages and looks at the SVG alone: six even
lines are the strings, the highest is string 1, and a figure whose middle lies on a line is
a fret.

Conventions: lengths in the units of the drawing; ``middle_em`` is half the height of a figure.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from xml.etree.ElementTree import Element, fromstring

SVG = "{http://www.w3.org/2000/svg}"
NUMBERS = re.compile(r"-?\d+(?:\.\d+)?")
HALF_FIGURE_EM = 0.338
"""Half of the height of a figure of STIX 1.1.1 (676 thousandths of an em)."""
BLACK_HEADS = frozenset({"#E0A0", "#E0A2", "#E0A3", "#E0A4", "#E0D8", "#E0D9", "#E0DB"})
"""Breve, whole, half and black, and diamonds whole, half and black (SMuFL 1.4, noteheads)."""
SLACK = 3.0


@dataclass(frozen=True)
class Figure:
    """One number: ``is_bracketed`` says that it is not struck, ``is_touched`` that it is a harmonic."""

    string: int
    fret: int
    x: float
    is_bracketed: bool
    is_touched: bool = False


@dataclass(frozen=True)
class TablatureLine:
    """One line of tablature: its strings from the highest, what stands on them from left to right.

    ``heads`` are the middles of the note heads above, ``blanks`` the (left, right, top, bottom)
    of what interrupts the lines.
    """

    strings: tuple[float, ...]
    figures: tuple[Figure, ...]
    heads: tuple[float, ...]
    blanks: tuple[tuple[float, float, float, float], ...]


def read_tablature(page: str) -> tuple[TablatureLine, ...]:
    """The lines of a page, from the top."""
    root = fromstring(page)  # noqa: S314 - written by the program under test
    outlines = {path.get("id", ""): path for path in root.iter(f"{SVG}path")}
    systems = [group for group in root.iter(f"{SVG}g") if group.get("class") == "system"]
    return tuple(_read_line(system, outlines) for system in systems)


def _read_line(system: Element, outlines: dict[str, Element]) -> TablatureLine:
    strings = _strings(system)
    figures = sorted(_figures(system, strings), key=lambda figure: figure.x)
    blanks = tuple(_blanks(system))
    return TablatureLine(strings, tuple(figures), tuple(_heads(system, outlines)), blanks)


def _strings(system: Element) -> tuple[float, ...]:
    """The six lowest of the long level lines."""
    levels = set()
    for line in system.iter(f"{SVG}polyline"):
        x0, y0, *more = (float(number) for number in NUMBERS.findall(line.get("points", "")))
        if len(more) == 2 and y0 == more[1] and x0 == 0.0:
            levels.add(y0)
    return tuple(sorted(levels)[-6:])


def _figures(system: Element, strings: tuple[float, ...]) -> Iterator[Figure]:
    for text in system.iter(f"{SVG}text"):
        figure = re.fullmatch(r"(\(|<|\(<)?(\d+)[>)]*", text.text or "")
        size = float(text.get("font-size", "0"))
        middle = float(text.get("y", "0")) - HALF_FIGURE_EM * size
        on = [number for number, y in enumerate(strings, 1) if abs(y - middle) < SLACK]
        if figure and on and text.get("font-weight") != "bold":
            x = float(text.get("x", "0")) + _half_width_em(text.text or "") * size
            opened = figure.group(1) or ""
            yield Figure(on[0], int(figure.group(2)), x, "(" in opened, "<" in opened)


def _half_width_em(text: str) -> float:
    """Figures of STIX are half an em wide, round brackets a third, angle brackets more (its ``hmtx`` table)."""
    return sum({"(": 0.333, ")": 0.333, "<": 0.685, ">": 0.685}.get(letter, 0.5) for letter in text) / 2


def _blanks(system: Element) -> Iterator[tuple[float, float, float, float]]:
    for blank in system.iter(f"{SVG}rect"):
        x, y, width, height = (float(blank.get(name, "0")) for name in ("x", "y", "width", "height"))
        yield x, x + width, y, y + height


def _heads(system: Element, outlines: dict[str, Element]) -> Iterator[float]:
    """The middle of each note head: half its outline's width from where it is placed."""
    for use in system.iter(f"{SVG}use"):
        if use.get("href") in BLACK_HEADS:
            x, _, scale = (float(number) for number in NUMBERS.findall(use.get("transform", ""))[:3])
            yield x + scale * _width(outlines[use.get("href", "#")[1:]]) / 2


def _width(outline: Element) -> float:
    """The right edge of an outline that begins at 0, by following its pen."""
    x, right = 0.0, 0.0
    for command, written in re.findall(r"([A-Za-z])([^A-Za-z]*)", outline.get("d", "")):
        numbers = [float(number) for number in NUMBERS.findall(written)]
        steps = {
            "M": numbers[::2],
            "m": numbers[::2],
            "l": numbers[::2],
            "c": numbers[4::6],
            "s": numbers[2::4],
            "h": numbers,
            "L": numbers[::2],
            "C": numbers[4::6],
            "S": numbers[2::4],
            "H": numbers,
        }.get(command, [])
        for step in steps:
            x = x + step if command.islower() else step
            right = max(right, x)
    return right
