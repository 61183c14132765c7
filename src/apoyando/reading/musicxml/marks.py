"""What a guitar score says besides notes: dynamics, and barres with a bracket from start to stop.

A barre is read where its name (``C VII``, ``½C II``) and a bracket begin in one direction; a
name without a bracket does not say how long it lies. Source: W3C MusicXML 4.0, elements
dynamics, bracket.
"""

from collections.abc import Iterator, Sequence
from fractions import Fraction

from apoyando.model.dynamics import Dynamic, Layer, Loudness
from apoyando.model.instrument import Fret
from apoyando.model.score import WrittenBarre
from apoyando.model.song import ReadingRemark
from apoyando.model.time import Quarters, Span
from apoyando.reading.musicxml.directions import Direction
from apoyando.reading.musicxml.score import Column

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
    started: dict[str, tuple[Quarters, Fret]] = {}
    barres: list[WrittenBarre] = []
    for _, moment, direction in sorted(_directions(columns), key=lambda each: each[1]):
        for number in direction.bracket_stops:
            if number in started and started[number][0] < moment:
                onset, fret = started.pop(number)
                barres.append(WrittenBarre(fret, Span(onset, moment)))
        for number in direction.bracket_starts:
            if direction.barre_fret is not None:
                started[number] = (moment, direction.barre_fret)
    return tuple(sorted(barres, key=lambda barre: barre.span.onset))


def _directions(columns: Sequence[Column]) -> Iterator[tuple[Column, Quarters, Direction]]:
    """Those of the guitar's part, each with its moment in the piece."""
    for column in columns:
        for moment, direction in column.voices.directions:
            inside = max(moment - column.cut, Fraction(0))
            yield column, column.bar.onset + min(inside, column.bar.span.duration), direction
