"""Pages of SVG as one PDF, and as pictures to look at.

typst places each page as a vector image and embeds the fonts, so that text stays text.
No date is written: the same pages give the same bytes.
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from apoyando.engraving.drawing.shapes import visible_text
from apoyando.engraving.drawing.typeface import FAMILY, font_paths
from apoyando.model.sheet import Sheet

PIXELS_PER_INCH = 144.0
_SOURCE = """#let facts = json(bytes(sys.inputs.facts))
#set document(title: facts.title, author: facts.authors, description: facts.subject,
  keywords: facts.keywords, date: none)
#set page(width: facts.width * 1mm, height: facts.height * 1mm, margin: 0mm)
#let bookmark(it) = place(top + left, dy: it.y * 1mm, hide(heading(bookmarked: true, text(1pt, it.name))))
#for number in range(facts.pages) {
  let drawing = image(bytes(sys.inputs.at("page" + str(number))), width: 100%, height: 100%, format: "svg",
    alt: facts.title)
  page(facts.bookmarks.filter(it => it.page == number).map(bookmark).join() + drawing)
}
"""


@dataclass(frozen=True, slots=True)
class Bookmark:
    """An entry of the outline: it leads to a height on a page, whose number counts from 0."""

    name: str
    page: int
    y_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """What a document says of itself; "" where there is nothing to say."""

    title: str
    author: str = ""
    subject: str = ""
    keywords: tuple[str, ...] = ()
    bookmarks: tuple[Bookmark, ...] = ()


def write_pdf(pages: Sequence[str], sheet: Sheet, facts: Facts) -> bytes:
    """One PDF of SVG pages that fill the sheet."""
    inputs = {f"page{number}": page for number, page in enumerate(pages)}
    return set_document(_SOURCE, {**inputs, "facts": json.dumps(_tell(facts, sheet, len(pages)))})


def _tell(facts: Facts, sheet: Sheet, pages: int) -> Mapping[str, object]:
    author = visible_text(facts.author)
    width, height = sheet.paper.size_mm
    return {
        "title": visible_text(facts.title),
        "authors": [author] if author else [],
        "subject": visible_text(facts.subject),
        "keywords": [visible_text(keyword) for keyword in facts.keywords],
        "bookmarks": [
            {"name": visible_text(mark.name), "page": mark.page, "y": mark.y_mm} for mark in facts.bookmarks
        ],
        "width": width,
        "height": height,
        "pages": pages,
    }


def set_document(source: str, inputs: Mapping[str, str]) -> bytes:
    """A document in the setting program's own language as PDF; what changes comes as ``inputs``."""
    written: bytes = _make_compiler().compile(input=source.encode(), format="pdf", sys_inputs=dict(inputs))
    return written


def count_pages(source: str, inputs: Mapping[str, str]) -> int:
    """How many pages a document takes."""
    drawn = _make_compiler().compile(input=source.encode(), format="svg", sys_inputs=dict(inputs))
    return len(drawn) if isinstance(drawn, list) else 1


def write_png(page: str, pixels_per_inch: float = PIXELS_PER_INCH) -> bytes:
    """One SVG page as a PNG picture on white."""
    import resvg_py  # noqa: PLC0415 - heavy

    picture = resvg_py.svg_to_bytes(
        svg_string=page,
        dpi=pixels_per_inch,
        background="#ffffff",
        skip_system_fonts=True,
        font_files=[str(path) for path in font_paths()],
        font_family=FAMILY,
        serif_family=FAMILY,
    )
    return bytes(picture)


@cache
def _make_compiler() -> Any:  # noqa: ANN401 - kept between documents for its fonts
    import typst  # noqa: PLC0415 - heavy

    fonts = typst.Fonts(include_system_fonts=False, font_paths=[font_paths()[0].parent])
    return typst.Compiler(font_paths=fonts)
