"""Tablature says where every note is, once, and alone how long it is.

Frets and strings are read back from the drawing by ``references.tablature_reader``, which
shares no code with the makers. The conventions are those at the top of ``tablature``,
``tablature_stems`` and ``tablature_alone`` (common practice, from memory).
"""

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import replace
from fractions import Fraction

import pytest

from apoyando.engraving import engrave_svgs
from apoyando.engraving.drawing.boxes import Box, hull
from apoyando.engraving.drawing.shapes import Dot, Shape, Text
from apoyando.engraving.notation.score import notate
from apoyando.engraving.page.lines import Line
from apoyando.engraving.page.page import make_pages
from apoyando.engraving.rows import BARRE
from apoyando.engraving.staff.digits import DIGIT, STRING
from apoyando.engraving.staff.layout import SPACE, STAFF_LINES
from apoyando.engraving.tablature.strings import FRET, HEIGHT
from apoyando.model.arrangement import Arrangement, Note
from apoyando.model.instrument import DROP_D_TUNING
from apoyando.model.sheet import Sheet, Staves
from builders import make_arrangement, make_barre, make_bars, make_line, make_note, small_arrangement
from engraving.pieces import all_pieces
from references.ink_checker import find_outside, find_touches
from references.tablature_reader import Figure, TablatureLine, read_tablature

BELOW, ALONE = Sheet(staves=Staves.NOTATION_AND_TABLATURE), Sheet(staves=Staves.TABLATURE)

pieces = pytest.mark.parametrize("piece", all_pieces().values(), ids=all_pieces().keys())
both = pytest.mark.parametrize("sheet", [BELOW, ALONE], ids=["with notation", "alone"])


def read(arrangement: Arrangement, sheet: Sheet) -> list[TablatureLine]:
    return [line for page in engrave_svgs(arrangement, sheet) for line in read_tablature(page)]


def figures(arrangement: Arrangement, sheet: Sheet) -> list[Figure]:
    return [figure for line in read(arrangement, sheet) for figure in line.figures]


def shapes(arrangement: Arrangement, sheet: Sheet = ALONE) -> list[Shape]:
    return [shape for line in lines(arrangement, sheet) for shape in line.shapes]


def lines(arrangement: Arrangement, sheet: Sheet) -> list[Line]:
    return [line for page in make_pages(notate(arrangement), sheet) for _, line in page.lines]


def of_kind(kind: str, listed: Iterable[Shape]) -> list[Shape]:
    return [shape for shape in listed if shape.kind == kind]


def melody(text: str) -> Arrangement:
    return make_arrangement(make_line("melody", text))


def playable(arrangement: Arrangement) -> Arrangement:
    """Without notes struck together on one string, which the made-up pieces have."""
    by_string = {(note.onset, note.place.string): note for note in arrangement.notes}
    return replace(arrangement, notes=tuple(by_string.values()))


def frets_by_string(notes: Iterable[Note]) -> dict[int, list[int]]:
    """What is struck on each string, in order of time; a unison on one place is one stroke."""
    struck: dict[int, dict[object, int]] = defaultdict(dict)
    for note in sorted(notes, key=lambda note: note.onset):
        struck[note.place.string][note.onset] = int(note.place.fret)
    return {string: list(by_time.values()) for string, by_time in struck.items()}


# What is read.


@both
@pieces
def test_every_note_is_struck_once_with_its_fret_on_its_string(
    piece: Callable[[], Arrangement], sheet: Sheet
) -> None:
    arrangement = playable(piece())
    found: dict[int, list[int]] = defaultdict(list)
    for figure in figures(arrangement, sheet):
        if not figure.is_bracketed:
            found[figure.string].append(figure.fret)
    assert found == frets_by_string(arrangement.notes)


@pieces
def test_under_notation_a_number_stands_under_a_head(piece: Callable[[], Arrangement]) -> None:
    for line in read(piece(), BELOW):
        for figure in line.figures:
            assert min(abs(figure.x - head) for head in line.heads) < 0.1 * SPACE


