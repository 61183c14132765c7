"""What the PDF of a piece says of itself: metadata and bookmarks."""

from collections.abc import Iterator, Sequence

from apoyando.engraving.drawing.pdf import Bookmark, Facts
from apoyando.engraving.notation.tuning_words import capo_note, tuning_notes
from apoyando.engraving.page.page import Page
from apoyando.model.arrangement import Arrangement
from apoyando.model.song import Bar


def tell_facts(arrangement: Arrangement, pages: Sequence[Page]) -> Facts:
    """The facts of a piece on its pages."""
    key = str(arrangement.key)
    setup = (*tuning_notes(arrangement.tuning), capo_note(arrangement.capo))
    return Facts(
        title=arrangement.title,
        author=arrangement.composer,
        subject=f"For one guitar, {key}, level {arrangement.level}",
        keywords=("guitar", key, arrangement.level, *(note for note in setup if note)),
        bookmarks=tuple(_list_bookmarks(arrangement.bars, pages)),
    )


def _list_bookmarks(bars: Sequence[Bar], pages: Sequence[Page]) -> Iterator[Bookmark]:
    """The sections by their names, or the lines by their first bars where no section has one."""
    has_names = any(bar.section for bar in bars)
    for number, page in enumerate(pages):
        mm = page.frame.height_mm / page.frame.height
        for y, line in page.lines:
            for bar in (bars[index] for index in line.bars):
                if bar.section or (not has_names and bar.index == line.bars.start):
                    yield Bookmark(_name(bar), number, round((y + line.box.top) * mm, 1))


def _name(bar: Bar) -> str:
    return f"{bar.section}, bar {bar.number}" if bar.section else f"Bar {bar.number}"
