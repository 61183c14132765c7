"""Chord shapes with fingers set by people, and the question they put to the hand model.

Source: the chord diagrams of ``@tombatossals/chords-db`` 0.5.1 (npm, MIT), which lie beside
the project in ``shared/chord-shapes``. Each lists, from string 6 to string 1, a fret (-1 for
a silent string, 0 for an open one, else counted from ``baseFret``) and a finger (0 for none).

Conventions: shapes are named by chord and place in the list, "C major 2"; frets are counted
from the nut; a finger on several strings is a barre, whatever the diagram's own ``barres``.
"""

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from hashlib import sha256
from itertools import combinations
from pathlib import Path
from typing import Any

from apoyando.fingering import Candidate, NoWayError, Problem, Slice, Solution, VoiceSlice, find_best_way
from apoyando.model.hand import Finger
from apoyando.model.instrument import (
    LAST_FRET,
    STANDARD_TUNING,
    STRINGS,
    Fret,
    Place,
    StringNumber,
    distance_mm,
)
from apoyando.model.level import Level
from apoyando.model.prices import Prices

PATH = Path(__file__).parents[3] / "shared" / "chord-shapes" / "guitar.json"
QUARTERS = 0.5
"""A shape is asked for as an eighth: long enough for a barre to be felt, too short to rule."""


@dataclass(frozen=True, slots=True)
class Press:
    """One sounding string of a shape; finger 0 for an open one."""

    string: int
    fret: int
    finger: int


@dataclass(frozen=True, slots=True)
class ChordShape:
    """The sounding strings of a chord, string 6 first."""

    name: str
    presses: tuple[Press, ...]

    @property
    def fingers(self) -> tuple[int, ...]:
        return tuple(press.finger for press in self.presses)

    @property
    def places(self) -> tuple[tuple[int, int], ...]:
        return tuple((press.string, press.fret) for press in self.presses)

    @property
    def barres(self) -> Mapping[int, tuple[int, ...]]:
        """The strings of every finger that stops more than one."""
        strings = {
            finger: tuple(press.string for press in self.presses if press.finger == finger)
            for finger in (1, 2, 3, 4)
        }
        return {finger: those for finger, those in strings.items() if len(those) > 1}

    @property
    def pattern(self) -> tuple[int, ...]:
        """The frets wherever the shape lies on the neck, string 6 first: the lowest is 1, -1 is silent."""
        lowest = min((press.fret for press in self.presses if press.fret), default=1)
        moved = {p.string: p.fret - lowest + 1 if p.fret else 0 for p in self.presses}
        return tuple(moved.get(string, -1) for string in reversed(STRINGS))

    @property
    def is_held_out(self) -> bool:
        """One half of the patterns, which no price has seen. A pattern is in one half with all its frets."""
        return sha256(repr(self.pattern).encode()).digest()[0] % 2 == 1


@dataclass(frozen=True, slots=True)
class ShapeBook:
    """``faults`` names every shape that contradicts itself, with the reason."""

    shapes: tuple[ChordShape, ...]
    faults: Mapping[str, str]

    @property
    def distinct(self) -> tuple[ChordShape, ...]:
        """Each shape once, where two chords share it under two names."""
        return tuple({shape.presses: shape for shape in reversed(self.shapes)}.values())[::-1]


def read_shapes(path: Path = PATH) -> ShapeBook:
    book = json.loads(path.read_text(encoding="utf-8"))
    shapes: list[ChordShape] = []
    faults: dict[str, str] = {}
    for name, diagram in _diagrams(book):
        fault = find_fault(diagram["frets"], diagram["fingers"])
        if fault:
            faults[name] = fault
        else:
            shapes.append(_shape(name, diagram))
    return ShapeBook(tuple(shapes), faults)


def _diagrams(book: Mapping[str, Any]) -> Iterator[tuple[str, Mapping[str, Any]]]:
    for chords in book["chords"].values():
        for chord in chords:
            for number, diagram in enumerate(chord["positions"], 1):
                yield f"{chord['key']} {chord['suffix']} {number}", diagram


def _shape(name: str, diagram: Mapping[str, Any]) -> ChordShape:
    rows = zip(reversed(STRINGS), diagram["frets"], diagram["fingers"], strict=True)
    return ChordShape(
        name,
        tuple(
            Press(string, fret + diagram["baseFret"] - 1 if fret else 0, finger)
            for string, fret, finger in rows
            if fret >= 0
        ),
    )


def find_fault(frets: Iterable[int], fingers: Iterable[int]) -> str:
    """In what a diagram contradicts itself, "" if it does not. Both lists from string 6 to 1."""
    lies: dict[int, int] = {}
    for string, fret, finger in zip(reversed(STRINGS), frets, fingers, strict=True):
        if fret > 0 and not finger:
            return f"string {string} is stopped by no finger"
        if fret <= 0 and finger:
            return f"string {string} has finger {finger} and is {'silent' if fret < 0 else 'open'}"
        if finger and lies.setdefault(finger, fret) != fret:
            return f"finger {finger} lies at two frets"
    return ""


