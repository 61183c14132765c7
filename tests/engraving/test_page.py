"""What stands on the page and where.

Conventions of printed guitar music: common practice, from memory.
"""

import re
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from typing import Any
from xml.etree.ElementTree import fromstring

import pytest

from apoyando.engraving import engrave_svgs
from apoyando.engraving.drawing.boxes import Box, hull
from apoyando.engraving.drawing.shapes import Glyph, Shape, Stroke, Text
from apoyando.engraving.drawing.typeface import Face, text_width
from apoyando.engraving.notation.score import notate
from apoyando.engraving.notation.tuning_words import tuning_notes
from apoyando.engraving.page.frame import make_frame
from apoyando.engraving.page.heading import (
    HEADING,
    break_lines,
    first_heading,
)
from apoyando.engraving.page.lines import Line, make_lines, prepare_lines
from apoyando.engraving.page.page import Page, make_pages
from apoyando.engraving.rows import BAR_NUMBER, BARRE, ENDING, SYMBOL, WORDS
from apoyando.engraving.rows.lyrics import LYRIC
from apoyando.engraving.staff.digits import DIGIT, GUIDE, PLUCK, STRING, mark_boxes
from apoyando.engraving.staff.layout import SPACE, STAFF_LINES
from apoyando.model.arrangement import Arrangement, Note
from apoyando.model.instrument import DROP_D_TUNING, STANDARD_TUNING
from apoyando.model.pitch import MidiNote
from apoyando.model.sheet import LEAST_STAFF_MM, USUAL_STAFF_MM, Marking, Paper, Sheet
from apoyando.model.song import Jump, Lyric
from builders import (
    change_bar,
    make_arrangement,
    make_barre,
    make_bars,
    make_harmony,
    make_line,
    make_note,
    small_arrangement,
)
from engraving.pieces import all_pieces, piece_with_form

pieces = pytest.mark.parametrize("piece", all_pieces().values(), ids=all_pieces().keys())
FRAME = make_frame(Sheet())
CODA = "E048"
"""SMuFL 1.4, ``coda``."""
TOLERANCE = 20.0
"""A fifth of a millimetre: the thickness of a line."""


def pages_of(arrangement: Arrangement, **sheet: Any) -> tuple[Page, ...]:
    return make_pages(notate(arrangement), Sheet(**sheet))


def lines_of(arrangement: Arrangement) -> list[Line]:
    return [line for page in pages_of(arrangement) for _, line in page.lines]


def words(shapes: tuple[Shape, ...], *kinds: str) -> list[str]:
    return [
        "".join(piece.text for piece in shape.drawing.pieces)
        for shape in shapes
        if isinstance(shape.drawing, Text) and shape.kind in kinds
    ]


def strokes(shapes: tuple[Shape, ...], kind: str) -> list[Stroke]:
    return [s.drawing for s in shapes if s.kind == kind and isinstance(s.drawing, Stroke)]


def heads_of(line: Line) -> dict[str, Box]:
    return {s.owner: s.boxes()[0] for s in line.shapes if s.kind == "notehead"}


def bars_of(line: Line) -> set[str]:
    """Ids of the bars with a note on the line."""
    return {note_id.split("v")[0] for note_id in heads_of(line)}


def tune(count: int, **more: Any) -> Arrangement:
    """So many bars of eighths."""
    notes = make_line("melody", "E4:1/2 F4:1/2 G4:1/2 A4:1/2 G4:1/2 F4:1/2 E4:1/2 D4:1/2 " * count)
    return make_arrangement(notes, **more)


# The whole page


@pieces
def test_every_page_is_a_well_formed_a4_drawing(piece: Callable[[], Arrangement]) -> None:
    for page in engrave_svgs(piece()):
        root = fromstring(page)  # noqa: S314 - drawn by us
        assert (root.get("width"), root.get("height")) == ("210mm", "297mm")


