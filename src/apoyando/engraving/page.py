"""Pages: systems finished with their marks and rows, stacked under a heading, as SVG.

Conventions: the units of ``frame``; a page is one SVG file with the outlines of its
music signs inside; text stays text, in the family of ``typeface``.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from xml.etree.ElementTree import Element, SubElement, tostring

from apoyando.engraving.accidentals import signature_of
from apoyando.engraving.casting import (
    CLOSE,
    USUAL,
    PageRoom,
    Setting,
    choose_lines,
    choose_pages,
    line_gap,
)
from apoyando.engraving.digits import BLANK, DIGIT, PLUCK, STRING, Mark, place_marks
from apoyando.engraving.frame import Frame, make_frame
from apoyando.engraving.heading import Heading, first_heading, later_heading
from apoyando.engraving.layout import SPACE, STAFF_LINES, System, lay_out
from apoyando.engraving.marks import Marks, choose_marks
from apoyando.engraving.mei import write_mei
from apoyando.engraving.notation import NotatedScore, Sounding
from apoyando.engraving.rows import Head, build_rows
from apoyando.engraving.shapes import Box, Glyph, Shape, glyph_outline, hull
from apoyando.model.arrangement import Note, Role
from apoyando.model.sheet import Sheet
from apoyando.model.song import Bar

CLEF_WIDTH = 4.2 * SPACE
SIGN_WIDTH = 1.0 * SPACE
LEAST_GAP = 1.6 * SPACE
MOST_GAP = 5.5 * SPACE


@dataclass(frozen=True, slots=True)
class Line:
    """A finished system: all its shapes, and the box around them."""

    shapes: tuple[Shape, ...]
    box: Box


@dataclass(frozen=True, slots=True)
class Page:
    """Lines with the height of their top staff line, and what stands around them."""

    frame: Frame
    heading: Heading
    lines: tuple[tuple[float, Line], ...]


def draw_pages(score: NotatedScore, sheet: Sheet) -> tuple[str, ...]:
    """The pages of a score as SVG documents."""
    return tuple(write_page(page) for page in make_pages(score, sheet))


def make_pages(score: NotatedScore, sheet: Sheet) -> tuple[Page, ...]:
    """The pages of a score; set a little closer where that saves one."""
    frame = make_frame(sheet)
    casting = _measure(score, frame)
    pages = _cast_pages(make_lines(score, frame, casting.starts(USUAL)), score, frame)
    closer = casting.starts(CLOSE)
    if len(pages) > 1 and _may_save_page(pages, len(closer)):
        closer_pages = _cast_pages(make_lines(score, frame, closer), score, frame)
        pages = min(pages, closer_pages, key=len)
    return pages


def _may_save_page(pages: Sequence[Page], line_count: int) -> bool:
    """Whether so many lines of the usual height might fit on one page less."""
    lines = [line for page in pages for _, line in page.lines]
    height = sum(line.box.height + LEAST_GAP for line in lines) / len(lines) * line_count
    return line_count < len(lines) and height <= sum(page.heading.room for page in pages[:-1])


@dataclass(frozen=True, slots=True)
class _Casting:
    """What the choice of lines goes by: the bars and their natural widths."""

    bars: tuple[Bar, ...]
    widths: tuple[float, ...]
    prefix: float
    room: float

    def starts(self, setting: Setting) -> tuple[int, ...]:
        return choose_lines(self.bars, self.widths, self.prefix, self.room, setting)


def _measure(score: NotatedScore, frame: Frame) -> _Casting:
    bars = tuple(notated.bar for notated in score.bars)
    natural = lay_out(write_mei(score))
    extents = {index: extent for system in natural for index, extent in system.bars.items()}
    widths = tuple(extents[bar.index].right - extents[bar.index].left for bar in bars)
    prefix = CLEF_WIDTH + SIGN_WIDTH * abs(signature_of(bars[0].key))
    return _Casting(bars, widths, prefix, frame.line_width)


def make_lines(score: NotatedScore, frame: Frame, starts: Sequence[int]) -> tuple[Line, ...]:
    """The systems of a score, each finished; ``starts`` says which bars begin one."""
    marks = choose_marks(score.arrangement)
    heads = _written_heads(score)
    systems = lay_out(write_mei(score, starts[1:]), frame.line_width)
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
    return Line(shapes, hull(box for shape in shapes for box in shape.boxes()))


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


def _cast_pages(lines: Sequence[Line], score: NotatedScore, frame: Frame) -> tuple[Page, ...]:
    """Cast the lines into pages."""
    first, later = first_heading(score.arrangement, frame), later_heading(2, frame)
    room = PageRoom(first.room, later.room, LEAST_GAP, MOST_GAP)
    starts = choose_pages([line.box.height for line in lines], room)
    pages = []
    for number, (start, stop) in enumerate(pairwise((*starts, len(lines))), 1):
        heading = first if number == 1 else later_heading(number, frame)
        pages.append(_stack(lines[start:stop], frame, heading, room))
    return tuple(pages)


def _stack(lines: Sequence[Line], frame: Frame, heading: Heading, room: PageRoom) -> Page:
    gap = line_gap([line.box.height for line in lines], heading.room, room)
    y = heading.top
    stacked = []
    for line in lines:
        stacked.append((y - line.box.top, line))
        y += line.box.height + gap
    return Page(frame, heading, tuple(stacked))


def write_page(page: Page) -> str:
    """One page as an SVG document."""
    frame = page.frame
    root = Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "width": f"{frame.width_mm:g}mm",
            "height": f"{frame.height_mm:g}mm",
            "viewBox": f"0 0 {frame.width:.0f} {frame.height:.0f}",
        },
    )
    _add_outlines(root, page)
    for shape in page.heading.shapes:
        shape.drawing.draw(root)
    for y, line in page.lines:
        group = SubElement(
            root, "g", {"class": "system", "transform": f"translate({frame.margin:.0f} {y:.1f})"}
        )
        _draw_line(group, line)
    return tostring(root, encoding="unicode")


def _add_outlines(root: Element, page: Page) -> None:
    drawn = (shape.drawing for _, line in page.lines for shape in line.shapes)
    codes = sorted({drawing.code for drawing in drawn if isinstance(drawing, Glyph)})
    outlines = SubElement(root, "defs")
    for code in codes:
        SubElement(outlines, "path", {"id": code, "d": glyph_outline(code), "transform": "scale(1 -1)"})


def _draw_line(group: Element, line: Line) -> None:
    """Staff lines lowest, then the blanks for digits, then the rest, note by note."""
    for kinds in ((STAFF_LINES,), (BLANK,)):
        for shape in line.shapes:
            if shape.kind in kinds:
                shape.drawing.draw(group)
    for owner, shapes in _by_owner(s for s in line.shapes if s.kind not in {STAFF_LINES, BLANK}).items():
        parent = SubElement(group, "g", {"id": owner, "class": "note"}) if owner else group
        for shape in shapes:
            shape.drawing.draw(parent)


def _by_owner(shapes: Iterable[Shape]) -> dict[str, list[Shape]]:
    grouped: dict[str, list[Shape]] = {}
    for shape in shapes:
        grouped.setdefault(shape.owner, []).append(shape)
    return grouped
