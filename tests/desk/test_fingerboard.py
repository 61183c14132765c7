"""The drawn fingerboard: every place of a note once, with what it would cost in words."""

from fractions import Fraction

import pytest

from apoyando.arranging import Alternative
from apoyando.desk.fingerboard import LEFT, RADIUS, draw_board, list_ways, read_way
from apoyando.desk.touch_words import name_pitch, name_price, name_way, rank_price
from apoyando.model.arrangement import Role
from apoyando.model.hand import Finger
from apoyando.model.instrument import Fret, Place, StringNumber
from apoyando.model.locks import NoteLock
from apoyando.model.pitch import Pitch
from builders import make_note

B3 = Pitch.of("B", 0, 3)
NOW = make_note("inner", 0, 1, "B3", string=2)


def way(string: int, fret: int, finger: int, price: int) -> Alternative:
    lock = NoteLock(
        bar="1",
        beat=Fraction(1),
        voice=Role.INNER,
        string=StringNumber(string),
        fret=Fret(fret),
        finger=Finger(finger),
    )
    return Alternative(lock, price, B3)


LEFT_OUT = Alternative(NoteLock(bar="1", beat=Fraction(1), voice=Role.INNER, is_silent=True), 90)
WAYS = (way(2, 0, 0, 0), way(3, 4, 3, 20), way(3, 4, 1, 60), LEFT_OUT, way(4, 9, 4, 900))


@pytest.mark.parametrize(
    ("price", "words", "rank"),
    [
        (-30, "easier by 30", "free"),
        (0, "costs nothing more", "free"),
        (1, "hardly dearer, +1", "free"),
        (25, "hardly dearer, +25", "free"),
        (26, "a little dearer, +26", "near"),
        (100, "a little dearer, +100", "near"),
        (101, "dearer, +101", "far"),
        (400, "dearer, +400", "far"),
        (401, "much dearer, +401", "remote"),
    ],
)
def test_a_price_is_told_in_words_with_the_figure(price: int, words: str, rank: str) -> None:
    """100 is one clear discomfort for the hand (docs/objective.md)."""
    assert name_price(price) == words
    assert rank_price(price) == rank


def test_places_and_pitches_are_called_as_players_call_them() -> None:
    assert name_way(Place(StringNumber(2), Fret(0)), Finger.OPEN) == "string 2, open"
    assert name_way(Place(StringNumber(3), Fret(4)), Finger.RING) == "string 3, fret 4, finger 3"
    assert name_pitch(Pitch.of("F", 1, 4)) == "F♯4"
    assert name_pitch(Pitch.of("B", -1, 2)) == "B♭2"


def test_the_way_it_is_played_is_told_as_now_and_the_others_by_their_price() -> None:
    told = {each.words: each.price for each in list_ways(WAYS, NOW)}

    assert told["string 2, open"] == "as now"
    assert told["string 3, fret 4, finger 3"] == "hardly dearer, +20"
    assert told["left out"] == "a little dearer, +90"


def test_where_nothing_is_struck_leaving_it_out_is_as_now() -> None:
    assert [each.words for each in list_ways(WAYS, None) if each.is_now] == ["left out"]


def test_a_way_can_be_sent_back() -> None:
    sent = [read_way(each.value) for each in list_ways(WAYS, NOW)]

    assert sent[1] == {"string": 3, "fret": 4, "finger": 3}
    assert sent[3] == {"silent": True}
    assert read_way("3-x") == {"string": 3, "fret": "x"}


def test_every_place_is_drawn_once_with_its_cheapest_finger() -> None:
    spots = {spot.spot: spot for spot in draw_board(list_ways(WAYS, NOW)).spots}

    assert set(spots) == {"2-0", "3-4", "4-9"}
    assert spots["3-4"].digit == "3"
    assert spots["3-4"].label == (
        "string 3 fret 4, B3: finger 3 hardly dearer, +20; finger 1 a little dearer, +60"
    )
    assert spots["2-0"].is_now
    assert spots["2-0"].x < LEFT < spots["3-4"].x, "open strings before the nut"
    assert spots["2-0"].y < spots["3-4"].y, "string 1 on top"


def test_the_finger_that_plays_it_now_is_shown_even_where_another_is_cheaper() -> None:
    board = draw_board(list_ways(WAYS, make_note("inner", 0, 1, "B3", string=3, finger=1)))
    assert next(spot for spot in board.spots if spot.spot == "3-4").digit == "1"


def test_places_are_far_enough_apart_for_a_finger_tip_on_glass() -> None:
    """WCAG 2.2, success criterion 2.5.8: 24 CSS pixels."""
    spots = draw_board(
        list_ways([way(s, f, 1 if f else 0, 0) for s in range(1, 7) for f in range(8)], NOW)
    ).spots
    gaps = [abs(a.x - b.x) + abs(a.y - b.y) for a in spots for b in spots if a is not b]
    assert min(gaps) >= 2 * RADIUS >= 24


def test_the_neck_is_as_long_as_the_places_ask_for() -> None:
    assert len(draw_board(list_ways(WAYS, NOW)).wires) == 10
    assert len(draw_board(list_ways(WAYS[:1], NOW)).wires) == 8