@both
@pieces
def test_the_line_is_interrupted_for_its_number(piece: Callable[[], Arrangement], sheet: Sheet) -> None:
    for line in read(piece(), sheet):
        for figure in line.figures:
            y = line.strings[figure.string - 1]
            assert any(
                left < figure.x < right and top < y < bottom for left, right, top, bottom in line.blanks
            )


@both
def test_what_is_struck_together_stands_in_one_column_though_heads_stand_aside(sheet: Sheet) -> None:
    second = [make_note("melody", 0, 4, "C4"), make_note("bass", 0, 4, "B3", 3)]
    assert len({round(figure.x) for figure in figures(make_arrangement(second), sheet)}) == 1


def test_a_tied_note_is_not_written_again_under_notation() -> None:
    assert [f.fret for f in figures(melody("G4:6 r:2"), BELOW)] == [3]


def test_alone_a_tied_note_is_written_again_in_brackets() -> None:
    assert [(f.fret, f.is_bracketed) for f in figures(melody("G4:6 r:2"), ALONE)] == [(3, False), (3, True)]


@both
def test_a_unison_on_one_place_is_one_number(sheet: Sheet) -> None:
    unison = [make_note("melody", 0, 1, "E4"), make_note("inner", 0, 4, "E4")]
    assert len(figures(make_arrangement(unison), sheet)) == 1


@both
def test_frets_are_counted_from_the_capo(sheet: Sheet) -> None:
    assert figures(replace(small_arrangement(), capo=3), sheet) == figures(small_arrangement(), sheet)


@both
def test_the_sixth_string_a_tone_lower_keeps_its_line(sheet: Sheet) -> None:
    notes = make_line("bass", "D2:2 E2:2", tuning=DROP_D_TUNING)
    dropped = make_arrangement(notes, tuning=DROP_D_TUNING)
    assert [(f.string, f.fret) for f in figures(dropped, sheet)] == [(6, 0), (6, 2)]


def test_numbers_of_two_figures_near_each_other_are_made_smaller() -> None:
    notes = [make_note("melody", n, 1, "E5") for n in range(4)]
    close = [make_note("melody", Fraction(n, 16), "1/16", "E5") for n in range(64)]
    wide, narrow = (
        min(
            s.drawing.pieces[0].size
            for s in of_kind(FRET, shapes(make_arrangement(n)))
            if isinstance(s.drawing, Text)
        )
        for n in (notes, close)
    )
    assert narrow < wide


# What goes with it.


def test_with_tablature_no_string_is_circled_and_alone_no_digit_stands_beside_a_number() -> None:
    high = make_arrangement([make_note("melody", n, 1, "E4", string=2) for n in range(4)])
    kinds = {shape.kind for shape in shapes(high, BELOW)}
    assert DIGIT in kinds
    assert STRING not in kinds
    assert not {DIGIT, STRING} & {shape.kind for shape in shapes(high, ALONE)}


@both
def test_barres_have_their_row(sheet: Sheet) -> None:
    barred = replace(small_arrangement(), barres=(make_barre(3, 6, 0, 4),))
    assert of_kind(BARRE, shapes(barred, sheet))


@both
def test_the_barlines_of_a_line_go_through_its_strings(sheet: Sheet) -> None:
    for line in lines(small_arrangement(), sheet):
        strings = [s.boxes()[0].middle[1] for s in of_kind(STAFF_LINES, line.shapes)][-6:]
        reaching = [b for s in of_kind("barLine", line.shapes) for b in s.boxes() if b.bottom >= strings[-1]]
        assert len({round(box.middle[0]) for box in reaching if box.top <= strings[0]}) >= 2


