"""What the hand does where the music turns."""

from collections.abc import Sequence

from apoyando.model.arrangement import Arrangement
from apoyando.model.song import Bar
from apoyando.teaching import find_turn_shifts
from builders import make_arrangement, make_form, make_note


def in_positions(bars: tuple[Bar, ...], positions: Sequence[int]) -> Arrangement:
    """In each bar finger 1 on string 3 at the fret of its position, for two beats: a quarter lasts 5/8 seconds."""
    names = {1: "G#3", 2: "A3", 5: "C4", 7: "D4"}
    return make_arrangement(
        [
            make_note("melody", 4 * index, 2, names[position], string=3, finger=1)
            for index, position in enumerate(positions)
        ],
        bars,
    )


def test_the_shift_from_the_end_of_a_repeat_to_its_start_is_told() -> None:
    (turn,) = find_turn_shifts(in_positions(make_form(": A | B : | C"), (1, 5, 5)))
    assert (turn.bar, turn.next_bar, turn.frets) == ("2", "1", 4)
    assert turn.sentence == "From bar 2 to bar 1 the hand shifts from position V to I within 2.5 seconds."


def test_so_is_the_one_to_a_later_ending_and_each_turn_once() -> None:
    bars = make_form(": A | B [1,2 x3 : | C [3")
    turns = [(turn.bar, turn.next_bar) for turn in find_turn_shifts(in_positions(bars, (1, 5, 7)))]
    assert turns == [("2", "1"), ("1", "3")]


def test_what_stands_on_the_page_in_its_order_is_no_turn() -> None:
    assert find_turn_shifts(in_positions(make_form("A | B | C"), (1, 7, 1))) == ()


def test_where_the_hand_can_stay_there_is_no_shift() -> None:
    assert find_turn_shifts(in_positions(make_form(": A | B :"), (1, 2))) == ()
