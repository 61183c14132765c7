"""How long a hand is free at a barline. All at 60 quarters a minute, so that a quarter is a second."""

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from apoyando.engraving.page.turns import (
    HASTE_PRICE,
    NEEDED_SECONDS,
    TURN_PRICE,
    free_seconds,
    price_turns,
    turn_gains,
)
from apoyando.model.arrangement import Arrangement
from builders import make_arrangement, make_form, make_line

BUSY = "F4:1 G#4:1 F4:1 G#4:1 "
"""Stopped and struck on every quarter."""


def piece(melody: str, bass: str = "", **more: Any) -> Arrangement:
    notes = (*make_line("melody", melody), *make_line("bass", bass))
    return make_arrangement(notes, tempo_quarters_per_minute=Fraction(60), **more)


def free(melody: str, bass: str = "", **more: Any) -> float:
    return free_seconds(piece(melody, bass, **more), 0, 1)


def test_between_busy_bars_a_hand_is_free_only_from_its_last_note_on() -> None:
    assert free(BUSY * 2) == 1.0


def test_while_a_long_note_rings_the_right_hand_can_turn() -> None:
    assert free("F4:1 G#4:3 " + BUSY) == 3.0


def test_while_only_open_strings_sound_the_left_hand_can_turn() -> None:
    assert free("F4:1 E4:1 B3:1 E4:1 " + BUSY) == 3.0


def test_a_stopped_bass_under_open_strings_keeps_the_left_hand() -> None:
    assert free("F4:1 E4:1 B3:1 E4:1 " + BUSY, "F2:4") == 1.0


def test_over_a_rest_both_can() -> None:
    assert free("F4:1 G#4:1 r:2 " + BUSY) == 3.0


def test_a_rest_after_the_barline_counts_too() -> None:
    assert free("F4:1 G#4:1 r:2 r:1 F4:1 F4:2 ") == 4.0


def test_a_note_held_over_the_barline_leaves_the_left_hand_no_time() -> None:
    notes = "F4:1 F4:1 F4:1/2 F4:1/2 F4:1/2 F4:3/2 F4:3"
    assert free(notes) == 1.5, "the right hand: from the last stroke to the next"


def test_a_fermata_waits_for_the_page() -> None:
    plain = piece("F4:1 F4:1 F4:1 F4:1 " + BUSY)
    notes = [replace(note, has_fermata=note.offset == 4) for note in plain.notes]
    assert free_seconds(replace(plain, notes=tuple(notes)), 0, 1) == NEEDED_SECONDS


def test_a_turn_with_all_the_time_it_needs_is_cheaper_than_one_in_haste() -> None:
    easy, hasty = (price_turns(piece(melody))[0] for melody in ("F4:1 G#4:3 " + BUSY, "F4:1/4 " * 32))
    assert easy == TURN_PRICE
    assert hasty == pytest.approx(TURN_PRICE + HASTE_PRICE * (1 - 0.25 / NEEDED_SECONDS))


def test_twice_as_fast_there_is_half_the_time() -> None:
    slow = piece("F4:1 G#4:3 " + BUSY)
    fast = make_arrangement(slow.notes, tempo_quarters_per_minute=Fraction(120))
    assert free_seconds(fast, 0, 1) == free_seconds(slow, 0, 1) / 2


def test_the_last_barline_is_never_turned_at() -> None:
    assert price_turns(piece(BUSY * 3))[-1] == 0.0


def test_inside_a_repeat_the_page_is_turned_three_times_and_after_it_once() -> None:
    bars = make_form(": A | B : | C")
    prices = price_turns(piece("F4:1 G#4:3 " * 3, bars=bars))
    assert prices == (3 * TURN_PRICE, TURN_PRICE, 0.0), "forward, back at the repeat, forward again"


def test_da_capo_turns_all_pages_back() -> None:
    bars = make_form("A Fine | B | C DC")
    prices = price_turns(piece("F4:1 G#4:3 " * 3, bars=bars))
    assert prices == (2 * TURN_PRICE, 2 * TURN_PRICE, 0.0)


def test_it_is_worth_something_to_begin_a_line_after_an_easy_turn_and_nothing_after_a_hasty_one() -> None:
    gains = turn_gains((TURN_PRICE, TURN_PRICE + HASTE_PRICE, 3 * TURN_PRICE, 0.0))
    assert gains[0] == 0.0
    assert gains[1] > gains[3] == 0.0
    assert gains[2] == 0.0
