"""The lesson sheet as a whole: its order, its bars, its pictures, and no word without a fact."""

import re
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from functools import cache
from pathlib import Path

import pytest

from apoyando.model.arrangement import Arrangement
from apoyando.model.lesson import Block, Cutting, ShapePicture, Style, Words
from apoyando.model.plan import Plan
from apoyando.pipeline import make_piece, study
from apoyando.reading import load_default_levels
from apoyando.teaching import Studied, find_voice_leading, measure_difficulty, write_lesson
from apoyando.teaching.lesson.ahead import tell_barres_ahead, tell_shifts, tell_turns
from apoyando.teaching.lesson.asks import ASKS
from apoyando.teaching.lesson.care import CAUTION, tell_strain
from apoyando.teaching.lesson.facts import Facts, gather_facts
from apoyando.teaching.lesson.leading import tell_dissonances, tell_led_changes
from apoyando.teaching.lesson.passes import PASSES
from apoyando.teaching.lesson.sheet import OF_A_BAR
from builders import make_arrangement, make_bars, make_form, make_harmony, make_line, make_note
from teaching.test_difficulty import LEVEL, stop

BARS = re.compile(r"(Bars? [\d, and]+\.)?")
"""What may stand before the sentences on bars elsewhere."""
EXAMPLES = Path(__file__).parents[2] / "examples"


def studied(piece: Arrangement) -> Studied:
    return Studied(
        arrangement=piece, level=LEVEL, hand_size=1.0, difficulties=measure_difficulty(piece, LEVEL)
    )


@cache
def example() -> Studied:
    """First Light in its own key: 32 bars with shifts, barres and stretches."""
    levels = load_default_levels()
    path = EXAMPLES / "first-light.abc"
    piece = make_piece(path.read_bytes(), path.name, Plan(key="C"), levels)
    return study(piece, levels)


def headings(blocks: tuple[Block, ...]) -> list[str]:
    return [block.text for block in blocks if isinstance(block, Words) and block.style is Style.HEADING]


def under(heading: str, blocks: tuple[Block, ...]) -> list[Block]:
    first = blocks.index(Words(Style.HEADING, heading)) + 1
    rest = blocks[first:]
    ends = (i for i, block in enumerate(rest) if isinstance(block, Words) and block.style is Style.HEADING)
    return list(rest[: next(ends, len(rest))])


def test_the_sheet_goes_from_the_whole_to_the_hard_bars_and_ends_with_the_caution() -> None:
    blocks = write_lesson(example())
    hard = [f"Bar {each.bar}" for each in gather_facts(example()).bars_to_practise]
    assert blocks[0] == Words(Style.TITLE, "First Light")
    assert headings(blocks) == [
        "What the piece asks for",
        "Practise in this order",
        *hard,
        "Where else to look ahead",
        "Voices",
        "With care",
    ]


def test_the_same_piece_gives_the_same_sheet() -> None:
    assert write_lesson(example()) == write_lesson(example())


def sentences(facts: Facts) -> Iterator[str]:
    """All that the rules have to tell of a piece, and what the room says of its hard bars."""
    piece_rules = [
        *(rule for group in (*ASKS, *PASSES) for rule in group),
        tell_turns,
        tell_led_changes,
        tell_strain,
    ]
    bar_rules = [
        *(rule for group in OF_A_BAR for rule in group),
        tell_shifts,
        tell_barres_ahead,
        tell_dissonances,
    ]
    yield CAUTION
    yield from (sentence for rule in piece_rules for sentence in rule(facts))
    for bar in facts.bars:
        yield from (sentence for rule in bar_rules for sentence in rule(facts, bar))
    for hard in facts.bars_to_practise:
        why = hard.sentence.removeprefix(f"Bar {hard.bar}: ")
        yield f"{why[0].upper()}{why[1:]}"


def test_every_word_under_the_headings_comes_from_a_rule() -> None:
    facts = gather_facts(example())
    known = sorted(set(sentences(facts)), key=len, reverse=True)
    for block in write_lesson(example())[1:]:
        if isinstance(block, Words) and block.style is not Style.HEADING:
            rest = block.text
            for sentence in known:
                rest = rest.replace(sentence, "")
            assert BARS.fullmatch(rest.strip()), block.text