@both
def test_the_wavy_line_of_a_roll_goes_from_its_lowest_number_to_its_highest(sheet: Sheet) -> None:
    chord = make_arrangement([make_note("bass", 0, 4, pitch, is_rolled=True) for pitch in ("C3", "G3", "E4")])
    (line,) = lines(chord, sheet)
    numbers = [shape.boxes()[0] for shape in of_kind(FRET, line.shapes)]
    top, bottom = min(box.top for box in numbers), max(box.bottom for box in numbers)
    waves = [s.boxes()[0] for s in of_kind("arpeg", line.shapes) if s.boxes()[0].bottom > top]
    assert max(wave.right for wave in waves) < min(box.left for box in numbers)
    assert min(wave.top for wave in waves) == pytest.approx(top, abs=SPACE / 2)
    assert max(wave.bottom for wave in waves) == pytest.approx(bottom, abs=SPACE / 2)


def test_alone_there_is_a_time_signature_and_no_key_signature() -> None:
    kinds = [shape.kind for shape in shapes(replace(small_arrangement(), bars=make_bars(2, fifths=4)))]
    assert kinds.count("meterSig") == 2
    assert not {"keySig", "keyAccid", "accid"} & set(kinds)


# Rhythm.


def stems_of(arrangement: Arrangement) -> list[Box]:
    return [shape.boxes()[0] for shape in of_kind("stem", shapes(arrangement))]


def test_under_notation_there_are_no_stems_in_the_tablature() -> None:
    (line,) = lines(melody("E4:1 E4:1 E4:1 E4:1"), BELOW)
    strings = [s.boxes()[0].middle[1] for s in of_kind(STAFF_LINES, line.shapes)][-6:]
    assert all(box.bottom < strings[0] for s in of_kind("stem", line.shapes) for box in s.boxes())


def test_the_melodys_stems_stand_above_the_strings_and_the_accompaniments_below() -> None:
    for shape in of_kind("stem", shapes(small_arrangement())):
        (box,) = shape.boxes()
        assert box.bottom < 0 if "v1" in shape.owner else box.top > HEIGHT


def test_a_whole_note_has_no_stem_a_half_note_a_short_one_a_quarter_a_long_one() -> None:
    assert not stems_of(melody("E4:4"))
    short, *long = (box.height for box in stems_of(melody("E4:2 E4:1 E4:1")))
    assert [length / short > 1.8 for length in long] == [True, True]


@pytest.mark.parametrize(("length", "dots"), [("1", 0), ("3/2", 1), ("7/4", 2), ("3", 1)])
def test_dots_stand_beside_their_stem(length: str, dots: int) -> None:
    dotted = of_kind("dots", shapes(make_arrangement(make_line("bass", f"E3:{length}"), make_bars(1))))
    assert len(dotted) == dots
    assert all(isinstance(shape.drawing, Dot) and shape.drawing.y > HEIGHT for shape in dotted)


def test_a_single_eighth_has_a_flag_and_two_have_a_beam() -> None:
    single, pair = shapes(melody("E4:1/2 r:1/2 E4:1 E4:2")), shapes(melody("E4:1/2 E4:1/2 E4:1 E4:2"))
    assert [len(of_kind(kind, single)) for kind in ("flag", "beam")] == [1, 0]
    assert [len(of_kind(kind, pair)) for kind in ("flag", "beam")] == [0, 1]


def test_a_sixteenth_beside_a_dotted_eighth_has_its_second_beam_as_a_stub_towards_it() -> None:
    drawn = shapes(melody("E4:3/4 E4:1/4 E4:1 E4:2"))
    long, stub = sorted((hull(s.boxes()) for s in of_kind("beam", drawn)), key=lambda box: -box.width)
    assert stub.right == pytest.approx(long.right)
    assert stub.left > long.middle[0]
    assert stub.top > long.bottom


def test_a_rest_of_the_melody_stands_in_the_row_of_its_stems() -> None:
    (rest,) = of_kind("rest", shapes(melody("E4:1 r:1 E4:2")))
    assert rest.boxes()[0].bottom < 0


def test_a_half_rest_brings_its_line() -> None:
    half, quarter = shapes(melody("E4:2 r:2")), shapes(melody("E4:3 r:1"))
    assert [len(of_kind("ledgerLines", each)) for each in (half, quarter)] == [1, 0]