@pieces
def test_nothing_lies_outside_the_margins(piece: Callable[[], Arrangement]) -> None:
    for page in pages_of(piece()):
        for y, line in page.lines:
            box = line.box.moved(page.frame.margin, y)
            assert box.left >= page.frame.margin - SPACE
            assert box.right <= page.frame.right + TOLERANCE
            assert box.top >= page.heading.top - TOLERANCE
            assert box.bottom <= page.heading.bottom + TOLERANCE


@pieces
def test_lines_on_a_page_do_not_touch_each_other_or_the_heading(piece: Callable[[], Arrangement]) -> None:
    for page in pages_of(piece()):
        boxes = [line.box.moved(0, y) for y, line in page.lines]
        assert all(one.bottom < other.top for one, other in pairwise(boxes))


def test_the_same_arrangement_gives_the_same_drawing() -> None:
    assert engrave_svgs(piece_with_form()) == engrave_svgs(piece_with_form())


def test_every_head_of_the_score_is_on_the_page() -> None:
    ids = set(re.findall(r' id="(m\d+v\d+e\d+n\d+)"', "".join(engrave_svgs(small_arrangement()))))
    score = notate(small_arrangement())
    events = [e for bar in score.bars for line in bar.voices.values() for e in line]
    assert ids == {note_id for event in events for note_id in getattr(event, "note_ids", ())}


def test_a_long_song_goes_over_several_pages() -> None:
    pages = pages_of(tune(130))
    bars = re.findall(r' id="m(\d+)v1e0n0"', "".join(engrave_svgs(tune(130))))
    assert len(pages) > 1
    assert sorted(map(int, bars)) == list(range(130))


def page_sizes(count: int, **sheet: Any) -> list[int]:
    """Lines on each page of so many bars of quarters and eighths."""
    notes = make_line("melody", "E4:1/2 F4:1/2 G4:1/2 A4:1/2 G4:1 F4:1 " * count)
    return [len(page.lines) for page in make_pages(notate(make_arrangement(notes)), Sheet(**sheet))]


def staff_mm(page: Page) -> float:
    return 7.0 * 100 * page.frame.width_mm / page.frame.width


def test_a_piece_that_nearly_fits_a_page_is_set_closer_to_fit() -> None:
    assert page_sizes(48, staff_mm=7.0) == [12], "four bars a line, as usual"
    assert page_sizes(56, staff_mm=7.0) == [12], "closer, instead of fourteen lines on two pages"
    assert len(page_sizes(80, staff_mm=7.0)) == 2


def test_the_staff_is_a_little_smaller_where_that_saves_a_page_unless_its_size_was_asked_for() -> None:
    nearly = notate(tune(52))
    assert len(make_pages(nearly, Sheet(staff_mm=7.0))) == 2
    (page,) = make_pages(nearly, Sheet())
    assert LEAST_STAFF_MM <= staff_mm(page) < USUAL_STAFF_MM


@pytest.mark.parametrize("count", [4, 44, 76])
def test_where_nothing_is_saved_it_has_its_usual_size(count: int) -> None:
    assert staff_mm(pages_of(tune(count))[0]) == USUAL_STAFF_MM


@pytest.mark.parametrize("rest", [84, 92])
def test_the_turn_after_the_second_page_is_where_a_hand_is_free(rest: int) -> None:
    eighths = "F4:1/2 G4:1/2 G#4:1/2 A4:1/2 G4:1/2 F4:1/2 F#4:1/2 D4:1/2 "
    notes = make_line("melody", eighths * (rest - 1) + "F4:1 r:3 " + eighths * (120 - rest))
    _, second, *_ = make_pages(notate(make_arrangement(notes)), Sheet(staff_mm=7.0))
    assert second.lines[-1][1].bars[-1] + 1 == rest


def test_full_lines_reach_from_margin_to_margin() -> None:
    for line in lines_of(tune(16)):
        staff = hull(box for s in line.shapes if s.kind == STAFF_LINES for box in s.boxes())
        assert staff.width == pytest.approx(FRAME.line_width, abs=30)


