"""Lines: systems laid out and finished with their marks and rows.

Conventions: the units of ``frame``; y is 0 at the top line of a line's staff, x at its left end.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from apoyando.engraving.accidentals import signature_of
from apoyando.engraving.casting import Setting, choose_lines
from apoyando.engraving.digits import DIGIT, PLUCK, STRING, Mark, place_marks
from apoyando.engraving.layout import SPACE, System, lay_out
from apoyando.engraving.marks import Marks, choose_marks
from apoyando.engraving.mei import write_mei
from apoyando.engraving.notation import NotatedScore, Sounding
from apoyando.engraving.rows import Head, build_rows
from apoyando.engraving.shapes import Box, Shape, hull
from apoyando.model.arrangement import Note, Role
from apoyando.model.song import Bar

CLEF_WIDTH = 4.2 * SPACE
SIGN_WIDTH = 1.0 * SPACE


@dataclass(frozen=True, slots=True)
class Line:
    """A finished system: all its shapes, the box around them, and the indices of its bars."""

    shapes: tuple[Shape, ...]
    box: Box
    bars: range = range(0)


@dataclass(frozen=True, slots=True)
class Casting:
    """What the choice of lines goes by: the bars and their natural widths."""

    bars: tuple[Bar, ...]
    widths: tuple[float, ...]
    prefix: float
    room: float

    def starts(self, setting: Setting) -> tuple[int, ...]:
        return choose_lines(self.bars, self.widths, self.prefix, self.room, setting)


def measure(score: NotatedScore, room: float) -> Casting:
    """What the bars take, for lines of the length ``room``."""
    bars = tuple(notated.bar for notated in score.bars)
    natural = lay_out(write_mei(score))
    extents = {index: extent for system in natural for index, extent in system.bars.items()}
    widths = tuple(extents[bar.index].right - extents[bar.index].left for bar in bars)
    prefix = CLEF_WIDTH + SIGN_WIDTH * abs(signature_of(bars[0].key))
    return Casting(bars, widths, prefix, room)


def make_lines(score: NotatedScore, room: float, starts: Sequence[int]) -> tuple[Line, ...]:
    """The systems of a score, ``room`` long, each finished; ``starts`` has the indices of the bars that begin one."""
    marks = choose_marks(score.arrangement)
    heads = _written_heads(score)
    systems = lay_out(write_mei(score, starts[1:]), room)
    return tuple(_finish(score, system, marks, heads) for system in systems)


@dataclass(frozen=True, slots=True)
class _WrittenHead:
    note_id: str
    note: Note
    event: Sounding


def _written_heads(score: NotatedScore) -> Mapping[str, _WrittenHead]:
    return {
        note_id: _WrittenHead(note_id, note, event)
        for bar in score.bars
        for events in bar.voices.values()
        for event in events
        if isinstance(event, Sounding)
        for note_id, note in zip(event.note_ids, event.notes, strict=True)
    }


def _finish(score: NotatedScore, system: System, marks: Marks, heads: Mapping[str, _WrittenHead]) -> Line:
    here = [heads[note_id] for note_id in system.heads if note_id in heads]
    placed = place_marks(system, _marks_of(system, here, marks))
    struck = [
        Head(head.event.onset, system.heads[head.note_id])
        for head in here
        if not head.event.is_tied_from_before
    ]
    rows = build_rows(score.arrangement, system, placed, struck)
    shapes = (*system.shapes, *placed, *rows)
    box = hull(box for shape in shapes for box in shape.boxes())
    return Line(shapes, box, range(min(system.bars), max(system.bars) + 1))


def _marks_of(system: System, heads: Sequence[_WrittenHead], marks: Marks) -> list[Mark]:
    """What to place, in order of time, from the top."""
    listed: list[Mark] = []
    struck = [head for head in heads if not head.event.is_tied_from_before]
    for head in sorted(struck, key=lambda h: (h.event.onset, -h.note.pitch.midi)):
        note, box = head.note, system.heads[head.note_id]
        others = [h.note.pitch.midi for h in struck if h.event.onset == head.event.onset]
        is_melody = note.role is Role.MELODY
        place = (box, is_melody, note.pitch.midi == max(others), note.pitch.midi == min(others))
        if note in marks.digits:
            listed.append(Mark(DIGIT, head.note_id, str(int(note.finger)), *place))
        if note in marks.strings:
            listed.append(Mark(STRING, head.note_id, str(note.place.string), *place))
        if note in marks.plucks:
            listed.append(Mark(PLUCK, head.note_id, str(note.pluck), *place))
    return listed
