"""The PDF: one vector page per drawing, text as text, fonts inside, no date.

Read back with pypdf, which shares no code with the writer.
"""

import subprocess
import sys
from collections.abc import Callable, Iterator
from io import BytesIO
from typing import Any

import pytest
from pypdf import PdfReader
from pypdf.generic import Destination

from apoyando.engraving import engrave_pdf, engrave_pngs
from apoyando.model.arrangement import Arrangement
from builders import make_arrangement, make_bars, make_line, small_arrangement
from engraving.pieces import all_pieces, piece_with_form

A4_POINTS = (595.28, 841.89)
"""210 × 297 mm (ISO 216)."""


def read(arrangement: Arrangement) -> PdfReader:
    return PdfReader(BytesIO(engrave_pdf(arrangement)))


def objects(resources: Any, kind: str) -> Iterator[Any]:
    """Fonts or images, also those of drawings inside drawings."""
    resources = resources.get_object()
    for entry in (resources.get(kind) or {}).values():
        yield entry.get_object()
    for entry in (resources.get("/XObject") or {}).values():
        inner = entry.get_object().get("/Resources")
        if inner is not None:
            yield from objects(inner, kind)


@pytest.mark.parametrize("piece", all_pieces().values(), ids=all_pieces().keys())
def test_every_piece_becomes_pages_of_a4(piece: Callable[[], Arrangement]) -> None:
    for page in read(piece()).pages:
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(A4_POINTS, abs=0.1)


def test_title_names_and_chord_symbols_can_be_searched() -> None:
    text = read(piece_with_form()).pages[0].extract_text()
    for words in (
        "A Form with Everything in It",
        "Ana Ejemplo (1801–1875)",
        "arr. for guitar",
        "B♭13",
        "D.S. al Coda",
    ):
        assert words in text


def test_title_and_composer_are_in_the_metadata_and_no_date_is() -> None:
    metadata = read(piece_with_form()).metadata
    assert metadata is not None
    assert (metadata.title, metadata.author) == ("A Form with Everything in It", "Ana Ejemplo (1801–1875)")
    assert (metadata.creation_date, metadata.modification_date) == (None, None)


def test_subject_and_keywords_tell_what_the_piece_is_for() -> None:
    metadata = read(piece_with_form()).metadata
    assert metadata is not None
    assert metadata.subject == "For one guitar, Eb major, level intermediate"
    assert metadata.keywords == "guitar, Eb major, intermediate, Capo II"


def outline(arrangement: Arrangement) -> list[tuple[str, int | None, float]]:
    """Name, page from 0, and height above the foot in points, of each bookmark."""
    reader = read(arrangement)
    return [
        (mark.title, reader.get_destination_page_number(mark), float(mark.top))
        for mark in reader.outline
        if isinstance(mark, Destination) and mark.title and mark.top is not None
    ]


def test_bookmarks_lead_to_the_sections_by_their_names() -> None:
    marks = outline(piece_with_form())
    assert [name for name, *_ in marks] == ["A, bar 1", "B, bar 5", "Coda, bar 9"]
    assert [page for _, page, _ in marks] == [0, 0, 0]
    assert marks[0][2] > marks[1][2] > marks[2][2], "each line further down"


def test_without_names_they_lead_to_the_lines_by_their_first_bars() -> None:
    notes = make_line("melody", "E4:1/2 F4:1/2 G4:1 A4:2 " * 130)
    marks = outline(make_arrangement(notes, make_bars(130)))
    bars = [int(name.removeprefix("Bar ")) for name, *_ in marks]
    assert bars[0] == 1
    assert bars == sorted(set(bars))
    assert {page for _, page, _ in marks} == {0, 1}


def test_what_a_bookmark_says_is_not_printed() -> None:
    assert "bar 5" not in read(piece_with_form()).pages[0].extract_text()


def test_without_a_composer_there_is_no_author() -> None:
    metadata = read(small_arrangement()).metadata
    assert metadata is not None
    assert not metadata.author


def test_all_fonts_are_embedded_and_are_the_ones_shipped() -> None:
    for page in read(piece_with_form()).pages:
        fonts = list(objects(page["/Resources"], "/Font"))
        assert fonts
        for font in fonts:
            assert "+STIX-" in font["/BaseFont"]
            descendant = font["/DescendantFonts"][0].get_object()
            assert "/FontFile3" in descendant["/FontDescriptor"].get_object()


def test_the_music_is_drawn_as_lines_and_outlines_not_as_a_picture() -> None:
    for page in read(piece_with_form()).pages:
        assert all(x["/Subtype"] == "/Form" for x in objects(page["/Resources"], "/XObject"))


def test_the_same_arrangement_gives_the_same_bytes() -> None:
    assert engrave_pdf(piece_with_form()) == engrave_pdf(piece_with_form())


def test_it_gives_the_same_bytes_in_another_process() -> None:
    """Hash seeds differ between processes; nothing may depend on the order of a set."""
    script = (
        "import sys; sys.path.insert(0, 'tests')\n"
        "from apoyando.engraving import engrave_pdf\n"
        "from engraving.pieces import piece_with_form\n"
        "sys.stdout.buffer.write(engrave_pdf(piece_with_form()))"
    )
    run = subprocess.run([sys.executable, "-c", script], check=True, capture_output=True)
    assert run.stdout == engrave_pdf(piece_with_form())
    assert run.stderr == b""


def test_loading_the_room_loads_neither_the_layout_program_nor_the_pdf_writer() -> None:
    script = (
        "import sys, apoyando.engraving\n"
        "print(*{'verovio', 'typst', 'resvg_py', 'music21', 'numpy'} & set(sys.modules))"
    )
    run = subprocess.run([sys.executable, "-c", script], check=True, capture_output=True)
    assert run.stdout.strip() == b""


@pytest.mark.parametrize(
    "title", ["", "   ", "Ωραία Песня", "“Quotes” & <tags> #set \\", "\x00\x07\ud800 odd", "曲", "x" * 5000]
)
def test_any_title_can_be_engraved(title: str) -> None:
    arrangement = make_arrangement(make_line("melody", "E4:4"), title=title, composer=title, rights=title)
    assert len(read(arrangement).pages) == 1


def test_a_song_of_many_bars_has_as_many_pages_as_it_needs() -> None:
    notes = make_line("melody", "E4:1/2 F4:1/2 G4:1 A4:2 " * 130)
    reader = read(make_arrangement(notes, make_bars(130)))
    assert len(reader.pages) > 1
    assert reader.pages[1].extract_text().splitlines()[0].split() == ["A", "Small", "Tune", "2"]


def test_pages_can_be_looked_at_as_pictures() -> None:
    """Source: the PNG signature (ISO/IEC 15948)."""
    pictures = engrave_pngs(small_arrangement(), pixels_per_inch=50)
    assert [picture[:8] for picture in pictures] == [b"\x89PNG\r\n\x1a\n"]
