"""Hold lines: thin lines that show how long a note is kept down.

A line runs from the head of each note that has one (``notation.hold_lines``) to where its span ends, and closes there with a short upright stroke; over a line's end it goes on
without. It lies in the space of its head, or in the one below a head on a line. It is thicker than
the lines of the staff, passes stems and barlines as a tie does, and leaves off before anything else
(our own; like the lines of held pedal tones).

Conventions: as in ``layout``.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from apoyando.engraving.drawing.boxes import Box
from apoyando.engraving.drawing.shapes import Shape, Stroke
from apoyando.engraving.notation.score import NotatedScore
from apoyando.engraving.staff.columns import TimeLine, WrittenHead, find_columns, make_time_line
from apoyando.engraving.staff.layout import SPACE, STAFF_LINES, System
from apoyando.model.arrangement import Note
from apoyando.model.song import Bar
from apoyando.model.time import Quarters

HOLD = "hold"
PASSED = frozenset({STAFF_LINES, "stem", "barLine"})

LINE = 0.13 * SPACE
AFTER_HEAD = 0.3 * SPACE
BEFORE_END = 0.35 * SPACE
HALF_HEAD = 0.6 * SPACE
NEAR_END = 1.0 * SPACE
AIR = 0.16 * SPACE
SHORTEST = 1.0 * SPACE
HALF_STROKE = 0.2 * SPACE
BESIDE_LINE = 0.25 * SPACE

Stretch = tuple[float, float]


def draw_holds(
    system: System, heads: Sequence[WrittenHead], score: NotatedScore, placed: Iterable[Shape]
) -> Iterator[Shape]:
    """The hold lines of one line of music of a piece, round all that is ``placed``."""
    bars, held = score.arrangement.bars, frozenset(score.held)
    place = _Place(system, bars, make_time_line(system, bars, find_columns(heads, system.heads)))
    obstacles = [box for shape in placed if shape.kind not in PASSED for box in shape.boxes()]
    for head in _first_heads(heads):
        if head.note in held:
            shapes = tuple(_draw_hold(head, place, obstacles))
            obstacles += [box for shape in shapes for box in shape.boxes()]
            yield from shapes


@dataclass(frozen=True, slots=True)
class _Place:
    """Where the moments of one line lie."""

    system: System
    bars: Sequence[Bar]
    time: TimeLine

    @property
    def end(self) -> Quarters:
        return self.bars[max(self.system.bars)].offset

    def release(self, moment: Quarters) -> float:
        """Before the heads that are struck then; before the barline where a bar ends."""
        for index, extent in self.system.bars.items():
            if self.bars[index].offset == moment:
                return extent.right - BEFORE_END
        return self.time.place(moment) - HALF_HEAD - BEFORE_END


def _first_heads(heads: Iterable[WrittenHead]) -> list[WrittenHead]:
    """Of each note the first head on this line, in order of time and from the top."""
    first: dict[Note, WrittenHead] = {}
    for head in sorted(heads, key=lambda head: (head.event.onset, -head.note.pitch.midi)):
        first.setdefault(head.note, head)
    return list(first.values())


def _draw_hold(head: WrittenHead, place: _Place, obstacles: Sequence[Box]) -> Iterator[Shape]:
    box = place.system.heads[head.note_id]
    is_struck = not head.event.is_tied_from_before
    start = box.right + AFTER_HEAD if is_struck else place.system.music_left
    goes_on = head.note.offset > place.end
    end = place.system.right if goes_on else place.release(head.note.offset)
    y = _height(box)
    free = list(_free_stretches(start, end, y, obstacles))
    for left, right in free:
        yield Shape(HOLD, "", Stroke(((left, y), (right, y)), LINE))
    if free and free[-1][1] > end - NEAR_END and not goes_on:
        last = free[-1][1]
        yield Shape(HOLD, "", Stroke(((last, y - HALF_STROKE), (last, y + HALF_STROKE)), LINE))


def _height(head: Box) -> float:
    y = head.middle[1]
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
