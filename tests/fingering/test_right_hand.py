"""The right hand: p below, i m a above, no finger twice running in quick notes."""

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from apoyando.fingering import Stroke, choose_plucks
from apoyando.model.hand import Pluck
from apoyando.model.instrument import StringNumber

QUICK, SLOW = 0.2, 1.0


def strokes(*strings: tuple[int, ...], seconds: float = QUICK) -> list[Stroke]:
    return [Stroke(tuple(StringNumber(s) for s in each), seconds) for each in strings]


def test_an_arpeggio_up_the_strings_is_p_i_m_a() -> None:
    """The oldest of all patterns (common practice, no source)."""
    plucks = choose_plucks(strokes((5,), (3,), (2,), (1,)))
    assert [hand[0] for hand in plucks] == [Pluck.P, Pluck.I, Pluck.M, Pluck.A]


def test_the_thumb_takes_the_bass_under_a_melody_note() -> None:
    (hand,) = choose_plucks(strokes((6, 1)))
    assert hand[0] is Pluck.P
    assert hand[1] in {Pluck.M, Pluck.A}


def test_quick_notes_on_one_string_alternate() -> None:
    plucks = choose_plucks(strokes(*[(1,)] * 8))
    assert all(one != other for one, other in pairwise(plucks))


def test_nothing_is_plucked_where_nothing_sounds() -> None:
    assert choose_plucks([]) == ()


many_strokes = st.lists(
    st.builds(
        Stroke,
        st.sets(st.integers(1, 6), min_size=1, max_size=4).map(
            lambda strings: tuple(StringNumber(s) for s in sorted(strings, reverse=True))
        ),
        st.sampled_from((QUICK, SLOW)),
    ),
    max_size=12,
)


@given(many_strokes)
def test_each_string_has_its_own_finger_in_the_order_of_the_hand(given_strokes: list[Stroke]) -> None:
    order = list(Pluck)
    for stroke, hand in zip(given_strokes, choose_plucks(given_strokes), strict=True):
        assert len(hand) == len(stroke.strings)
        assert [order.index(finger) for finger in hand] == sorted({order.index(f) for f in hand})


@given(st.lists(st.integers(1, 6), min_size=2, max_size=12))
def test_no_finger_but_the_thumb_plucks_twice_running_in_quick_notes(strings: list[int]) -> None:
    """Skarha 2018: no finger twice running; the thumb may repeat on the low strings."""
    plucks = choose_plucks(strokes(*((string,) for string in strings)))
    for (one,), (other,) in pairwise(plucks):
        assert one is not other or one is Pluck.P
