"""A lead sheet drawn as it was read."""

import re

from apoyando.engraving import engrave_lead_sheet
from builders import make_song

SONG = make_song("E5:1 G5:1 C6:2 B5:4", "C:4 G.dominant:4")


def test_it_has_title_and_chord_symbols() -> None:
    (page,) = engrave_lead_sheet(SONG)

    assert re.findall(r"<text[^>]*>([^<]*)<", page) == ["Song", "= 96", "C", "G", "7"]


def test_it_has_each_note_once_and_no_mark_of_the_hands() -> None:
    """The melody lies high up: an arrangement would need circled strings and digits for it."""
    (page,) = engrave_lead_sheet(SONG)
    drawn = {name for names in re.findall(r'class="([^"]*)"', page) for name in names.split()}

    assert len(re.findall(r'id="m\w+" class="note"', page)) == len(SONG.melody)
    assert drawn <= {
        *("system", "heading", "words", "symbol", "staffLine", "clef", "meterSig", "barLine"),
        *("note", "notehead", "stem", "ledgerLines"),
    }
