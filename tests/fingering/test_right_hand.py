"""The right hand: p below, i m a above, no finger twice running in quick notes.

Strings are written from the lowest-pitched up, a stroke a word: ``"51 3 2"`` is strings 5
and 1 together, then 3, then 2. ``b`` and ``m`` before a string make it a bass or the melody;
otherwise it is an inner note. Patterns are common practice; the studies of Giuliani, Op. 1
(120 studies for the right hand) are quoted from memory.
"""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apoyando.fingering import Stroke, choose_plucks
from apoyando.model.arrangement import Role
from apoyando.model.hand import Pluck
from apoyando.model.instrument import StringNumber
from apoyando.model.prices import Prices
from references.plain_right_hand import find_patterns, plain_best, plain_price

QUICK, MODERATE, SLOW = 0.2, 0.45, 1.0
ROLES = {"b": Role.BASS, "m": Role.MELODY, "": Role.INNER}
PRICES = Prices()


def stroke(word: str, seconds: float = QUICK, *, opens_group: bool = False) -> Stroke:
    strings: list[StringNumber] = []
    roles: list[Role] = []
    mark = ""
    for letter in word:
        if letter in ROLES:
            mark = letter
        else:
            strings.append(StringNumber(int(letter)))
            roles.append(ROLES[mark])
            mark = ""
    return Stroke(tuple(strings), tuple(roles), seconds, opens_group)


def strokes(text: str, seconds: float = QUICK) -> list[Stroke]:
    """Groups begin after ``|``."""
    bars = [bar.split() for bar in text.split("|")]
    return [stroke(word, seconds, opens_group=index == 0) for bar in bars for index, word in enumerate(bar)]


def plucked(text: str, seconds: float = QUICK, prices: Prices = PRICES) -> str:
    """The fingers of each stroke, a word each."""
    return written(choose_plucks(strokes(text, seconds), prices))


def written(hands: Sequence[Sequence[Pluck]]) -> str:
    return " ".join("".join(hand) for hand in hands)


def best_price(given_strokes: Sequence[Stroke], prices: Prices = PRICES) -> int:
    """What the choice costs by the formula as it is written in the docs."""
    way = choose_plucks(given_strokes, prices)
    return plain_price(given_strokes, way, prices, find_patterns(given_strokes, prices))


# Patterns that every player knows.


@pytest.mark.parametrize(
    ("strings", "known"),
    [
        ("b5 3 2 1", "p i m a"),
        ("b5 3 2 1 2 3", "p i m a m i"),
        ("b5 3 2 3", "p i m i"),
        ("b4 3 2 3", "p i m i"),
        ("b6 3 4 3", "p i p i"),
        ("b5 21 3 21", "p ma i ma"),
    ],
)
def test_an_arpeggio_has_its_usual_fingers_however_often_it_comes(strings: str, known: str) -> None:
    """Common practice, no source."""
    assert plucked(" | ".join([strings] * 4)) == " ".join([known] * 4)


def test_chords_alternate_with_the_thumb() -> None:
    """Giuliani, Op. 1, no. 1 (from memory): the thumb, then i m a together, over and over."""
    assert plucked("b5 321 b4 321 | b5 321 b4 321") == "p ima p ima p ima p ima"


def test_a_full_chord_is_p_i_m_a_from_the_bass_up() -> None:
    assert plucked("b5321") == "pima"
    assert plucked("b4321") == "pima"
    assert plucked("b6432") == "pima"


def test_a_chord_of_three_keeps_the_thumb_for_the_bass() -> None:
    assert plucked("b521") == "pma"
    assert plucked("b532") == "pim"
    assert plucked("321") == "ima"


def test_of_more_than_four_strings_the_thumb_strums_the_lowest() -> None:
    assert plucked("b5432m1") == "ppima"
    assert plucked("b65432m1") == "pppima"
    assert plucked("b65432m1 b65432m1 b6m1") == "pppima pppima pa"


def test_block_chords_may_repeat_all_their_fingers() -> None:
    """The hand moves as one; nobody changes the fingers of a repeated chord."""
    assert plucked("b5321 321 321 321") == "pima ima ima ima"


# The thumb.


@pytest.mark.parametrize("string", [6, 5, 4])
def test_the_thumb_takes_the_bass_alone_or_under_a_melody(string: int) -> None:
    assert plucked(f"b{string}") == "p"
    assert plucked(f"b{string}m1") == "pa"
    assert plucked(f"b{string}m2") == "pm"


