"""Hold lines: thin lines that show how long a note is kept down.

A line runs from the head of each note of the accompaniment during which something else is struck
to where its span ends, and closes there with a short upright stroke; over a line's end it goes on
without. It lies in the space of its head, or in the one below a head on a line. It is thicker than
the lines of the staff, passes stems and barlines as a tie does, and leaves off before anything else
(our own; like the lines of held pedal tones). The melody has none: it is held by whoever sings it.

Conventions: as in ``layout``.
"""

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from apoyando.engraving.layout import SPACE, STAFF_LINES, System
from apoyando.engraving.shapes import Box, Shape, Stroke
from apoyando.model.arrangement import Note
from apoyando.model.song import Bar
from apoyando.model.time import Quarters, Span

HOLD = "hold"
PASSED = frozenset({STAFF_LINES, "stem", "barLine"})

LINE = 0.13 * SPACE
AFTER_HEAD = 0.3 * SPACE
BEFORE_END = 0.35 * SPACE
AIR = 0.16 * SPACE
SHORTEST = 1.0 * SPACE
HALF_STROKE = 0.2 * SPACE
BESIDE_LINE = 0.25 * SPACE

Stretch = tuple[float, float]


@dataclass(frozen=True, slots=True)
class HeldHead:
    """A written head, and when it is written."""

    note: Note
    onset: Quarters
    box: Box


@dataclass(frozen=True, slots=True)
class _Clock:
    """Where the moments of one line lie, from left to right."""

    moments: tuple[Quarters, ...]
    places: tuple[float, ...]

    def place(self, moment: Quarters) -> float:
        """Between two known moments in proportion."""
        index = bisect_left(self.moments, moment)
        if index == len(self.moments):
            return self.places[-1]
        if self.moments[index] == moment or index == 0:
            return self.places[index]
        start, end = self.moments[index - 1 : index + 1]
        left, right = self.places[index - 1 : index + 1]
        return left + float((moment - start) / (end - start)) * (right - left)


def draw_holds(
    system: System, heads: Sequence[HeldHead], bars: Sequence[Bar], placed: Iterable[Shape]
) -> Iterator[Shape]:
    """The hold lines of one line of music with ``bars``, round all that is ``placed``."""
    clock = _make_clock(system, heads, bars)
    line = Span(bars[0].onset, bars[-1].offset)
    onsets = sorted({head.note.onset for head in heads})
    obstacles = [box for shape in placed if shape.kind not in PASSED for box in shape.boxes()]
    for head in _first_heads(heads):
        if head.note.role.is_accompaniment and _is_held_over(head.note, onsets):
            shapes = tuple(_draw_hold(system, head, line, clock, obstacles))
            obstacles += [box for shape in shapes for box in shape.boxes()]
            yield from shapes


def _make_clock(system: System, heads: Sequence[HeldHead], bars: Sequence[Bar]) -> _Clock:
    """By the left edges of the heads and by the barlines, whichever comes first."""
    places: dict[Quarters, float] = {}
    for head in heads:
        places[head.onset] = min(head.box.left, places.get(head.onset, head.box.left))
    for bar in bars:
        right = system.bars[bar.index].right
        places[bar.offset] = min(right, places.get(bar.offset, right))
    moments = sorted(places)
    return _Clock(tuple(moments), tuple(places[moment] for moment in moments))


def _first_heads(heads: Sequence[HeldHead]) -> list[HeldHead]:
    """Of each note the first head on this line, in order of time and from the top."""
    first: dict[Note, HeldHead] = {}
    for head in sorted(heads, key=lambda head: (head.onset, -head.note.pitch.midi)):
        first.setdefault(head.note, head)
    return list(first.values())


def _is_held_over(note: Note, onsets: Sequence[Quarters]) -> bool:
    """Something else is struck while it sounds."""
    return any(note.onset < onset < note.offset for onset in onsets)


def _draw_hold(
    system: System, head: HeldHead, line: Span, clock: _Clock, obstacles: Sequence[Box]
) -> Iterator[Shape]:
    is_struck = head.onset == head.note.onset
    start = head.box.right + AFTER_HEAD if is_struck else system.music_left
    goes_on = head.note.offset > line.offset
    end = system.right if goes_on else clock.place(head.note.offset) - BEFORE_END
    y = _height(head)
    free = list(_free_stretches(start, end, y, obstacles))
    for left, right in free:
        yield Shape(HOLD, "", Stroke(((left, y), (right, y)), LINE))
    if free and free[-1][1] == end and not goes_on:
        yield Shape(HOLD, "", Stroke(((end, y - HALF_STROKE), (end, y + HALF_STROKE)), LINE))


def _height(head: HeldHead) -> float:
    y = head.box.middle[1]
    is_on_line = round(2 * y / SPACE) % 2 == 0
    return y + BESIDE_LINE if is_on_line else y


def _free_stretches(start: float, end: float, y: float, obstacles: Sequence[Box]) -> Iterator[Stretch]:
    """What of the way is free, in pieces that are long enough to be seen."""
    band = Box(start, y - HALF_STROKE, end, y + HALF_STROKE)
    if end <= start:
        return
    left = start
    for box in sorted((box.grown(AIR) for box in obstacles), key=lambda box: box.left):
        if not box.overlaps(band):
            continue
        if box.left - left >= SHORTEST:
            yield left, box.left
        left = max(left, box.right)
    if end - left >= SHORTEST:
        yield left, end
