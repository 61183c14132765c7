"""Key, capo and tuning: which of them are compared, and what each costs besides the notes."""

from dataclasses import replace

import pytest

from apoyando.arranging import Setup, arrange_song, list_setups
from apoyando.arranging.setups import setup_price
from apoyando.model.errors import UsageError
from apoyando.model.pitch import Key, Mode
from apoyando.model.plan import Plan
from apoyando.model.prices import Prices
from apoyando.reading import load_default_levels
from builders import make_bars, make_song

SONG = make_song("C5:4 E5:4", "C:4 C:4")
INTERMEDIATE = load_default_levels()["intermediate"]
G, C, B_FLAT = Key(1), Key(0), Key(-2)


def pages(plan: Plan) -> list[str]:
    return [str(setup) for setup in list_setups(SONG, plan)]


def test_a_plan_that_says_all_leaves_one_setup() -> None:
    assert list_setups(SONG, Plan(key="G", capo=2)) == (Setup(G, 2, "standard"),)


def test_without_a_key_there_are_the_twelve_under_the_capo_of_the_plan() -> None:
    setups = list_setups(SONG, Plan(capo=2))
    assert len({setup.key.tonic.pitch_class for setup in setups}) == len(setups) == 12
    assert {setup.capo for setup in setups} == {2}


def test_without_a_tuning_each_key_comes_in_both() -> None:
    assert pages(Plan(key="D", tuning="")) == ["D", "D, drop-d"]


def test_the_shapes_that_reach_a_sounding_key_lie_as_many_semitones_lower_as_the_capo_says() -> None:
    """Every capo chart: B flat is A with the capo at fret 1, G at fret 3."""
    assert pages(Plan(sounding="Bb")) == [
        "Bb",
        "A, capo 1",
        "Ab, capo 2",
        "G, capo 3",
        "F#, capo 4",
        "F, capo 5",
    ]
    assert {setup.sounding_key for setup in list_setups(SONG, Plan(sounding="Bb"))} == {B_FLAT}


def test_a_capo_or_a_key_beside_the_sounding_key_leaves_one_shape() -> None:
    assert pages(Plan(sounding="Bb", capo=3)) == ["G, capo 3"]
    assert pages(Plan(sounding="Bb", key="G")) == ["G, capo 3"]
    assert pages(Plan(sounding="Bb", key="G", capo=3)) == ["G, capo 3"]
    assert pages(Plan(sounding="Bb", key="Bb")) == ["Bb"]


def test_a_capo_that_the_player_names_by_the_key_may_lie_up_to_fret_nine() -> None:
    assert pages(Plan(sounding="A", key="C")) == ["C, capo 9"]
    with pytest.raises(UsageError, match=r'^sounding = "Bb" is out of reach of a capo with key = "C"\.'):
        list_setups(SONG, Plan(sounding="Bb", key="C"))


def test_key_capo_and_sounding_key_that_do_not_agree_are_refused() -> None:
    with pytest.raises(
        UsageError,
        match=r'^sounding = "Bb" needs the capo at fret 3 with key = "G", and the plan has it at fret 2\.',
    ):
        arrange_song(SONG, Plan(sounding="Bb", key="G", capo=2), INTERMEDIATE)


def test_the_mode_stays_whatever_the_capo() -> None:
    minor = replace(SONG, bars=make_bars(2, mode=Mode.MINOR))
    assert [str(setup.key) for setup in list_setups(minor, Plan(sounding="B", capo=2))] == ["A minor"]


def test_the_sounding_key_is_heard_with_the_capo() -> None:
    arrangement = arrange_song(SONG, Plan(sounding="Eb"), INTERMEDIATE)
    assert (arrangement.key.tonic.pitch_class + arrangement.capo) % 12 == 3


# What a setup costs besides the notes.


def test_the_plain_setup_costs_nothing() -> None:
    assert setup_price(SONG, Setup(C, 0, "standard"), Prices()) == 0


def test_a_retuned_string_costs_once_and_for_each_bar() -> None:
    prices = Prices()
    retuned = setup_price(SONG, Setup(C, 0, "drop-d"), prices)
    assert retuned == prices.string_retuned + 2 * prices.retuned_string_per_bar


def test_a_capo_costs_once_and_for_each_fret() -> None:
    prices = Prices()
    assert setup_price(SONG, Setup(C, 3, "standard"), prices) == prices.capo_set + 3 * prices.capo_per_fret


def test_a_retuning_that_is_minded_much_is_not_chosen() -> None:
    """Under a tune over D the low D is worth a retuning, unless the player minds."""
    song = make_song("F#5:4 D5:4 " * 4, "D:4 " * 8, count=8)
    assert arrange_song(song, Plan(key="C", tuning=""), INTERMEDIATE).tuning.name == "drop-d"
    minded = Plan(key="C", tuning="", prices={"string_retuned": 100.0})
    assert arrange_song(song, minded, INTERMEDIATE).tuning.name == "standard"
