"""The rows above and below the staff: what stands where, and what makes room for what."""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apoyando.engraving import engrave_svgs
from apoyando.engraving.drawing.boxes import hull
from apoyando.engraving.drawing.shapes import Glyph, Shape, Stroke, Text
from apoyando.engraving.notation.selection import notate_for
from apoyando.engraving.page.lines import Line
from apoyando.engraving.page.page import make_pages
from apoyando.engraving.rows import DYNAMIC, LYRIC, SYMBOL
from apoyando.engraving.rows.spreading import spread
from apoyando.engraving.staff.layout import SPACE, STAFF_LINES
from apoyando.model.arrangement import Arrangement, Note
from apoyando.model.dynamics import Dynamic, Layer, Loudness
from apoyando.model.sheet import Sheet
from apoyando.model.song import Lyric
from builders import make_arrangement, make_harmony, make_line
from engraving.pieces import piece_with_words
from references.ink_checker import find_outside, find_touches

WITH_WORDS = Sheet(lyrics=True)
MEZZOFORTE, PIANO = "E52D", "E520"
"""Code points of SMuFL 1.4."""


def lines_of(arrangement: Arrangement, sheet: Sheet = WITH_WORDS) -> list[Line]:
    pages = make_pages(notate_for(sheet, arrangement), sheet)
    return [line for page in pages for _, line in page.lines]


def of_kind(line: Line, kind: str) -> list[Shape]:
    return [shape for shape in line.shapes if shape.kind == kind]


def words(line: Line) -> list[str]:
    return [shape.drawing.pieces[0].text for shape in of_kind(line, LYRIC) if isinstance(shape.drawing, Text)]


def strokes(line: Line) -> list[Shape]:
    return [shape for shape in of_kind(line, LYRIC) if isinstance(shape.drawing, Stroke)]


def bottom_of_staff(line: Line) -> float:
    return max(box.bottom for shape in of_kind(line, STAFF_LINES) for box in shape.boxes())


def sing(notes: Sequence[Note], text: str, verse: int = 1) -> tuple[Note, ...]:
    """Words on notes: ``"A- maz- ing grace_ *"``: ``-`` goes on, ``_`` is held, ``*`` is no syllable."""
    sung: list[Note] = []
    goes_on = False
    for note, word in zip(notes, text.split(), strict=True):
        if word == "*":
            sung.append(note)
            continue
        ends = word.endswith("-")
        syllabic = ("middle" if goes_on else "begin") if ends else "end" if goes_on else "single"
        lyric = Lyric(verse, word.strip("-_"), syllabic, is_held=word.endswith("_"))
        sung.append(replace(note, lyrics=(*note.lyrics, lyric)))
        goes_on = ends
    return tuple(sung)


