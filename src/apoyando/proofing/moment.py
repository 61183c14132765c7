"""What sounds at every moment.

Conventions: a moment is a half-open stretch of time between two neighbouring edges
(onsets or offsets); all through it the same notes sound.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import combinations, pairwise

from apoyando.model.arrangement import Note
from apoyando.model.time import Span

Pair = tuple[Note, Note]


@dataclass(frozen=True, slots=True)
class Moment:
    """A stretch of time and all notes whose span covers it, earlier onsets first."""

    span: Span
    notes: tuple[Note, ...]


def sweep(notes: Iterable[Note]) -> tuple[Moment, ...]:
    """Every moment in which something sounds, in order of time."""
    waiting = sorted(notes, key=lambda note: note.onset, reverse=True)
    edges = sorted({edge for note in waiting for edge in (note.onset, note.offset)})
    sounding: list[Note] = []
    moments: list[Moment] = []
    for onset, offset in pairwise(edges):
        sounding = [note for note in sounding if note.offset > onset]
        while waiting and waiting[-1].onset == onset:
            sounding.append(waiting.pop())
        if sounding:
            moments.append(Moment(Span(onset, offset), tuple(sounding)))
    return tuple(moments)


def find_pairs(moments: Iterable[Moment], is_breach: Callable[[Note, Note], bool]) -> tuple[Pair, ...]:
    """Every two notes that sound together at some moment and break a rule, each pair once."""
    return tuple(dict.fromkeys(pair for pair in sounding_pairs(moments) if is_breach(*pair)))


def sounding_pairs(moments: Iterable[Moment]) -> Iterator[Pair]:
    """Every two notes that sound together, once for every moment in which they do."""
    for moment in moments:
        yield from combinations(moment.notes, 2)


def common_span(one: Span, other: Span) -> Span:
    """The time that two overlapping spans share."""
    return Span(max(one.onset, other.onset), min(one.offset, other.offset))