# Heading


def test_the_title_stands_in_the_middle_the_composer_on_the_right_and_the_lyricist_on_the_left() -> None:
    heading = first_heading(
        make_arrangement((), title="Tune", composer="A. Nonimo", lyricist="B. Nonima"), FRAME
    )
    texts = {w.drawing.pieces[0].text: w.drawing for w in heading.shapes if isinstance(w.drawing, Text)}
    assert (texts["Tune"].x, texts["Tune"].anchor) == (FRAME.middle, "middle")
    assert (texts["A. Nonimo"].x, texts["A. Nonimo"].anchor) == (FRAME.right, "end")
    assert (texts["Words: B. Nonima"].x, texts["Words: B. Nonima"].anchor) == (FRAME.margin, "start")


def test_the_arrangement_is_named_under_the_composer() -> None:
    heading = first_heading(make_arrangement((), composer="A. Nonimo"), FRAME)
    lines = {w.drawing.pieces[0].text: w.drawing.y for w in heading.shapes if isinstance(w.drawing, Text)}
    assert lines["arr. for guitar"] > lines["A. Nonimo"]


def test_the_rights_stand_at_the_foot_of_the_first_page_only() -> None:
    pages = pages_of(tune(130, rights="Free for all"))
    feet = [words(page.heading.shapes, HEADING) for page in pages]
    assert "Free for all" in feet[0]
    assert all("Free for all" not in foot for foot in feet[1:])


def texts(page: Page, owner: str) -> list[Text]:
    return [s.drawing for s in page.heading.shapes if s.owner == owner and isinstance(s.drawing, Text)]


def test_pages_are_numbered_from_the_second_on_outside_as_they_lie_in_an_opened_book() -> None:
    first, *later = pages_of(tune(60, title="Tune"), staff_mm=10.0)
    assert len(later) >= 2
    assert texts(first, "number") == []
    for number, page in enumerate(later, 2):
        (text,) = texts(page, "number")
        assert text.pieces[0].text == str(number)
        lies_left = number % 2 == 1
        assert (text.x, text.anchor) == (
            (page.frame.margin, "start") if lies_left else (page.frame.right, "end")
        )


def test_later_pages_name_the_piece_again_in_small_print() -> None:
    first, second, *_ = pages_of(tune(130, title="Tune"))
    (title,), (running,) = texts(first, "title"), texts(second, "running")
    assert running.pieces[0].text == "Tune"
    assert running.pieces[0].size < title.pieces[0].size / 2


def test_a_title_too_long_for_the_head_of_a_later_page_is_cut() -> None:
    second = pages_of(tune(130, title="An Endless Song of " * 12))[1]
    running = texts(second, "running")
    assert running[0].pieces[0].text.endswith("…")
    assert running[0].width < second.frame.line_width


def test_capo_and_tuning_are_named_at_the_top_left() -> None:
    heading = first_heading(make_arrangement((), capo=2, tuning=DROP_D_TUNING), FRAME)
    assert {"⑥ = D", "Capo II"} <= set(words(heading.shapes, HEADING))


def test_the_usual_tuning_needs_no_word() -> None:
    assert tuning_notes(STANDARD_TUNING) == ()
    lowered = replace(STANDARD_TUNING, open_strings=(*map(MidiNote, (64, 59, 55, 50, 43, 38)),))
    assert tuning_notes(lowered) == ("⑥ = D", "⑤ = G")


def test_a_very_long_title_shrinks_and_breaks_but_stays_within_the_margins() -> None:
    heading = first_heading(make_arrangement((), title="An Endless Song of " * 12 + "x" * 300), FRAME)
    titles = [s.drawing for s in heading.shapes if s.owner == "title" and isinstance(s.drawing, Text)]
    assert 1 < len(titles) <= 3
    assert all(title.width <= FRAME.line_width for title in titles)
    assert titles[-1].pieces[0].text.endswith("…")