def song(melody: Sequence[Note], **more: Any) -> Arrangement:
    bass = make_line("bass", "C3:4 " * -int(-melody[-1].offset // 4))
    return make_arrangement((*melody, *bass), **more)


def touches(arrangement: Arrangement) -> list[str]:
    """What touches or lies outside on the finished pages."""
    pages = engrave_svgs(arrangement, WITH_WORDS)
    return [str(fault) for page in pages for fault in (*find_touches(page), *find_outside(page))]


# Words that are sung.


def test_words_are_printed_only_if_they_are_asked_for() -> None:
    tune = song(sing(make_line("melody", "E4:2 G4:2"), "Oh me"))
    assert words(lines_of(tune)[0]) == ["Oh", "me"]
    assert words(lines_of(tune, Sheet())[0]) == []


def test_a_syllable_stands_under_the_middle_of_its_head_below_everything_of_the_staff() -> None:
    (line,) = lines_of(song(sing(make_line("melody", "E4:4"), "Oh")))
    (text,) = of_kind(line, LYRIC)
    head = next(s for s in of_kind(line, "notehead") if s.boxes()[0].middle[1] < 4 * SPACE)
    assert text.boxes()[0].middle[0] == pytest.approx(head.boxes()[0].middle[0], abs=1)
    others = [box for s in line.shapes if s.kind not in {LYRIC, DYNAMIC} for box in s.boxes()]
    under = [box for box in others if box.left < text.boxes()[0].right and text.boxes()[0].left < box.right]
    assert text.boxes()[0].top > max(box.bottom for box in under)


def test_each_verse_has_its_row_and_begins_with_its_number() -> None:
    notes = make_line("melody", "E4:2 G4:2")
    (line,) = lines_of(song(sing(sing(notes, "Oh me"), "La la", verse=2)))
    heights = {
        s.drawing.y: s.drawing.pieces[0].text for s in of_kind(line, LYRIC) if isinstance(s.drawing, Text)
    }
    assert words(line) == ["1. Oh", "me", "2. La", "la"]
    assert list(heights.values()) == ["me", "la"]
    assert sorted(heights) == list(heights)


def test_a_number_that_the_source_prints_is_not_printed_twice() -> None:
    notes = make_line("melody", "E4:2 G4:2")
    (line,) = lines_of(song(sing(sing(notes, "1.Oh me"), "2.La la", verse=2)))
    assert words(line) == ["1.Oh", "me", "2.La", "la"]


def test_a_hyphen_stands_between_the_syllables_of_a_word_and_nowhere_else() -> None:
    (line,) = lines_of(song(sing(make_line("melody", "E4:1 F4:1 G4:1 E4:1"), "A- men, a men")))
    (hyphen,) = strokes(line)
    first, second, *_ = (s.boxes()[0] for s in of_kind(line, LYRIC) if isinstance(s.drawing, Text))
    assert first.right < hyphen.boxes()[0].left < hyphen.boxes()[0].right < second.left


def test_a_word_that_is_begun_and_never_ended_has_no_hyphen() -> None:
    """Sources forget the end: hyphens would run to the end of the line."""
    begun = Lyric(1, "way", "begin")
    melody = make_line("melody", "E4:1 F4:1 G4:2")
    (line,) = lines_of(song((replace(melody[0], lyrics=(begun,)), *melody[1:])))
    assert strokes(line) == []
    other = replace(melody[1], lyrics=(Lyric(1, "Come"),))
    (line,) = lines_of(song((replace(melody[0], lyrics=(begun,)), other, melody[2])))
    assert strokes(line) == []


def test_a_wide_gap_in_a_word_has_several_hyphens() -> None:
    notes = make_line("melody", "E4:1 " + "F4:1/2 G4:1/2 " * 12 + "E4:3")
    lines = lines_of(song(sing(notes, "A- " + "* " * 24 + "men")))
    assert len(strokes(lines[0])) > 1


def test_a_line_runs_to_the_last_head_that_a_syllable_is_sung_on() -> None:
    (line,) = lines_of(song(sing(make_line("melody", "E4:1 F4:1 G4:1 r:1"), "Oh_ * *")))
    (held,) = strokes(line)
    heads = sorted(box.right for s in of_kind(line, "notehead") for box in s.boxes())
    assert held.boxes()[0].right == pytest.approx(heads[-1], abs=0.1 * SPACE)


def test_a_syllable_that_is_not_held_has_no_line() -> None:
    """The source does not say that it is sung on: nobody knows."""
    (line,) = lines_of(song(sing(make_line("melody", "E4:1 F4:1 G4:1 r:1"), "Oh * *")))
    assert strokes(line) == []


def test_a_line_ends_where_the_next_word_begins_and_at_a_rest() -> None:
    (line,) = lines_of(song(sing(make_line("melody", "E4:1 F4:1 r:1 G4:1"), "Oh_ * *")))
    (held,) = strokes(line)
    last = max(s.boxes()[0].right for s in of_kind(line, "notehead"))
    assert held.boxes()[0].right < last - SPACE


def test_a_tied_note_holds_its_syllable_and_the_line_goes_on_over_a_line_break() -> None:
    notes = make_line("melody", "E4:60 F4:4")
    lines = lines_of(song(sing(notes, "Oh me")))
    assert len(lines) > 1
    assert [len(strokes(line)) for line in lines] == [1] * len(lines)


def test_words_too_wide_for_their_notes_do_not_touch() -> None:
    notes = make_line("melody", "E4:1/2 F4:1/2 " * 16)
    assert touches(song(sing(notes, "strengths straightforwardly " * 16))) == []


def test_with_words_in_two_verses_and_dynamics_nothing_touches() -> None:
    assert touches(piece_with_words()) == []


@given(st.lists(st.tuples(st.floats(0, 100), st.floats(1, 10), st.floats(0, 3)), min_size=1, max_size=12))
def test_things_that_are_spread_keep_their_order_and_their_gaps_within_the_limits(
    things: list[tuple[float, float, float]],
) -> None:
    lefts, widths, gaps = (list(column) for column in zip(*things, strict=True))
    placed = spread(lefts, widths, gaps, (0.0, 200.0))
    for here, width, gap, there in zip(placed, widths, gaps, placed[1:], strict=False):
        assert there - here >= width + gap - 1e-6
    assert placed[0] >= 0
    assert placed[-1] + widths[-1] <= 200 + 1e-6


def test_things_that_have_room_stay_and_two_that_touch_give_way_alike() -> None:
    assert spread([0, 50, 90], [10, 10, 10], [1, 1, 1], (0, 200)) == [0, 50, 90]
    assert spread([50, 52], [10, 10], [0, 0], (0, 200)) == [46, 56]
    assert spread([0, 2], [10, 10], [0, 0], (0, 200)) == [0, 10]


# Dynamics.


def with_dynamics(*marks: Dynamic) -> Arrangement:
    return song(make_line("melody", "E4:2 G4:2 C5:4"), dynamics=marks)


def test_the_tune_is_told_above_the_staff_and_the_accompaniment_below() -> None:
    start = Fraction(0)
    (line,) = lines_of(
        with_dynamics(
            Dynamic(start, Loudness.MF, Layer.MELODY), Dynamic(start, Loudness.P, Layer.ACCOMPANIMENT)
        )
    )
    mf, p = of_kind(line, DYNAMIC)
    assert isinstance(mf.drawing, Glyph)
    assert isinstance(p.drawing, Glyph)
    assert (mf.drawing.code, p.drawing.code) == (MEZZOFORTE, PIANO)
    assert mf.boxes()[0].bottom < 0
    assert p.boxes()[0].top > bottom_of_staff(line)


def test_a_mark_at_the_head_of_a_line_stands_left_of_the_notes_and_lifts_no_chord_symbol() -> None:
    mark = Dynamic(Fraction(0), Loudness.MF, Layer.MELODY)
    plain = replace(with_dynamics(), harmony=make_harmony("C:8"))
    marked = replace(plain, dynamics=(mark,))
    (line,), (without,) = lines_of(marked), lines_of(plain)
    heads = hull(box for s in of_kind(line, "notehead") for box in s.boxes())
    assert of_kind(line, DYNAMIC)[0].boxes()[0].right < heads.left
    assert of_kind(line, SYMBOL) == of_kind(without, SYMBOL)


def test_a_mark_within_a_line_stands_under_its_notes() -> None:
    (line,) = lines_of(with_dynamics(Dynamic(Fraction(4), Loudness.SFZ)))
    (mark,) = of_kind(line, DYNAMIC)
    last = max(box.left for s in of_kind(line, "notehead") for box in s.boxes())
    assert mark.boxes()[0].left < last < mark.boxes()[0].right


def test_dynamics_are_left_out_if_they_are_not_wanted() -> None:
    tune = with_dynamics(Dynamic(Fraction(0), Loudness.F))
    assert of_kind(lines_of(tune, Sheet(dynamics=False))[0], DYNAMIC) == []


# Chord symbols.


def test_without_chord_symbols_neither_they_nor_their_room_are_there() -> None:
    tune = replace(
        song(make_line("melody", "E4:1/2 G4:1/2 " * 8)), harmony=make_harmony("Db.major-seventh:1/2 " * 16)
    )
    (line,) = lines_of(tune, Sheet(chord_symbols=False))
    assert of_kind(line, SYMBOL) == []
    assert line.shapes == lines_of(replace(tune, harmony=()), Sheet())[0].shapes
