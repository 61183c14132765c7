"""Hold lines: how long a note of the accompaniment is kept down."""

import pytest

from apoyando.engraving.drawing.boxes import Box, hull
from apoyando.engraving.drawing.shapes import Stroke
from apoyando.engraving.notation.selection import notate_for
from apoyando.engraving.page.lines import Line
from apoyando.engraving.page.page import make_pages
from apoyando.engraving.staff.hold_lines import HOLD
from apoyando.engraving.staff.layout import SPACE
from apoyando.model.arrangement import Arrangement, Note
from apoyando.model.sheet import Sheet
from builders import make_arrangement, make_bars, make_line, make_note

EIGHTHS = make_line("melody", "E4:1/2 " * 8)


def lines_of(arrangement: Arrangement, sheet: Sheet | None = None) -> list[Line]:
    sheet = sheet or Sheet(hold_lines=True)
    pages = make_pages(notate_for(sheet, arrangement), sheet)
    return [line for page in pages for _, line in page.lines]


def holds_on(line: Line) -> list[Stroke]:
    """From left to right; the strokes that close them left out."""
    strokes = [s.drawing for s in line.shapes if s.kind == HOLD and isinstance(s.drawing, Stroke)]
    return sorted((s for s in strokes if s.points[0][1] == s.points[1][1]), key=lambda s: s.points)


def closings_on(line: Line) -> list[float]:
    strokes = [s.drawing for s in line.shapes if s.kind == HOLD and isinstance(s.drawing, Stroke)]
    return sorted(s.points[0][0] for s in strokes if s.points[0][0] == s.points[1][0])


def head_of(line: Line, owner: str) -> Box:
    return hull(box for s in line.shapes if (s.kind, s.owner) == ("notehead", owner) for box in s.boxes())


def with_bass(*bass: Note) -> Line:
    (line,) = lines_of(make_arrangement((*EIGHTHS, *bass)))
    return line


def test_a_line_runs_from_the_head_to_where_its_span_ends_and_is_closed_there() -> None:
    line = with_bass(make_note("bass", 0, 2, "C3"), make_note("bass", 2, 2, "A2"))
    first, _ = holds_on(line)
    start, end = first.points[0][0], first.points[-1][0]
    assert 0 < start - head_of(line, "m0v2e0n0").right < SPACE
    assert 0 < head_of(line, "m0v2e1n0").left - end < SPACE
    assert closings_on(line)[0] == pytest.approx(end)


def test_the_line_of_a_longer_note_is_longer() -> None:
    lengths = []
    for quarters in (1, 2, 3):
        strokes = holds_on(with_bass(make_note("bass", 0, quarters, "C3")))
        lengths.append(strokes[-1].points[-1][0] - strokes[0].points[0][0])
    assert lengths == sorted(lengths)
    assert lengths[0] < lengths[2] / 2


def test_no_line_where_nothing_else_is_struck_meanwhile() -> None:
    assert holds_on(with_bass(make_note("bass", 0, "1/2", "C3"), make_note("bass", 1, "1/2", "C3"))) == []


def test_the_melody_has_none() -> None:
    notes = (make_note("melody", 0, 4, "E4"), *make_line("inner", "G3:1/2 " * 8))
    (line,) = lines_of(make_arrangement(notes))
    assert holds_on(line) == []


def test_without_being_asked_for_there_are_none() -> None:
    (line,) = lines_of(make_arrangement((*EIGHTHS, make_note("bass", 0, 4, "C3"))), Sheet())
    assert holds_on(line) == []


@pytest.mark.parametrize(("pitch", "spaces_down"), [("F3", 3.5), ("G3", 3.25), ("E3", 4.25)])
def test_it_lies_in_a_space_of_the_staff_and_never_on_a_line(pitch: str, spaces_down: float) -> None:
    """F3 sounds in the lowest space; G3 lies on the line above it and E3 on the lowest line."""
    (stroke, *_) = holds_on(with_bass(make_note("bass", 0, 4, pitch)))
    assert stroke.points[0][1] / SPACE == pytest.approx(spaces_down, abs=0.02)


def test_over_the_end_of_a_line_it_goes_on_and_is_closed_where_the_note_ends() -> None:
    bars = make_bars(24)
    melody = make_line("melody", "E4:1/2 " * 8 * 24)
    bass = [make_note("bass", 0, 4 * 24, "C3")]
    lines = lines_of(make_arrangement((*melody, *bass), bars))
    assert len(lines) > 1
    assert all(holds_on(line) for line in lines)
    assert [len(closings_on(line)) for line in lines] == [0] * (len(lines) - 1) + [1]