def test_lines_are_broken_between_words() -> None:
    assert break_lines("one two three", 10, text_width("one two", 10) + 0.1, 2) == ("one two", "three")


# Rows above the staff


def test_each_line_but_the_first_begins_with_its_bar_number() -> None:
    numbers = [words(line.shapes, BAR_NUMBER) for line in lines_of(tune(16))]
    assert numbers[0] == []
    assert all(len(number) == 1 for number in numbers[1:])
    assert numbers[1] == [str(1 + len(bars_of(lines_of(tune(16))[0])))]


def test_chord_symbols_stand_on_one_baseline_above_all_notes_of_their_line() -> None:
    notes = make_line("melody", "E4:2 E5:2")
    line = lines_of(make_arrangement(notes, harmony=make_harmony("C:2 A.minor-seventh:2")))[0]
    symbols = [s for s in line.shapes if s.kind == SYMBOL]
    assert len({s.drawing.y for s in symbols if isinstance(s.drawing, Text)}) == 1
    assert words(line.shapes, SYMBOL) == ["C", "Am7"]
    top_of_music = min(b.top for s in line.shapes if s.kind in {"notehead", "stem"} for b in s.boxes())
    assert all(box.bottom < top_of_music for s in symbols for box in s.boxes())


def test_a_chord_symbol_stands_where_its_harmony_begins_even_where_no_note_does() -> None:
    line = lines_of(make_arrangement(make_line("melody", "E4:4"), harmony=make_harmony("C:2 G:2")))[0]
    first, second = (s.boxes()[0].left for s in line.shapes if s.kind == SYMBOL)
    head = next(iter(heads_of(line).values()))
    assert first == pytest.approx(head.left, abs=SPACE)
    assert second > head.right + SPACE


def barred(*barres: object, count: int = 1) -> list[Line]:
    return lines_of(tune(count, barres=barres))


@pytest.mark.parametrize(("lowest", "label"), [(6, "C VII"), (5, "C VII"), (4, "½C VII"), (3, "½C VII")])
def test_a_barre_over_five_or_six_strings_is_c_and_a_smaller_one_half_c(lowest: int, label: str) -> None:
    (line,) = barred(make_barre(7, lowest, 0, 4))
    assert words(line.shapes, BARRE) == [label]


def test_its_line_ends_with_a_hook_over_the_last_note_in_the_barre() -> None:
    (line,) = barred(make_barre(7, 6, 0, 2))
    (stroke,) = strokes(line.shapes, BARRE)
    last = heads_of(line)["m0v1e3n0"]
    assert len(stroke.points) == 3
    assert stroke.points[2][0] == pytest.approx(last.right)
    assert stroke.points[2][1] > stroke.points[1][1]


def test_across_a_line_break_it_goes_on_without_hook_and_under_its_name_in_brackets() -> None:
    bar = 4 * len(bars_of(lines_of(tune(16))[0]))
    first, second = barred(make_barre(7, 6, bar - 2, 4), count=16)[:2]
    assert words(second.shapes, BARRE) == ["(C VII)"]
    assert [len(stroke.points) for stroke in strokes(first.shapes, BARRE)] == [2]
    assert [len(stroke.points) for stroke in strokes(second.shapes, BARRE)] == [3]


def test_a_barre_name_over_the_last_note_of_a_line_ends_with_the_line() -> None:
    (line,) = barred(make_barre(8, 4, "7/2", "1/2"))
    (name,) = (s.boxes()[0] for s in line.shapes if s.kind == BARRE)
    staff = hull(box for s in line.shapes if s.kind == STAFF_LINES for box in s.boxes())
    assert name.right <= staff.right + TOLERANCE


