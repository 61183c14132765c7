"""Pages: lines stacked under a heading.

Conventions: the units of ``frame``.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from apoyando.engraving.casting import CLOSE, USUAL, PageRoom, choose_pages, line_gap
from apoyando.engraving.frame import Frame, make_frame
from apoyando.engraving.heading import Heading, first_heading, later_heading
from apoyando.engraving.layout import SPACE
from apoyando.engraving.lines import Line, make_lines, measure
from apoyando.engraving.notation import NotatedScore
from apoyando.model.sheet import Sheet

LEAST_GAP = 1.6 * SPACE
MOST_GAP = 5.5 * SPACE


@dataclass(frozen=True, slots=True)
class Page:
    """Lines with the height of their top staff line, and what stands around them."""

    frame: Frame
    heading: Heading
    lines: tuple[tuple[float, Line], ...]


def make_pages(score: NotatedScore, sheet: Sheet) -> tuple[Page, ...]:
    """The pages of a score; set a little closer where that saves one."""
    frame = make_frame(sheet)
    casting = measure(score, frame.line_width)
    pages = _cast_pages(make_lines(score, frame.line_width, casting.starts(USUAL)), score, frame)
    closer = casting.starts(CLOSE)
    if len(pages) > 1 and _may_save_page(pages, len(closer)):
        closer_pages = _cast_pages(make_lines(score, frame.line_width, closer), score, frame)
        pages = min(pages, closer_pages, key=len)
    return pages


def _may_save_page(pages: Sequence[Page], line_count: int) -> bool:
    """Whether so many lines of the usual height might fit on one page less."""
    lines = [line for page in pages for _, line in page.lines]
    height = sum(line.box.height + LEAST_GAP for line in lines) / len(lines) * line_count
    return line_count < len(lines) and height <= sum(page.heading.room for page in pages[:-1])


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
