"""Lines: systems laid out and finished with their marks and rows.

Conventions: the units of ``frame``; y is 0 at the top line of a line's staff, x at its left end.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from apoyando.engraving.drawing.boxes import Box, hull
from apoyando.engraving.drawing.shapes import Shape
from apoyando.engraving.notation.marks import Marks, choose_marks
from apoyando.engraving.notation.score import NotatedScore
from apoyando.engraving.rows import Head, build_rows
from apoyando.engraving.staff.casting import Measures
from apoyando.engraving.staff.columns import WrittenHead, written_heads
from apoyando.engraving.staff.digits import DIGIT, PLUCK, STRING, Mark, place_marks
from apoyando.engraving.staff.hold_chart import add_hold_chart
from apoyando.engraving.staff.hold_lines import draw_holds
from apoyando.engraving.staff.layout import Extent, System, lay_out
from apoyando.engraving.staff.measuring import measure
from apoyando.engraving.staff.mei import Mei, write_mei
from apoyando.engraving.tablature.alone import make_tablature, spell_on_strings
from apoyando.engraving.tablature.strings import add_tablature
from apoyando.model.arrangement import Role
from apoyando.model.sheet import Sheet, Staves
from apoyando.model.time import Quarters, group_by_moment


@dataclass(frozen=True, slots=True)
class Line:
    """A finished system: all its shapes, the box around them, and its bars by their indices, with where they lie."""

    shapes: tuple[Shape, ...]
    box: Box
    bars: range = range(0)
    extents: Mapping[int, Extent] = field(default_factory=dict[int, Extent])


@dataclass(frozen=True, slots=True)
class Manuscript:
    """A score with what all its lines are made from. ``spelled`` is the score as it is laid out."""

    score: NotatedScore
    sheet: Sheet
    spelled: NotatedScore
    mei: Mei
    marks: Marks
    heads: Mapping[str, WrittenHead]


def prepare_lines(score: NotatedScore, sheet: Sheet) -> Manuscript:
    """What has to be done once, however often lines are then made."""
    spelled = spell_on_strings(score) if sheet.staves is Staves.TABLATURE else score
    marks = _without_told(choose_marks(score.arrangement, sheet.marking), sheet.staves)
    return Manuscript(score, sheet, spelled, write_mei(spelled), marks, written_heads(score))


def _without_told(marks: Marks, staves: Staves) -> Marks:
    """The marks without what tablature tells: strings, and no digits beside its numbers."""
    match staves:
        case Staves.NOTATION:
            return marks
        case Staves.NOTATION_AND_TABLATURE:
            return replace(marks, strings=frozenset())
        case Staves.TABLATURE:
            return Marks(plucks=marks.plucks)


def measure_bars(manuscript: Manuscript) -> Measures:
    """What the bars take when they are not stretched."""
    return measure([notated.bar for notated in manuscript.spelled.bars], manuscript.mei)


def make_lines(manuscript: Manuscript, room: float, starts: Iterable[int]) -> tuple[Line, ...]:
    """Systems ``room`` long, each finished; ``starts`` has the indices of the bars that begin one."""
    _, *breaks = starts
    systems = lay_out(manuscript.mei.broken(breaks), room)
    return tuple(_finish(manuscript, system) for system in systems)


def _finish(manuscript: Manuscript, system: System) -> Line:
    here = [manuscript.heads[note_id] for note_id in system.heads if note_id in manuscript.heads]
    staves = manuscript.sheet.staves
    if staves is Staves.TABLATURE:
        system = make_tablature(system, here, manuscript.score.bars)
        here = [head for head in here if head.note_id in system.heads]
    placed = place_marks(system, _marks_of(system, here, manuscript.marks))
    if manuscript.score.held:
        placed = (*placed, *draw_holds(system, here, manuscript.score, (*system.shapes, *placed)))
    written = [Head(head.note, head.event, system.heads[head.note_id]) for head in here]
    rows = build_rows(manuscript.score, system, placed, written)
    shapes = (*system.shapes, *placed, *rows)
    if staves is Staves.NOTATION_AND_TABLATURE:
        shapes = (*shapes, *add_tablature(system, here, shapes))
    if manuscript.score.kept:
        shapes = (*shapes, *add_hold_chart(system, here, manuscript.score, shapes))
    box = hull(box for shape in shapes for box in shape.boxes())
    return Line(shapes, box, range(min(system.bars), max(system.bars) + 1), system.bars)


def _marks_of(system: System, heads: Sequence[WrittenHead], marks: Marks) -> list[Mark]:
    """What to place, in order of time, from the top."""
    listed: list[Mark] = []
    struck = (head for head in heads if not head.event.is_tied_from_before)
    for _, group in group_by_moment(struck, _onset):
        together = sorted(group, key=_height, reverse=True)
        top, bottom = _height(together[0]), _height(together[-1])
        for head in together:
            note, height = head.note, _height(head)
            place = (system.heads[head.note_id], note.role is Role.MELODY, height == top, height == bottom)
            if note in marks.digits:
                guide = marks.guides.get(note, 0)
                listed.append(Mark(DIGIT, head.note_id, str(int(note.finger)), *place, guide))
            if note in marks.strings:
                listed.append(Mark(STRING, head.note_id, str(note.place.string), *place))
            if note in marks.plucks:
                listed.append(Mark(PLUCK, head.note_id, str(note.pluck), *place))
    return listed


def _onset(head: WrittenHead) -> Quarters:
    return head.event.onset


def _height(head: WrittenHead) -> int:
    return head.note.pitch.midi