def test_a_barre_name_that_would_run_into_the_one_before_goes_one_step_up() -> None:
    (line,) = barred(make_barre(7, 4, 0, "1/2"), make_barre(8, 4, "1/2", "1/2"), make_barre(7, 4, 2, 1))
    first, second, third = (
        s.boxes()[0] for s in line.shapes if s.kind == BARRE and isinstance(s.drawing, Text)
    )
    assert second.bottom <= first.top
    assert third.top == first.top


def test_endings_are_bracketed_and_numbered() -> None:
    bars = make_bars(4)
    bars = change_bar(bars, 1, endings=(1, 2), ending_stops=True, repeat_times=2)
    bars = change_bar(bars, 2, endings=(3,), ending_stops=True)
    (line,) = lines_of(make_arrangement(make_line("melody", "E4:16"), bars))
    assert words(line.shapes, ENDING) == ["1., 2.", "3."]
    assert [len(stroke.points) for stroke in strokes(line.shapes, ENDING)] == [4, 4]


def test_an_ending_that_does_not_stop_is_left_open() -> None:
    bars = change_bar(make_bars(2), 1, endings=(2,))
    (line,) = lines_of(make_arrangement(make_line("melody", "E4:8"), bars))
    assert [len(stroke.points) for stroke in strokes(line.shapes, ENDING)] == [3]


def test_sections_and_jumps_are_written_over_their_bars() -> None:
    bars = change_bar(make_bars(2), 0, section="Verse", jumps=(Jump.SEGNO,))
    bars = change_bar(bars, 1, jumps=(Jump.DAL_SEGNO,))
    (line,) = lines_of(make_arrangement(make_line("melody", "E4:8"), bars))
    assert {"Verse", "D.S."} <= set(words(line.shapes, WORDS))


def test_the_words_of_the_source_are_kept_for_a_jump() -> None:
    bars = change_bar(make_bars(1), 0, jumps=(Jump.DA_CAPO,), jump_words="D.C. al Fine")
    (line,) = lines_of(make_arrangement(make_line("melody", "E4:4"), bars))
    assert "D.C. al Fine" in words(line.shapes, WORDS)


@pytest.mark.parametrize(
    ("marks", "expected"),
    [
        ({"jumps": (Jump.TO_CODA,)}, ["To Coda", CODA]),
        ({"jumps": (Jump.TO_CODA, Jump.DA_CAPO)}, ["To Coda", CODA, "D.C. al Coda"]),
        ({"jumps": (Jump.FINE, Jump.TO_CODA)}, ["Fine  To Coda", CODA]),
        ({"jumps": (Jump.TO_CODA,), "repeat_times": 3}, ["To Coda", CODA, "3×"]),
    ],
)
def test_the_sign_of_the_coda_stands_right_after_to_coda(marks: dict[str, Any], expected: list[str]) -> None:
    bars = change_bar(change_bar(make_bars(2), 0, **marks), 1, jumps=(Jump.CODA,))
    (line,) = lines_of(make_arrangement(make_line("melody", "E4:8"), bars))
    over_the_bar = [
        drawing
        for drawing in (shape.drawing for shape in line.shapes if shape.kind == WORDS)
        if (isinstance(drawing, Glyph) and drawing.code == CODA)
        or (isinstance(drawing, Text) and drawing.pieces[0].face is Face.ITALIC)
    ]
    from_the_left = sorted(over_the_bar, key=lambda drawing: hull(drawing.boxes()).left)
    assert [
        drawing.code if isinstance(drawing, Glyph) else drawing.pieces[0].text for drawing in from_the_left
    ] == [*expected, CODA]
    boxes = [hull(drawing.boxes()) for drawing in from_the_left]
    assert all(before.right < after.left for before, after in pairwise(boxes))


def test_a_stretch_played_more_than_twice_says_how_often() -> None:
    for times, expected in ((2, False), (3, True)):
        bars = change_bar(make_bars(1), 0, repeat_times=times)
        (line,) = lines_of(make_arrangement(make_line("melody", "E4:4"), bars))
        assert ("3×" in words(line.shapes, WORDS)) is expected


