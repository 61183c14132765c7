"""The form played out. Common practice, no source, unless a line says otherwise."""

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apoyando.model.form import MOST_PASSES, play_order, playing_minutes
from apoyando.model.song import Bar
from builders import make_bars, make_form
from strategies import marked


def played(text: str) -> str:
    """The order in letters, the first bar A."""
    return "".join("ABCDEFGHIJKLMNOP"[index] for index in play_order(make_form(text)))


@pytest.mark.parametrize(
    ("text", "order"),
    [
        ("A | B | C", "ABC"),
        (": A | B :", "ABAB"),
        ("A | : B | C : | D", "ABCBCD"),
        ("A | B : | C", "ABABC"),  # no start: back to the beginning
        (": A : | B : | C", "AABBC"),  # no start: back to the end of the repeat before
        (": A | B x3 :", "ABABAB"),
        (": A : | : B :", "AABB"),
    ],
)
def test_repeats(text: str, order: str) -> None:
    assert played(text) == order


@pytest.mark.parametrize(
    ("text", "order"),
    [
        (": A | B [1 : | C [2", "ABAC"),
        (": A | B [1 : | C [2 : | D", "ABACD"),  # a repeat sign after the last ending is not a third pass
        (": A | B [1 | C [1 : | D [2 | E [2 | F", "ABCADEF"),
        (": A | B [1,2 x3 : | C [3 | D", "ABABACD"),
        (": A | B [1,2 : | C [3 | D", "ABABACD"),  # the third ending asks for a third pass
        (": A | B [1 : | C [2 : | D [3", "ABACAD"),
        (": A | B [1 : | C [2 | : D | E [1 : | F [2", "ABACDEDF"),
        (
            "A | B [1 : | C [2 | D | E : | F",
            "ABACDEDEF",
        ),  # the next repeat goes back to the last ending's end
    ],
)
def test_endings(text: str, order: str) -> None:
    assert played(text) == order


@pytest.mark.parametrize(
    ("text", "order"),
    [
        ("A | B Fine | C | D DC", "ABCDAB"),
        ("A | B S | C Fine | D DS", "ABCDBC"),
        ("A | B To | C DC | D O | E", "ABCABDE"),
        ("A | B S | C To | D DS | E O", "ABCDBCE"),
        ("A | B To DC | C O", "ABABC"),
        ("A | B DC", "ABAB"),
        ("S A Fine | B DS", "ABA"),
        ("A | B DS", "ABAB"),  # a D.S. without its sign goes to the beginning
    ],
)
def test_jumps(text: str, order: str) -> None:
    assert played(text) == order


@pytest.mark.parametrize(
    ("text", "order"),
    [
        (": A : | B Fine | C DC", "AABCAB"),
        (": A | B [1 : | C [2 Fine | D DC", "ABACDAC"),
        (": A | B : DC | C", "ABABC"),
        (": A | B DC :", "ABABAB"),  # the repeat first, then the D.C.
        ("A To | B DC | O : C : | D", "ABACCD"),
    ],
)
def test_after_turning_back_repeats_are_not_taken_but_in_the_coda_they_are(text: str, order: str) -> None:
    assert played(text) == order


@pytest.mark.parametrize(
    ("text", "order"),
    [
        (": A always : | B Fine | C DC", "AABCAAB"),
        (": A always : | : B : | C DC", "AABBCAABC"),
        ("A | : B always x3 : | C DC | D", "ABBBCABBBCD"),
        (": A | B always DC :", "ABABABAB"),
        (": A | B [1 always : | C [2 Fine | D DC", "ABACDAC"),
    ],
)
def test_a_repeat_that_is_no_ending_may_be_taken_after_turning_back_too(text: str, order: str) -> None:
    """MusicXML 4.0, ``repeat``: ``after-jump`` is only used with repeats that are not part of an ending."""
    assert played(text) == order


def test_a_first_ending_may_turn_back_by_da_capo() -> None:
    assert played("A | B [1 DC | C [2") == "ABAC"


def test_fine_and_to_coda_mean_nothing_before_turning_back() -> None:
    assert played("A Fine | B To | C | D O") == "ABCD"


@pytest.mark.parametrize("text", ["A | B [2 | C", "A [3 | B", ": A | B [1 | C [2"])
def test_marks_that_would_leave_a_bar_out_are_ignored(text: str) -> None:
    bars = make_form(text)
    assert play_order(bars) == tuple(range(len(bars)))


def test_an_absurd_number_of_repeats_is_cut() -> None:
    assert len(play_order(make_form(": A x100000 :"))) == MOST_PASSES


marked_bars = st.integers(1, 8).map(make_bars).flatmap(marked)


@settings(deadline=None)
@given(marked_bars)
def test_whatever_the_marks_it_ends_and_no_bar_is_left_out(bars: tuple[Bar, ...]) -> None:
    order = play_order(bars)
    assert set(order) == set(range(len(bars)))


def test_the_playing_time_counts_every_pass() -> None:
    bars = make_form(": A | B [1 : | C [2")
    assert playing_minutes(bars, Fraction(96)) == Fraction(4 * 4, 96)
    assert playing_minutes(make_bars(2, "3/4", pickup=1), Fraction(60)) == Fraction(7, 60)


@settings(deadline=None)
@given(marked_bars)
def test_bars_without_jumps_and_endings_are_played_as_often_as_their_repeat_says(
    bars: tuple[Bar, ...],
) -> None:
    """Written afresh: cut at the repeats, play each piece that often."""
    plain = tuple(replace(bar, endings=(), jumps=()) for bar in bars)
    assert list(play_order(plain)) == [index for piece in pieces(plain) for index in piece]


def pieces(bars: tuple[Bar, ...]) -> Iterable[list[int]]:
    piece: list[int] = []
    for index, bar in enumerate(bars):
        if bar.starts_repeat:
            yield piece
            piece = []
        piece.append(index)
        if bar.repeat_times:
            yield piece * bar.repeat_times
            piece = []
    yield piece
