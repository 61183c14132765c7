"""What a guitar score says besides notes: dynamics, and barres and hold lines, brackets from start to stop.

A barre is read where its name (``C VII``, ``½C II``) and a bracket begin in one direction; a
name without a bracket does not say how long it lies. Source: W3C MusicXML 4.0, elements
dynamics, bracket.
"""

from collections.abc import Iterator, Sequence
from fractions import Fraction

from apoyando.model.dynamics import Dynamic, Layer, Loudness
from apoyando.model.score import WrittenBarre
from apoyando.model.song import ReadingRemark
from apoyando.model.time import Quarters, Span
from apoyando.reading.draft import WrittenHold
from apoyando.reading.musicxml.columns import Column
from apoyando.reading.musicxml.directions import BracketStart, Direction

_LOUDNESSES = frozenset(Loudness)


def read_dynamics(columns: Sequence[Column]) -> tuple[Dynamic, ...]:
    """The dynamics of the guitar's part, in order of time."""
    found = (
        Dynamic(moment, Loudness(mark), _layer(direction))
        for _, moment, direction in _directions(columns)
        for mark in direction.dynamics
        if mark in _LOUDNESSES
    )
    return tuple(sorted(dict.fromkeys(found), key=lambda dynamic: dynamic.onset))


def _layer(direction: Direction) -> Layer:
    """A mark above the first voice is the melody's, one below a further voice tells the accompaniment."""
    if direction.is_above and direction.voice == "1":
        return Layer.MELODY
    is_lower = not direction.is_above and direction.voice not in {"", "1"}
    return Layer.ACCOMPANIMENT if is_lower else Layer.ALL


def remark_on_marks(columns: Sequence[Column]) -> Iterator[ReadingRemark]:
    """Dynamics that are none of the usual ones."""
    for column, _, direction in _directions(columns):
        for mark in direction.dynamics:
            if mark not in _LOUDNESSES:
                yield ReadingRemark(column.bar.number, f"The dynamic “{mark}” is not carried over.")


def read_barres(columns: Sequence[Column]) -> tuple[WrittenBarre, ...]:
    """The barres in order of time; one whose bracket never stops is left out."""
    return tuple(
        WrittenBarre(direction.barre_fret, span)
        for span, _, direction in _brackets(columns)
        if direction.barre_fret is not None
    )


def read_hold_lines(columns: Sequence[Column]) -> tuple[WrittenHold, ...]:
    """Brackets without words."""
    return tuple(
        WrittenHold(span, start.y_tenths)
        for span, start, direction in _brackets(columns)
        if direction.barre_fret is None and not direction.words
    )


def _brackets(columns: Sequence[Column]) -> list[tuple[Span, BracketStart, Direction]]:
    """Every bracket from its start to its stop, in order of time, with the direction that begins it."""
    begun: dict[str, tuple[Quarters, BracketStart, Direction]] = {}
    found: list[tuple[Span, BracketStart, Direction]] = []
    for _, moment, direction in sorted(_directions(columns), key=lambda each: each[1]):
        for number in direction.bracket_stops:
            if number in begun and begun[number][0] < moment:
                onset, start, beginning = begun.pop(number)
                found.append((Span(onset, moment), start, beginning))
        begun |= {start.number: (moment, start, direction) for start in direction.bracket_starts}
    return sorted(found, key=lambda each: each[0].onset)


def _directions(columns: Sequence[Column]) -> Iterator[tuple[Column, Quarters, Direction]]:
    """Those of the guitar's part, each with its moment in the piece."""
    for column in columns:
        for moment, direction in column.voices.directions:
            inside = max(moment - column.cut, Fraction(0))
            yield column, column.bar.onset + min(inside, column.bar.span.duration), direction