@pytest.mark.parametrize(
    ("meter", "quarters", "glyphs", "expected"),
    [
        ("4/4", 96, ["E1D5"], "= 96"),
        ("6/8", 96, ["E1D5", "E1E7"], "= 64"),
        ("C|", 96, ["E1D3"], "= 48"),
        ("3/8", 60, ["E1D7"], "= 120"),
    ],
)
def test_the_tempo_counts_the_pulses_of_the_meter(
    meter: str, quarters: int, glyphs: list[str], expected: str
) -> None:
    """Source of the glyph codes: SMuFL 1.4, Individual notes (U+E1D0)."""
    bars = make_bars(1, meter)
    notes = make_line("melody", f"E4:{bars[0].span.duration}")
    tempo = {"tempo_quarters_per_minute": Fraction(quarters), "tempo_words": "Allegro"}
    (line,) = lines_of(make_arrangement(notes, bars, **tempo))
    assert [
        code for s in line.shapes if s.kind == WORDS and (code := getattr(s.drawing, "code", ""))
    ] == glyphs
    assert words(line.shapes, WORDS) == ["Allegro", expected]


# Digits and circles


def marks_on(*notes: Note) -> tuple[dict[str, Box], dict[tuple[str, str], Box]]:
    (line,) = lines_of(make_arrangement(notes))
    return heads_of(line), mark_boxes(line.shapes)


def test_a_digit_stands_close_to_the_left_of_its_head_and_level_with_it() -> None:
    heads, marks = marks_on(make_note("melody", 0, 4, "C4"))
    (head,), digit = heads.values(), marks[DIGIT, "m0v1e0n0"]
    assert 0 < head.left - digit.right < SPACE
    assert digit.middle[1] == pytest.approx(head.middle[1], abs=0.1 * SPACE)


def test_it_is_about_as_high_as_a_staff_space() -> None:
    _, marks = marks_on(make_note("melody", 0, 4, "C4"))
    assert marks[DIGIT, "m0v1e0n0"].height == pytest.approx(SPACE, rel=0.1)


def test_it_stands_left_of_the_accidental_too() -> None:
    (line,) = lines_of(make_arrangement((make_note("melody", 0, 4, "F#4"),)))
    sharp = next(s.boxes()[0] for s in line.shapes if s.kind == "accid")
    assert mark_boxes(line.shapes)[DIGIT, "m0v1e0n0"].right < sharp.left


def test_a_circled_string_stands_above_the_melody_and_below_the_bass() -> None:
    heads, marks = marks_on(
        make_note("melody", 0, 4, "E4", 2, 1),
        make_note("bass", 0, 2, "A2", 6, 1),
        make_note("bass", 2, 2, "E3", 6, 4),
    )
    assert marks[STRING, "m0v1e0n0"].bottom < heads["m0v1e0n0"].top
    assert marks[STRING, "m0v2e1n0"].top > heads["m0v2e1n0"].bottom


def test_a_tied_note_shows_its_digit_once() -> None:
    _, marks = marks_on(make_note("melody", 2, 4, "C4"))
    assert list(marks) == [(DIGIT, "m0v1e1n0")]


@pytest.mark.parametrize("paper", Paper)
def test_the_sheet_has_the_size_of_its_paper_whatever_the_staff(paper: Paper) -> None:
    for staff_mm in (5.0, 7.0, 10.5):
        for page in engrave_svgs(small_arrangement(), Sheet(paper=paper, staff_mm=staff_mm)):
            root = fromstring(page)  # noqa: S314 - written by us
            assert (root.get("width"), root.get("height")) == tuple(f"{mm:g}mm" for mm in paper.size_mm)


def test_a_staff_is_printed_as_high_as_it_was_asked_for() -> None:
    for staff_mm in (5.0, 7.0, 10.5):
        sheet = Sheet(staff_mm=staff_mm)
        frame = make_frame(sheet)
        printed_mm = 4 * SPACE * frame.width_mm / frame.width
        assert printed_mm == pytest.approx(staff_mm, rel=0.01)


