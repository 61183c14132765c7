"""Engraving: an arrangement becomes written signs, and the signs become pages.

    notate            Arrangement -> NotatedScore: values, voices, ties, tuplets, beams
    notate_whole      the same with the diagrams that a sheet asks for
    write_musicxml    NotatedScore -> MusicXML 4.0
    engrave_musicxml  Arrangement and Sheet -> the same, laid out as the page, or another page of the plan
    engrave_svgs      Arrangement and Sheet -> one SVG document per page
    engrave_bars      a range of bars as one SVG, cropped; engrave_system: a line of the page
    engrave_pngs      the pages as pictures; paint_png: any of these drawings as one
    engrave_pdf       the pages as one PDF; engrave_both: PDF and MusicXML of one layout
    engrave_lesson    a lesson sheet: words, cuttings and chord diagrams as one PDF
    find_heads        Arrangement -> which head of the page is which note
    engrave_lead_sheet  Song -> its melody and chord symbols, one SVG document per page
    find_heads_of_song  Song -> which head of that sheet is which note of its melody
    write_png         any picture that is drawn as SVG, as PNG
    print_chord       a chord symbol as it is printed; plain_text: as one line of text

What is heavy (the layout program, the PDF writer) is loaded when first asked for.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from apoyando.engraving.drawing.typeface import font_paths
from apoyando.engraving.musicxml.document import write_musicxml
from apoyando.engraving.notation.chord_symbols import plain_text, print_chord
from apoyando.engraving.notation.score import NotatedScore, notate
from apoyando.engraving.notation.selection import notate_whole
from apoyando.engraving.notation.variants import choose_variant, notate_variant
from apoyando.engraving.staff.heads import find_heads
from apoyando.model.arrangement import Arrangement
from apoyando.model.lesson import Block
from apoyando.model.ring import Ring
from apoyando.model.sheet import Sheet, Variant
from apoyando.model.song import Song

if TYPE_CHECKING:
    from apoyando.engraving.page.page import Page

USUAL_SHEET = Sheet()

__all__ = [
    "NotatedScore",
    "engrave_bars",
    "engrave_both",
    "engrave_lead_sheet",
    "engrave_lesson",
    "engrave_musicxml",
    "engrave_pdf",
    "engrave_pngs",
    "engrave_svgs",
    "engrave_system",
    "find_heads",
    "find_heads_of_song",
    "font_paths",
    "notate",
    "notate_whole",
    "paint_png",
    "plain_text",
    "print_chord",
    "write_musicxml",
    "write_png",
]


def engrave_svgs(
    arrangement: Arrangement,
    sheet: Sheet = USUAL_SHEET,
    variant: Variant = Variant.SCORE,
    rings: Iterable[Ring] = (),
) -> tuple[str, ...]:
    """The pages of an arrangement, each an SVG document; text in it asks for the family ``STIX``.

    ``rings`` are those of the proof: how long notes may ring, for the hold chart.
    """
    from apoyando.engraving.page.page import make_pages  # noqa: PLC0415 - heavy
    from apoyando.engraving.page.svg import write_page  # noqa: PLC0415 - heavy

    return tuple(write_page(page) for page in make_pages(*choose_variant(arrangement, sheet, variant, rings)))


def engrave_bars(
    arrangement: Arrangement,
    first: int,
    last: int,
    sheet: Sheet = USUAL_SHEET,
    variant: Variant = Variant.SCORE,
    rings: Iterable[Ring] = (),
) -> str:
    """The bars from index ``first`` to index ``last`` as one SVG cropped to its ink, no heading.

    As large as on the page; on several lines where one of the sheet does not hold them.
    Raises UsageError where there are no such bars.
    """
    from apoyando.engraving.page.cuttings import cut_bars  # noqa: PLC0415 - heavy
    from apoyando.engraving.page.frame import make_frame  # noqa: PLC0415 - heavy
    from apoyando.engraving.page.svg import write_cutting  # noqa: PLC0415 - heavy

    score, sheet = choose_variant(arrangement, sheet, variant, rings)
    frame = make_frame(sheet)
    return write_cutting(cut_bars(score, sheet, first, last, frame.line_width), frame)


def engrave_system(
    arrangement: Arrangement,
    number: int,
    sheet: Sheet = USUAL_SHEET,
    variant: Variant = Variant.SCORE,
    rings: Iterable[Ring] = (),
) -> str:
    """A system of the page as SVG cropped to its ink; ``number`` counts from 1 through all pages.

    Raises UsageError where there is none.
    """
    from apoyando.engraving.page.cuttings import cut_system  # noqa: PLC0415 - heavy
    from apoyando.engraving.page.page import make_pages  # noqa: PLC0415 - heavy
    from apoyando.engraving.page.svg import write_cutting  # noqa: PLC0415 - heavy

    pages = make_pages(*choose_variant(arrangement, sheet, variant, rings))
    return write_cutting([cut_system(pages, number)], pages[0].frame)


def engrave_musicxml(
    arrangement: Arrangement,
    sheet: Sheet = USUAL_SHEET,
    variant: Variant = Variant.SCORE,
    rings: Iterable[Ring] = (),
) -> bytes:
    """A page as MusicXML: all of the piece, whatever the page shows, and its systems and pages as they are.

    The file of the holds says how notes end besides.
    """
    from apoyando.engraving.page.page import make_pages  # noqa: PLC0415 - heavy
    from apoyando.engraving.page.places import tell_layout  # noqa: PLC0415 - heavy

    pages = make_pages(*choose_variant(arrangement, sheet, variant, rings))
    return write_musicxml(notate_variant(arrangement, sheet, variant, rings), layout=tell_layout(pages))


def engrave_lesson(blocks: Sequence[Block], arrangement: Arrangement, sheet: Sheet = USUAL_SHEET) -> bytes:
    """A lesson sheet of an arrangement as one PDF: vector, searchable, fonts embedded, without a date."""
    from apoyando.engraving.lesson_sheet import write_lesson_pdf  # noqa: PLC0415 - heavy

    return write_lesson_pdf(blocks, arrangement, sheet)


def engrave_lead_sheet(song: Song) -> tuple[str, ...]:
    """The pages of a song as it was read, melody and chord symbols, each an SVG document."""
    from apoyando.engraving.lead_sheet import lay_melody  # noqa: PLC0415 - not every piece needs it

    return engrave_svgs(lay_melody(song))


def find_heads_of_song(song: Song) -> Mapping[str, int]:
    """For the id of every head of ``engrave_lead_sheet`` the place of its note in the melody."""
    from apoyando.engraving.lead_sheet import lay_melody  # noqa: PLC0415 - not every piece needs it

    return find_heads(lay_melody(song))


def paint_png(svg: str, pixels_per_inch: float = 144.0) -> bytes:
    """A page or a cutting as a PNG picture on white, as large as it is printed."""
    from apoyando.engraving.drawing.pdf import write_png  # noqa: PLC0415 - heavy

    return write_png(svg, pixels_per_inch)


def engrave_pngs(
    arrangement: Arrangement, sheet: Sheet = USUAL_SHEET, pixels_per_inch: float = 144.0
) -> tuple[bytes, ...]:
    """The pages of an arrangement as PNG pictures on white."""
    return tuple(paint_png(page, pixels_per_inch) for page in engrave_svgs(arrangement, sheet))


def write_png(picture: str, pixels_per_inch: float = 96.0) -> bytes:
    """An SVG document as PNG on white; its text may ask for the family ``STIX``."""
    from apoyando.engraving.drawing import pdf  # noqa: PLC0415 - heavy

    return pdf.write_png(picture, pixels_per_inch)


def engrave_pdf(
    arrangement: Arrangement,
    sheet: Sheet = USUAL_SHEET,
    variant: Variant = Variant.SCORE,
    rings: Iterable[Ring] = (),
) -> bytes:
    """The pages of an arrangement as one PDF: vector, searchable, fonts embedded, without a date.

    Title and names stand in its metadata, and bookmarks lead to the sections.
    """
    from apoyando.engraving.page.page import make_pages  # noqa: PLC0415 - heavy

    score, sheet = choose_variant(arrangement, sheet, variant, rings)
    return _write_pdf(score, sheet, make_pages(score, sheet))


def engrave_both(arrangement: Arrangement, sheet: Sheet = USUAL_SHEET) -> tuple[bytes, bytes]:
    """``engrave_pdf`` and ``engrave_musicxml`` of a piece, which is laid out once."""
    from apoyando.engraving.page.page import make_pages  # noqa: PLC0415 - heavy
    from apoyando.engraving.page.places import tell_layout  # noqa: PLC0415 - heavy

    score, sheet = choose_variant(arrangement, sheet, Variant.SCORE)
    pages = make_pages(score, sheet)
    musicxml = write_musicxml(notate_whole(sheet, arrangement), layout=tell_layout(pages))
    return _write_pdf(score, sheet, pages), musicxml


def _write_pdf(score: NotatedScore, sheet: Sheet, pages: "Sequence[Page]") -> bytes:
    from apoyando.engraving.drawing.pdf import write_pdf  # noqa: PLC0415 - heavy
    from apoyando.engraving.page.facts import tell_facts  # noqa: PLC0415 - heavy
    from apoyando.engraving.page.svg import write_page  # noqa: PLC0415 - heavy

    return write_pdf([write_page(page) for page in pages], sheet, tell_facts(score.arrangement, pages))