def test_the_thumb_takes_a_bass_on_string_3_too_but_no_inner_note_there() -> None:
    assert plucked("b3m1") == "pa"
    assert plucked("3m1") == "ia"


def test_the_thumb_takes_an_inner_note_on_string_3_where_the_fingers_have_no_time() -> None:
    assert plucked("b5 321 3 321") == "p ima p ima"
    assert plucked("b5 321 3 321", SLOW) == "p ima i ima"


def test_after_a_quick_bass_an_inner_note_on_string_4_is_for_a_finger() -> None:
    assert plucked("b5m1 4 2 4 | b5m1 4 2 4") == "pa i m i pa i m i"
    assert plucked("b5m1 4 2 4 | b5m1 4 2 4", SLOW) == "pa p m p pa p m p"


def test_the_thumb_walks_a_bass_line_by_itself() -> None:
    assert plucked("b6 b6 b5 b5 b4") == "p p p p p"


def test_the_tune_is_for_the_fingers_even_on_string_4() -> None:
    assert Pluck.P not in {hand[0] for hand in choose_plucks(strokes("m4 m4 m3 m3 m4"), PRICES)}


# i, m and a.


@pytest.mark.parametrize("string", [1, 2, 3])
def test_quick_melody_notes_on_one_string_alternate_i_and_m(string: int) -> None:
    fingers = plucked(" ".join([f"m{string}"] * 8)).split()
    assert set(fingers) == {"i", "m"}
    assert all(one != other for one, other in pairwise(fingers))


@pytest.mark.parametrize(
    ("strings", "known"),
    [("m1 m1 m2 m2 m3 m3", "i m i m i m"), ("m3 m3 m2 m2 m1 m1", "m i m i m i")],
)
def test_a_scale_starts_so_that_no_finger_crosses_under_another(strings: str, known: str) -> None:
    """i on a higher-pitched string than m is the awkward way (common practice, no source)."""
    assert plucked(strings) == known


def test_the_tune_on_string_1_has_a_while_the_accompaniment_moves_under_it() -> None:
    assert plucked("b5m1 3 2 3 | b5m1 3 2 3") == "pa i m i pa i m i"


def test_a_m_a_is_avoided_in_quick_notes_only() -> None:
    """Skarha 2018: no a-m-a."""
    assert "a m a" not in plucked("m1 2 m1 2 m1")
    assert plucked("m1 2 m1 2 m1", SLOW) == "a m a m a"


def test_the_same_finger_may_repeat_where_there_is_time() -> None:
    assert plucked("m1 m1 m1", SLOW) == "a a a"


def test_the_boundary_of_quick_is_as_stated() -> None:
    """In full up to 0.35 s, nothing from 0.6 s on, in proportion between."""
    only_repeats = Prices().turned({"finger_from_home_per_string": 100, "ring_in_run": 0})
    repeated = [best_price([stroke("m1"), stroke("m1", seconds)], only_repeats) for seconds in (0.35, 0.599)]
    assert repeated == [150, 1]  # a twice; every other finger would cost more
    assert best_price([stroke("m1"), stroke("m1", 0.6)], only_repeats) == 0


@given(st.lists(st.integers(1, 6), min_size=2, max_size=12), st.sampled_from(list(Role)))
def test_no_finger_but_the_thumb_plucks_twice_running_in_quick_notes(strings: list[int], role: Role) -> None:
    """Skarha 2018: no finger twice running; the thumb may repeat on the low strings."""
    given_strokes = [Stroke((StringNumber(string),), (role,), QUICK) for string in strings]
    for (one,), (other,) in pairwise(choose_plucks(given_strokes, PRICES)):
        assert one is not other or one is Pluck.P


# Patterns.


def test_a_bar_that_comes_again_is_plucked_alike_among_other_bars() -> None:
    again, others = "b5m1 4 3 2", ("m1 m1 m2 m2", "b6 4 m2 m1", "m2 m2 m1 m1")
    text = " | ".join(bar for other in others for bar in (again, other))
    fingers = choose_plucks(strokes(text), PRICES)
    assert fingers[0:4] == fingers[8:12] == fingers[16:20]


def test_a_bar_leaves_its_pattern_rather_than_repeat_a_finger() -> None:
    """The second time the bar before ends with m on string 1, and only this stroke gives way."""
    fingers = plucked("b5 2 3 | b5 2 3 | b5 m2 | b4 m2 | m2 2 3").split()
    assert fingers[:6] == ["p", "m", "i"] * 2