# What the hand model does not admit.


class Obstacle(StrEnum):
    """Why some fingers that people wrote cannot lie so, by the rules of ``docs/hand.md``."""

    FRETS_CROSSED = "a lower-numbered finger on a higher fret"
    STRINGS_CROSSED = "at one fret the lower number on the higher-pitched string"
    BARRE_IN_THE_WAY = "a barre over a string that sounds at a lower fret"
    TOO_WIDE = "two fingers too far apart"


def find_obstacle(shape: ChordShape, level: Level) -> Obstacle | None:
    """The first rule that a shape breaks, said anew without the search's code."""
    stopped = sorted((p for p in shape.presses if p.finger), key=lambda press: press.finger)
    pairs = [(low, high) for low, high in combinations(stopped, 2) if low.finger < high.finger]
    if any(low.fret > high.fret for low, high in pairs):
        return Obstacle.FRETS_CROSSED
    if any(low.fret == high.fret and low.string < high.string for low, high in pairs):
        return Obstacle.STRINGS_CROSSED
    if any(_is_in_the_way(shape, finger, strings) for finger, strings in shape.barres.items()):
        return Obstacle.BARRE_IN_THE_WAY
    if any(_span_mm(low, high) > _outermost_mm(level, low, high) for low, high in pairs):
        return Obstacle.TOO_WIDE
    return None


def _is_in_the_way(shape: ChordShape, finger: int, strings: tuple[int, ...]) -> bool:
    fret = max(press.fret for press in shape.presses if press.finger == finger)
    return any(min(strings) < p.string < max(strings) and p.fret < fret for p in shape.presses)


def _span_mm(one: Press, other: Press) -> float:
    return distance_mm(*(Place(StringNumber(p.string), Fret(p.fret)) for p in (one, other)))


def _outermost_mm(level: Level, low: Press, high: Press) -> float:
    return level.spans[Finger(low.finger), Finger(high.finger)].outermost_mm


# The question.


def pose_shape(
    shape: ChordShape, fingers: tuple[int, ...] | None = None, quarters: float = QUARTERS
) -> Problem:
    """One slice with a voice for each string: which fingers? Or, where they are given, at what price?"""
    given = [(finger,) for finger in fingers] if fingers else [()] * len(shape.presses)
    voices = tuple(
        VoiceSlice(candidates=(_candidate(place, choice),), is_struck=True)
        for place, choice in zip(shape.places, given, strict=True)
    )
    return Problem((Slice(quarters=quarters, seconds=quarters, voices=voices),))


def _candidate(place: tuple[int, int], fingers: tuple[int, ...]) -> Candidate:
    string, fret = StringNumber(place[0]), Fret(place[1])
    note = STANDARD_TUNING.note_at(Place(string, fret))
    return Candidate(note, highest_fret=LAST_FRET, strings=(string,), fingers=fingers)


@dataclass(frozen=True, slots=True)
class Answer:
    """The search beside people: ``people_price`` is None where the hand model does not admit them.

    ``fingers`` and ``price`` are the search's, None where there is no way at all.
    """

    shape: ChordShape
    fingers: tuple[int, ...] | None
    price: int | None
    people_price: int | None

    @property
    def agrees(self) -> bool:
        return self.fingers == self.shape.fingers

    @property
    def saves(self) -> int | None:
        """By how much the search is cheaper than people; None where the two cannot be compared."""
        if self.price is None or self.people_price is None:
            return None
        return self.people_price - self.price


def ask_fingers(shape: ChordShape, level: Level, prices: Prices, quarters: float = QUARTERS) -> Answer:
    found = _search(pose_shape(shape, quarters=quarters), level, prices)
    people = _search(pose_shape(shape, shape.fingers, quarters), level, prices)
    return Answer(
        shape,
        fingers=_fingers_of(found) if found else None,
        price=found.price if found else None,
        people_price=people.price if people else None,
    )


def is_admitted(shape: ChordShape, level: Level, prices: Prices) -> bool:
    """Whether the hand model lets people's fingers lie so."""
    return _search(pose_shape(shape, shape.fingers), level, prices) is not None


def _search(problem: Problem, level: Level, prices: Prices) -> Solution | None:
    """How a chord stands is asked, and not what it costs to get there."""
    prices = replace(prices, half_barre_laid=0, full_barre_laid=0)
    try:
        return find_best_way(problem, tuning=STANDARD_TUNING, level=level, prices=prices)
    except NoWayError:
        return None


def _fingers_of(solution: Solution) -> tuple[int, ...]:
    return tuple(int(chosen.touch.finger) for chosen in solution.slices[0].voices if chosen)