def test_large_print_puts_fewer_bars_on_a_line() -> None:
    usual, large = (
        make_pages(notate(piece_with_form()), Sheet(staff_mm=staff_mm)) for staff_mm in (7.0, 10.5)
    )
    assert sum(len(page.lines) for page in large) > sum(len(page.lines) for page in usual)


def test_margins_are_kept_in_millimetres() -> None:
    for staff_mm in (5.0, 10.5):
        frame = make_frame(Sheet(margin_mm=22.0, staff_mm=staff_mm))
        assert frame.margin * frame.width_mm / frame.width == pytest.approx(22.0)


# Plucking letters and guide fingers


def full_line(*notes: Note, bars: int = 1) -> Line:
    pages = make_pages(notate(make_arrangement(notes, make_bars(bars))), Sheet(marking=Marking.FULL))
    (line,) = (line for page in pages for _, line in page.lines)
    return line


def test_plucking_letters_stand_off_the_staff_above_for_the_melody_and_below_for_the_accompaniment() -> None:
    line = full_line(make_note("melody", 0, 4, "B3", pluck="m"), make_note("bass", 0, 4, "A2", pluck="p"))
    boxes = mark_boxes(line.shapes)
    assert boxes[PLUCK, "m0v1e0n0"].bottom < 0
    assert boxes[PLUCK, "m0v2e0n0"].top > 4 * SPACE


def test_a_plucking_letter_stands_beyond_the_stem_of_its_note() -> None:
    line = full_line(make_note("melody", 0, 4, "E4"), make_note("bass", 0, 2, "C3", pluck="p"))
    stem = hull(b for s in line.shapes if (s.kind, s.owner) == ("stem", "m0v2e0n0") for b in s.boxes())
    assert mark_boxes(line.shapes)[PLUCK, "m0v2e0n0"].top > stem.bottom


@pytest.mark.parametrize(("first", "second", "rises"), [("F4", "A4", True), ("A4", "F4", False)])
def test_a_guide_finger_has_a_line_before_its_digit_that_goes_as_the_hand_goes(
    first: str, second: str, rises: bool
) -> None:
    notes = (make_note("melody", 0, 2, first, 1, 1), make_note("melody", 2, 2, second, 1, 1))
    (line,) = lines_of(make_arrangement(notes))
    (stroke,) = strokes(line.shapes, GUIDE)
    (left, start), (right, end) = stroke.points
    assert left < right < mark_boxes(line.shapes)[DIGIT, "m0v1e1n0"].left
    assert (end < start) is rises


def test_at_the_head_of_a_line_a_guide_finger_has_its_digit_alone() -> None:
    """Its line would be read with the 8 under the clef."""
    notes = (
        make_note("bass", 0, 4, "F2", finger=1, string=6),
        make_note("bass", 4, 4, "A2", finger=1, string=6),
    )
    manuscript = prepare_lines(notate(make_arrangement(notes)), Sheet())
    (together,) = make_lines(manuscript, 10_000, (0,))
    _, second = make_lines(manuscript, 10_000, (0, 1))
    assert len(strokes(together.shapes, GUIDE)) == 1
    assert strokes(second.shapes, GUIDE) == []
    assert (DIGIT, "m1v2e0n0") in mark_boxes(second.shapes)


def test_a_syllable_may_be_held_over_whole_lines() -> None:
    words_sung = (Lyric(verse=1, text="ah"),)
    notes = [replace(note, lyrics=words_sung) for note in make_line("melody", "E4:64")]
    notes += make_line("bass", "C3:1/2 G3:1/2 " * 64)
    lines = lines_of(make_arrangement(notes))
    assert len(lines) > 1
    assert [words(line.shapes, LYRIC) for line in lines].count(["ah"]) <= 1
    assert not any(words(line.shapes, LYRIC) for line in lines[1:])