def test_what_a_bar_costs_to_leave_its_pattern_is_the_stated_price() -> None:
    text = "b5 3 2 | m1 m2 m1 3 | b5 3 2"
    given_strokes = strokes(text)
    patterns = find_patterns(given_strokes, PRICES)
    kept = choose_plucks(given_strokes, PRICES)
    left = (*kept[:-1], (Pluck.A,))
    difference = plain_price(given_strokes, left, PRICES, patterns) - plain_price(
        given_strokes, left, PRICES, {}
    )
    assert kept[-1] == patterns[len(kept) - 1]
    assert difference == PRICES.pattern_left


def test_a_pattern_is_for_the_least_time_that_it_ever_has_before_it() -> None:
    """Three notes on one string, once right after another such bar: so no finger plucks on both sides of a barline."""
    before = 1.0, QUICK, 1.0
    bars = [[replace(strokes("m1")[0], seconds_since_last=each), *strokes("m1 m1")] for each in before]
    fingers = choose_plucks(
        [replace(each, opens_group=each is bar[0]) for bar in bars for each in bar], PRICES
    )
    assert fingers[:3] == fingers[3:6] == fingers[6:]
    assert len(set(fingers)) == 3


def test_a_player_who_minds_no_repeats_gets_them() -> None:
    """Every price can be turned in the plan."""
    assert plucked("m1 m1 m1", prices=Prices().turned({"finger_repeated": 0})) == "a a a"


# Against the list of all ways.


def test_nothing_is_plucked_where_nothing_sounds() -> None:
    assert choose_plucks([], PRICES) == ()


def test_of_three_quick_strokes_on_any_strings_the_choice_is_the_first_of_the_cheapest() -> None:
    for words in product("123456", repeat=3):
        given_strokes = strokes(" ".join(words))
        assert choose_plucks(given_strokes, PRICES) == plain_best(given_strokes, PRICES)[1], words


def any_stroke(most_strings: int) -> st.SearchStrategy[Stroke]:
    sets = st.sets(st.integers(1, 6), min_size=1, max_size=most_strings)
    return sets.flatmap(
        lambda strings: st.builds(
            Stroke,
            st.just(tuple(StringNumber(s) for s in sorted(strings, reverse=True))),
            st.tuples(*[st.sampled_from(list(Role))] * len(strings)),
            st.sampled_from((QUICK, MODERATE, SLOW)),
        )
    )


groups = st.lists(any_stroke(2), min_size=1, max_size=2)


@st.composite
def bars(draw: st.DrawFn) -> list[Stroke]:
    """Five strokes at most, in groups of one or two of which some come again."""
    first, second = draw(groups), draw(groups)
    order = draw(st.sampled_from((("A", "A"), ("A", "B"), ("A", "B", "A"), ("B", "A", "A"))))
    laid = [
        replace(each, opens_group=index == 0)
        for name in order
        for index, each in enumerate(first if name == "A" else second)
    ]
    return laid[:5]


@settings(max_examples=60, deadline=None)
@given(bars())
def test_the_choice_is_the_first_of_the_cheapest_of_all_ways(given_strokes: list[Stroke]) -> None:
    price, way = plain_best(given_strokes, PRICES)
    assert best_price(given_strokes) == price
    assert choose_plucks(given_strokes, PRICES) == way


many_strokes = st.lists(any_stroke(6), max_size=12)


@given(many_strokes)
def test_within_a_stroke_the_fingers_lie_in_the_order_p_i_m_a(given_strokes: list[Stroke]) -> None:
    order = list(Pluck)
    for each, hand in zip(given_strokes, choose_plucks(given_strokes, PRICES), strict=True):
        places = [order.index(finger) for finger in hand]
        assert len(hand) == len(each.strings)
        assert places == sorted(places)
        assert all(hand.count(finger) <= 1 for finger in order[1:])
        assert hand.count(Pluck.P) <= max(len(hand) - 3, 1)


@given(st.lists(any_stroke(4), min_size=1, max_size=8), st.data())
def test_more_time_never_costs_more(given_strokes: list[Stroke], data: st.DataObject) -> None:
    """One group throughout, so that no pattern binds."""
    index = data.draw(st.integers(0, len(given_strokes) - 1))
    slower = list(given_strokes)
    seconds = slower[index].seconds_since_last + data.draw(st.floats(0, 1))
    slower[index] = replace(slower[index], seconds_since_last=seconds)
    assert best_price(slower) <= best_price(given_strokes)
