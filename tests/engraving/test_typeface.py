"""The text face and its widths."""

import pytest
from fontTools.ttLib import TTFont

from apoyando.engraving.drawing.typeface import Face, font_paths, text_width


def test_the_three_faces_lie_beside_the_code_with_their_licence() -> None:
    assert len(font_paths()) == 3
    assert all(path.read_bytes()[:4] == b"OTTO" for path in font_paths())
    assert "SIL OPEN FONT LICENSE Version 1.1" in (font_paths()[0].parent / "OFL.txt").read_text("utf-8")


def test_together_they_stay_below_a_megabyte() -> None:
    assert sum(path.stat().st_size for path in font_paths()) < 1_000_000


def test_the_table_of_widths_says_what_the_fonts_say() -> None:
    """Source: the ``cmap`` and ``hmtx`` tables of the font files, read by fontTools."""
    for face, path in zip(Face, font_paths(), strict=True):
        with TTFont(path) as font:
            names, advances = font.getBestCmap(), font["hmtx"]
        for character in "AZaz09 .,-–’ÄñçŁßΔЖ":
            width = advances[names[ord(character)]][0]
            assert text_width(character, 1000, face) == pytest.approx(width), (face, character)


def test_a_line_is_as_wide_as_its_letters_together() -> None:
    assert text_width("AB", 10) == pytest.approx(text_width("A", 10) + text_width("B", 10))


def test_a_character_that_the_table_lacks_takes_the_room_of_a_wide_letter() -> None:
    assert text_width("\u4e00", 10) == pytest.approx(7.0)