def test_notes_of_the_accompaniment_that_say_the_same_share_a_stem() -> None:
    together = [*make_line("bass", "C3:1"), *make_line("inner", "G3:1")]
    assert len(stems_of(make_arrangement(together, make_bars(1)))) == 1


def test_of_two_lengths_in_one_place_the_longer_stands_aside_to_the_left() -> None:
    together = [*make_line("bass", "C3:2"), *make_line("inner", "G3:1")]
    half, quarter = sorted(stems_of(make_arrangement(together, make_bars(1))), key=lambda box: box.height)
    assert half.right < quarter.left


def test_a_beam_that_another_stem_stands_under_lies_a_row_farther_out() -> None:
    inner = make_line("inner", "G3:1/2 E3:1/2 G3:1/2 E3:1/2")
    plain = make_arrangement(inner, make_bars(1))
    crossed = make_arrangement([*inner, *make_line("bass", "C3:1 C3:1")], make_bars(1))
    low, lower = (
        max(box.bottom for s in of_kind("beam", shapes(piece)) for box in s.boxes())
        for piece in (plain, crossed)
    )
    quarters = [box.bottom for box in stems_of(crossed) if box.bottom < lower - SPACE]
    assert lower > low
    assert quarters
    assert max(quarters) < lower - SPACE


def test_of_two_beams_at_once_the_longer_is_dissolved_into_flags() -> None:
    """Its stems would cross the shorter one."""
    bass = make_line("bass", "C3:1/2 D3:1/2 E3:1/2 C3:1/2 C3:2")
    inner = make_line("inner", "r:1/4 G3:1/4 A3:1/4 G3:1/4 r:1 E3:2")
    piece = make_arrangement([*bass, *inner], make_bars(1))
    drawn = shapes(piece)
    assert len(of_kind("flag", drawn)) == 4, "the four eighths of the bass"
    beams = [box for shape in of_kind("beam", drawn) for box in shape.boxes()]
    assert beams
    for stem in stems_of(piece):
        is_under = any(beam.left <= stem.middle[0] <= beam.right for beam in beams)
        assert not is_under or stem.bottom < max(beam.bottom for beam in beams) + stem.width
    for page in engrave_svgs(piece, ALONE):
        assert [str(touch) for touch in find_touches(page)] == []


def test_a_triplet_has_its_number_and_a_bracket_only_where_it_has_no_beam() -> None:
    beamed, apart = shapes(melody("E4:1/3 F4:1/3 G4:1/3 E4:3")), shapes(melody("E4:2/3 F4:1/3 E4:3"))
    assert [len(of_kind("tupletNum", each)) for each in (beamed, apart)] == [1, 1]
    assert not of_kind("tupletBracket", beamed)
    assert of_kind("tupletBracket", apart)


def test_a_fermata_stands_above_the_stems_of_its_column() -> None:
    drawn = shapes(make_arrangement([make_note("melody", 0, 1, "E4", has_fermata=True)], make_bars(1)))
    (fermata,), (stem,) = of_kind("fermata", drawn), of_kind("stem", drawn)
    assert fermata.boxes()[0].bottom < stem.boxes()[0].top


# Nothing touches.

FROM_THE_LAYOUT = {"absurd"}
"""In this the layout program lets its own signs touch in the notation (``test_collisions``)."""


@pieces
def test_alone_nothing_touches_and_nothing_runs_off_the_sheet(piece: Callable[[], Arrangement]) -> None:
    for page in engrave_svgs(piece(), ALONE):
        assert [str(touch) for touch in find_touches(page)] == []
        assert find_outside(page) == ()


@pytest.mark.parametrize("name", all_pieces())
def test_under_notation_nothing_touches(name: str) -> None:
    for page in engrave_svgs(all_pieces()[name](), BELOW):
        touches = [
            touch for touch in find_touches(page) if name not in FROM_THE_LAYOUT or FRET in touch.kinds
        ]
        assert [str(touch) for touch in touches] == []
        assert find_outside(page) == ()
