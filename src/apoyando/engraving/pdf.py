"""Pages of SVG as one PDF, and as pictures to look at.

typst places each page as a vector image and embeds the fonts, so that text stays text.
No date is written: the same pages give the same bytes.
"""

from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

from apoyando.engraving.shapes import visible_text
from apoyando.engraving.typeface import FAMILY, font_paths
from apoyando.model.sheet import Sheet

PIXELS_PER_INCH = 144.0
_PAGE = """#page(image(bytes(sys.inputs.at("page{number}")), width: 100%, height: 100%, format: "svg"))
"""
_DOCUMENT = """#set document(title: sys.inputs.title, author: {author}, date: none)
#set page(width: {width}mm, height: {height}mm, margin: 0mm)
"""


def write_pdf(pages: Sequence[str], sheet: Sheet, title: str, author: str) -> bytes:
    """One PDF of SVG pages that fill the sheet; ``title`` and ``author`` go into its metadata, "" for none."""
    title, author = visible_text(title), visible_text(author)
    inputs = {f"page{number}": page for number, page in enumerate(pages)}
    width, height = sheet.paper.size_mm
    head = _DOCUMENT.format(author="sys.inputs.author" if author else "()", width=width, height=height)
    source = head + "".join(_PAGE.format(number=number) for number in range(len(pages)))
    return set_document(source, {**inputs, "title": title, "author": author})


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
