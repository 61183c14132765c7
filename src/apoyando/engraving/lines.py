"""Lines: systems laid out and finished with their marks and rows.

Conventions: the units of ``frame``; y is 0 at the top line of a line's staff, x at its left end.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from apoyando.engraving.casting import Measures
from apoyando.engraving.digits import DIGIT, PLUCK, STRING, Mark, place_marks
from apoyando.engraving.layout import System, lay_out
from apoyando.engraving.marks import Marks, choose_marks
from apoyando.engraving.measuring import measure
from apoyando.engraving.mei import Mei, write_mei
from apoyando.engraving.notation import NotatedScore, Sounding
from apoyando.engraving.rows import Head, build_rows
from apoyando.engraving.shapes import Box, Shape, hull
from apoyando.model.arrangement import Note, Role


@dataclass(frozen=True, slots=True)
class Line:
    """A finished system: all its shapes, the box around them, and the indices of its bars."""

    shapes: tuple[Shape, ...]
    box: Box
    bars: range = range(0)


@dataclass(frozen=True, slots=True)
class Manuscript:
    """A score with what all its lines are made from."""

    score: NotatedScore
    mei: Mei
    marks: Marks
    heads: Mapping[str, "WrittenHead"]


def prepare_lines(score: NotatedScore) -> Manuscript:
    """What has to be done once, however often lines are then made."""
    return Manuscript(score, write_mei(score), choose_marks(score.arrangement), _written_heads(score))


def measure_bars(manuscript: Manuscript) -> Measures:
    """What the bars take when they are not stretched."""
    return measure([notated.bar for notated in manuscript.score.bars], manuscript.mei)


def make_lines(manuscript: Manuscript, room: float, starts: Iterable[int]) -> tuple[Line, ...]:
    """Systems ``room`` long, each finished; ``starts`` has the indices of the bars that begin one."""
    _, *breaks = starts
    systems = lay_out(manuscript.mei.broken(breaks), room)
    return tuple(_finish(manuscript, system) for system in systems)


@dataclass(frozen=True, slots=True)
class WrittenHead:
    note_id: str
    note: Note
    event: Sounding


def _written_heads(score: NotatedScore) -> Mapping[str, WrittenHead]:
    return {
        note_id: WrittenHead(note_id, note, event)
        for bar in score.bars
        for events in bar.voices.values()
        for event in events
        if isinstance(event, Sounding)
        for note_id, note in zip(event.note_ids, event.notes, strict=True)
    }


def _finish(manuscript: Manuscript, system: System) -> Line:
    here = [manuscript.heads[note_id] for note_id in system.heads if note_id in manuscript.heads]
    placed = place_marks(system, _marks_of(system, here, manuscript.marks))
    struck = [
        Head(head.event.onset, system.heads[head.note_id])
        for head in here
        if not head.event.is_tied_from_before
    ]
    rows = build_rows(manuscript.score.arrangement, system, placed, struck)
    shapes = (*system.shapes, *placed, *rows)
    box = hull(box for shape in shapes for box in shape.boxes())
    return Line(shapes, box, range(min(system.bars), max(system.bars) + 1))


def _marks_of(system: System, heads: Sequence[WrittenHead], marks: Marks) -> list[Mark]:
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