def test_a_bar_to_practise_is_cut_out_with_the_bar_before_it_and_its_shapes() -> None:
    held = [stop("C3", 5, 3, 4, 4), stop("C4", 2, 1, 6, 2)]
    blocks = write_lesson(studied(make_arrangement(held, bars=make_bars(2))))
    assert under("Bar 2", blocks)[:2] == [Cutting(0, 1), ShapePicture(Fraction(6))]


def test_the_first_bar_is_cut_out_by_itself() -> None:
    held = [stop("C3", 5, 3, 0, 4), stop("C4", 2, 1, 2, 2)]
    assert under("Bar 1", write_lesson(studied(make_arrangement(held))))[0] == Cutting(0, 0)


def test_a_second_ending_is_not_shown_after_the_first_which_is_never_played_before_it() -> None:
    held = [stop("C3", 5, 3, 8, 4), stop("C4", 2, 1, 10, 2)]
    form = make_form(": A | B [1 : | C [2")
    assert under("Bar 3", write_lesson(studied(make_arrangement(held, bars=form))))[0] == Cutting(2, 2)


def test_a_shape_needs_two_fingers() -> None:
    notes = [stop("C4", 2, 1, 0, 1), make_note("inner", 1, 1, "G3")]
    blocks = write_lesson(studied(make_arrangement(notes, tempo_quarters_per_minute=Fraction(200))))
    assert not any(isinstance(block, ShapePicture) for block in blocks)


def test_two_shapes_are_shown_at_most_those_with_most_fingers_in_order_of_time() -> None:
    two = [stop("C3", 5, 3, 0, 1), stop("E3", 4, 2, 0, 1)]
    three = [replace(note, span=make_note("inner", 1, 1, "G3").span) for note in (*two, stop("C4", 2, 1))]
    other = [stop("G2", 6, 3, 2, 1), stop("B2", 5, 2, 2, 1)]
    last = [stop("A3", 3, 2, 3, 1), stop("C4", 2, 1, 3, 1)]
    blocks = write_lesson(
        studied(make_arrangement([*two, *three, *other, *last], tempo_quarters_per_minute=Fraction(240)))
    )
    assert [b.moment for b in blocks if isinstance(b, ShapePicture)] == [1, 2]


def test_a_shape_that_is_part_of_another_is_not_shown_by_itself() -> None:
    notes = [stop("C3", 5, 3, 0, 4), stop("E3", 4, 2, 0, 4), stop("C4", 2, 1, 2, 2)]
    blocks = write_lesson(studied(make_arrangement(notes)))
    assert [b.moment for b in blocks if isinstance(b, ShapePicture)] == [2]


def test_bars_of_which_the_same_is_told_share_one_line() -> None:
    line = "C5:4 B4:2 r:2 "
    piece = make_arrangement(
        (*make_line("melody", line * 3), *make_line("bass", "C3:2 G2:2 G2:4 " * 3)),
        harmony=make_harmony("C:2 G:2 G:4 " * 3),
    )
    told = under("Voices", write_lesson(replace(studied(piece), leading=find_voice_leading(piece))))
    sentence = (
        "Bars 3 and 5. Suspension 4–3 in the melody: C (string 1, finger 4) goes to B on beat 1 of the next bar; "
        "it is prepared on beat 1."
    )
    assert told == [Words(Style.ITEM, sentence)]


def test_where_nothing_asks_anything_no_bar_is_named() -> None:
    blocks = write_lesson(studied(make_arrangement(make_line("melody", "E4:4"))))
    assert headings(blocks) == ["What the piece asks for", "Practise in this order", "With care"]


def test_a_piece_without_a_title_says_so() -> None:
    blocks = write_lesson(studied(make_arrangement(make_line("melody", "E4:4"), title=" ")))
    assert blocks[0] == Words(Style.TITLE, "Without a title")


@pytest.mark.parametrize("title", ["# One\nTwo", "[bar 1]"])
def test_a_title_is_one_line_whatever_is_in_it(title: str) -> None:
    blocks = write_lesson(studied(make_arrangement(make_line("melody", "E4:4"), title=title)))
    assert blocks[0] == Words(Style.TITLE, " ".join(title.split()))
