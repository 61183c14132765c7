"""The text of a lesson sheet: what is written can be read, and what cannot be meant is pointed at."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apoyando.model.errors import UsageError
from apoyando.model.lesson import MOST_BARS_CUT, Block, Cutting, ShapePicture, Style, Words
from apoyando.teaching import read_lesson_text, write_lesson_text
from builders import change_bar, make_arrangement, make_bars, make_line

PIECE = make_arrangement(make_line("melody", "E4:1 r:3 E4:20"), bars=make_bars(6))
"""Bars 1 to 6; nothing sounds in bar 1 from beat 2 on."""
TEXT = """\
# A Small Tune

## What the piece asks for

- Key: C major.
- Barres: none.

1. The melody alone.
2. Up to tempo.

### Bar 2

[bars 1 to 2]
[bar 2]
[shape bar 2 beat 2½]

With care.
"""
BLOCKS: tuple[Block, ...] = (
    Words(Style.TITLE, "A Small Tune"),
    Words(Style.HEADING, "What the piece asks for"),
    Words(Style.ITEM, "Key: C major."),
    Words(Style.ITEM, "Barres: none."),
    Words(Style.STEP, "The melody alone."),
    Words(Style.STEP, "Up to tempo."),
    Words(Style.SUBHEADING, "Bar 2"),
    Cutting(0, 1),
    Cutting(1, 1),
    ShapePicture(Fraction(11, 2)),
    Words(Style.PARAGRAPH, "With care."),
)


def read(text: str) -> tuple[Block, ...]:
    return read_lesson_text(text, "tune.lesson.md", PIECE)


def test_a_sheet_is_written_as_a_text() -> None:
    assert write_lesson_text(BLOCKS, PIECE.bars) == TEXT


def test_the_text_is_read_as_the_same_sheet() -> None:
    assert read(TEXT) == BLOCKS


words = st.lists(st.from_regex(r"[A-Za-z][a-z,.:♯']{0,9}", fullmatch=True), min_size=1, max_size=5).map(
    " ".join
)
cuttings = st.integers(0, 5).flatmap(
    lambda first: st.integers(first, min(5, first + MOST_BARS_CUT - 1)).map(lambda last: Cutting(first, last))
)
moments = st.fractions(min_value=4, max_value=Fraction(23), max_denominator=12)
sheets = st.lists(
    st.one_of(st.builds(Words, st.sampled_from(Style), words), cuttings, st.builds(ShapePicture, moments)),
    min_size=1,
    max_size=8,
)


@given(sheets)
def test_whatever_is_written_is_read_again(blocks: list[Block]) -> None:
    assert read(write_lesson_text(blocks, PIECE.bars)) == tuple(blocks)


@pytest.mark.parametrize(
    ("text", "block"),
    [
        ("[bars 2-3]", Cutting(1, 2)),
        ("[Bars 2 – 3]", Cutting(1, 2)),
        ("[ bars  2  to  3 ]", Cutting(1, 2)),
        ("[bar 2]", Cutting(1, 1)),
        ("[shape at bar 2, beat 1.5]", ShapePicture(Fraction(9, 2))),
        ("* an item", Words(Style.ITEM, "an item")),
        ("12) a step", Words(Style.STEP, "a step")),
        ("-5 is no item", Words(Style.PARAGRAPH, "-5 is no item")),
        ("#3 is no heading", Words(Style.PARAGRAPH, "#3 is no heading")),
        ("see [bar 2] there", Words(Style.PARAGRAPH, "see [bar 2] there")),
    ],
)
def test_people_write_it_their_own_way(text: str, block: Block) -> None:
    assert read(text) == (block,)


def test_a_paragraph_goes_on_to_the_next_blank_line() -> None:
    paragraphs = (Words(Style.PARAGRAPH, "one line and another"), Words(Style.PARAGRAPH, "a new one"))
    assert read("one line\nand another\r\n\na new one") == paragraphs


def test_an_item_goes_on_where_the_line_is_indented() -> None:
    item = Words(Style.ITEM, "one line and another")
    assert read("- one line\n  and another\nnew") == (item, Words(Style.PARAGRAPH, "new"))


def test_of_bars_with_one_number_the_second_is_told_apart() -> None:
    piece = replace(PIECE, bars=change_bar(PIECE.bars, 3, number="2"))
    text = write_lesson_text([Cutting(1, 1), Cutting(3, 3)], piece.bars)
    assert text == "[bar 2]\n[bar 2/2]\n"
    assert read_lesson_text(text, "tune.lesson.md", piece) == (Cutting(1, 1), Cutting(3, 3))


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("[bars 2 to 9]", "there is no bar 9; the bars are numbered 1 to 6"),
        ("[bars 3 to 2]", "bar 2 comes before bar 3"),
        ("[bars 1 to 5]", "5 bars are too many for one cutting. Cut 4 at most"),
        ("[barz 2]", r"\[barz 2\] is not understood. Write \[bars 9 to 10\]"),
        ("[]", r"\[\] is not understood"),
        ("[shape bar 2]", r"\[shape bar 2\] is not understood"),
        ("[shape bar 2 beat 5]", "there is no beat 5 in bar 2"),
        ("[shape bar 2 beat two]", "there is no beat two in bar 2"),
        ("[shape bar 1 beat 2]", "nothing sounds in bar 1 on beat 2"),
        ("#### Small", "a heading has one, two or three signs #, and this one has 4"),
    ],
)
def test_a_line_that_cannot_be_meant_is_pointed_at(line: str, message: str) -> None:
    with pytest.raises(UsageError, match=f"^tune.lesson.md: line 3: {message}"):
        read(f"# Title\n\n{line}\n")


def test_a_cutting_may_have_so_many_bars_and_no_more() -> None:
    assert read("[bars 1 to 4]") == (Cutting(0, 3),)


def test_all_lines_are_pointed_at_at_once() -> None:
    with pytest.raises(UsageError) as caught:
        read("[bar 7]\nwords\n\n[bar 8]")
    assert [line.split(":")[1] for line in str(caught.value).splitlines()] == [" line 1", " line 4"]


@pytest.mark.parametrize("text", ["", "\n \n"])
def test_an_empty_text_is_no_lesson(text: str) -> None:
    with pytest.raises(UsageError, match="there is nothing in it to print"):
        read(text)
