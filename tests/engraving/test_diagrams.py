"""Chord diagrams on the page: which chords have one, where it stands, and that the file has it too."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from lxml import etree

from apoyando.engraving import engrave_svgs, notate_whole, write_musicxml
from apoyando.engraving.drawing.boxes import Box, hull
from apoyando.engraving.drawing.chord_diagrams import DIAGRAM
from apoyando.engraving.notation.diagrams import choose_diagrams
from apoyando.engraving.notation.selection import notate_for
from apoyando.engraving.page.page import make_pages
from apoyando.engraving.rows import SYMBOL
from apoyando.model.arrangement import Arrangement, Note
from apoyando.model.sheet import Sheet
from builders import make_arrangement, make_barre, make_bars, make_harmony, make_line, make_note
from references.ink_checker import find_outside, find_touches

WITH_DIAGRAMS = Sheet(chord_diagrams=True)


def chord(onset: int, duration: int = 4) -> tuple[Note, ...]:
    """C major held with three fingers: x32010, the tune on the open first string."""
    return (
        make_note("bass", onset, duration, "C3", finger=3),
        make_note("inner", onset, duration, "E3", finger=2),
        make_note("inner", onset, duration, "C4", finger=1),
        make_note("melody", onset, duration, "E4"),
    )


def piece(notes: Sequence[Note], harmony: str, **more: Any) -> Arrangement:
    bars = make_bars(-int(-max(note.offset for note in notes) // 4))
    return make_arrangement(notes, bars, harmony=make_harmony(harmony), **more)


def onsets(arrangement: Arrangement) -> list[int]:
    return [int(diagram.onset) for diagram in choose_diagrams(arrangement)]


# Which chords.


def test_three_pressed_strings_are_a_shape_that_matters_and_two_are_none() -> None:
    assert onsets(piece(chord(0), "C:4")) == [0]
    assert onsets(piece(chord(0)[1:], "C:4")) == []


def test_a_barre_is_a_shape_that_matters_with_fewer_strings() -> None:
    notes = (make_note("melody", 0, 4, "F4", finger=1, in_barre=True), make_note("bass", 0, 4, "A2"))
    assert onsets(piece(notes, "F:4", barres=(make_barre(1, 2, 0, 4),))) == [0]


def test_the_shape_is_the_fullest_of_the_chords_time_and_stands_where_the_chord_comes() -> None:
    bass, low, high, tune = chord(0)
    spread = (bass, replace(low, span=chord(1, 3)[1].span), replace(high, span=chord(2, 2)[2].span), tune)
    (diagram,) = choose_diagrams(piece(spread, "C:4"))
    assert diagram.onset == 0
    assert len(diagram.shape.stops) == 4


def test_a_shape_that_comes_again_has_no_second_diagram_even_under_another_tune() -> None:
    other_tune = (*chord(4)[:3], make_note("melody", 4, 4, "G4", finger=4))
    assert onsets(piece((*chord(0), *other_tune), "C:4 C:4")) == [0]


def test_another_shape_of_the_same_chord_has_its_own() -> None:
    low, *rest = chord(4)
    assert onsets(
        piece(
            (
                *chord(0),
                replace(low, place=rest[0].place, finger=rest[0].finger),
                *rest[1:],
                make_note("bass", 4, 4, "G2", finger=4),
            ),
            "C:4 C:4",
        )
    ) == [0, 4]


def test_where_no_chord_is_named_there_is_no_diagram() -> None:
    assert onsets(piece(chord(0), "N.C.:4")) == []
    assert onsets(make_arrangement(chord(0))) == []


# Where it stands.


def boxes_of(arrangement: Arrangement, kind: str) -> list[Box]:
    (page,) = make_pages(notate_for(WITH_DIAGRAMS, arrangement), WITH_DIAGRAMS)
    return [box for _, line in page.lines for s in line.shapes if s.kind == kind for box in s.boxes()]


def test_a_diagram_stands_between_the_staff_and_the_chord_symbol() -> None:
    tune = piece(chord(0), "C:4")
    diagram = hull(boxes_of(tune, DIAGRAM))
    assert diagram.bottom < min(box.top for box in boxes_of(tune, "notehead"))
    assert max(box.bottom for box in boxes_of(tune, SYMBOL)) < diagram.top


def test_diagrams_are_drawn_only_if_they_are_asked_for() -> None:
    tune = piece(chord(0), "C:4")
    assert 'class="diagram"' in engrave_svgs(tune, WITH_DIAGRAMS)[0]
    assert 'class="diagram"' not in engrave_svgs(tune)[0]


def test_without_chord_symbols_the_diagrams_stay() -> None:
    sheet = replace(WITH_DIAGRAMS, chord_symbols=False)
    assert 'class="diagram"' in engrave_svgs(piece(chord(0), "C:4"), sheet)[0]


def test_diagrams_of_chords_close_together_do_not_touch() -> None:
    shapes = [
        (make_note("bass", n, 1, "C3", finger=3), make_note("inner", n, 1, "E3", finger=2)) for n in range(8)
    ]
    tops = ["C4", "C#4", "D4", "Eb4"] * 2
    notes = [
        note
        for n, (pair, top) in enumerate(zip(shapes, tops, strict=True))
        for note in (*pair, make_note("inner", n, 1, top, string=2), *make_line("melody", "E4:1", n))
    ]
    tune = piece(notes, "C:1 " * 8)
    assert len(onsets(tune)) == 4
    for page in engrave_svgs(tune, WITH_DIAGRAMS):
        assert (find_touches(page), find_outside(page)) == ((), ())


# In the file.


def frames(arrangement: Arrangement, sheet: Sheet = WITH_DIAGRAMS) -> list[Any]:
    return list(
        etree.fromstring(write_musicxml(notate_whole(sheet, arrangement))).iterfind(".//harmony/frame")
    )


def test_the_file_has_the_frame_of_each_diagram_and_none_that_the_page_has_not() -> None:
    """W3C MusicXML 4.0, element ``frame``: fret 0 is an open string; strings without a note are not played."""
    (frame,) = frames(piece(chord(0), "C:4"))
    assert (frame.findtext("frame-strings"), frame.findtext("frame-frets")) == ("6", "4")
    assert [
        (n.findtext("string"), n.findtext("fret"), n.findtext("fingering"))
        for n in frame.iterfind("frame-note")
    ] == [("5", "3", "3"), ("4", "2", "2"), ("2", "1", "1"), ("1", "0", None)]
    assert frames(piece(chord(0), "C:4"), Sheet()) == []


def test_a_barre_begins_and_ends_at_the_outermost_strings_that_sound_under_it() -> None:
    notes = (
        make_note("melody", 0, 4, "A4", finger=1, in_barre=True),
        make_note("inner", 0, 4, "C4", string=3, finger=1, in_barre=True),
        make_note("bass", 0, 4, "A2"),
    )
    (frame,) = frames(piece(notes, "A.minor:4", barres=(make_barre(5, 3, 0, 4),)))
    ends = [(b.getparent().findtext("string"), b.get("type")) for b in frame.iterfind(".//barre")]
    assert ends == [("3", "start"), ("1", "stop")]
    assert frame.findtext("first-fret") == "5"
