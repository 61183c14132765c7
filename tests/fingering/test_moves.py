"""Each move of the left hand at its stated price, one price at a time: the table ``move`` of ``docs/objective.md``.

Every note here has one string and one finger, so that there is one way to play it; all prices are 0
but those that a test names. Frets lie where equal temperament puts them.
"""

from dataclasses import replace

import pytest

from apoyando.fingering import Candidate, NoWayError, Problem, Restriction, Slice, VoiceSlice, find_best_way
from apoyando.model.hand import Finger
from apoyando.model.instrument import STANDARD_TUNING, StringNumber
from apoyando.model.pitch import MidiNote
from apoyando.model.prices import PRICE_NAMES, Prices
from apoyando.reading import load_default_levels

LEVELS = load_default_levels()
NOTHING = replace(Prices(), **dict.fromkeys(PRICE_NAMES, 0))
EACH = 1000
Voice = tuple[int, int, int]
"""String, fret, finger."""


def struck(string: int, fret: int, finger: int) -> VoiceSlice:
    midi = STANDARD_TUNING.open_note(StringNumber(string)) + fret
    candidate = Candidate(MidiNote(midi), highest_fret=19, strings=(string,), fingers=(finger,))
    return VoiceSlice(candidates=(candidate,), is_struck=True)


def held(voice: VoiceSlice, release_price: int | None = None) -> VoiceSlice:
    return replace(voice, is_struck=False, release_price=release_price)


def singing(voice: VoiceSlice) -> VoiceSlice:
    return replace(voice, sings=True)


def moment(*voices: VoiceSlice, seconds: float = 0.35, quarters: float = 1.0) -> Slice:
    return Slice(quarters=quarters, seconds=seconds, voices=voices)


def paid(*slices: Slice, level: str = "intermediate", **prices: int) -> int:
    """What is paid where all but these prices is free."""
    return find_best_way(
        Problem(slices), tuning=STANDARD_TUNING, level=LEVELS[level], prices=replace(NOTHING, **prices)
    ).price


def in_turn(*voices: VoiceSlice, seconds: float = 0.35, level: str = "intermediate", **prices: int) -> int:
    """One note after the other."""
    return paid(*(moment(voice, seconds=seconds) for voice in voices), level=level, **prices)


# The hand changes position.


@pytest.mark.parametrize(
    ("seconds", "share"),
    [(0.01, 1.8), (0.175, 1.8), (0.2, 1.75), (0.35, 1.0), (0.7, 0.5), (1.4, 0.25), (5.0, 0.25)],
)
def test_a_shift_costs_more_in_a_hurry_and_less_at_leisure_between_two_bounds(
    seconds: float, share: float
) -> None:
    assert in_turn(struck(1, 1, 1), struck(1, 6, 1), seconds=seconds, shift=EACH) == round(share * EACH)


def test_a_shift_costs_by_its_way_along_the_neck() -> None:
    """Frets lie at 650 (1 - 2^(-n/12)) mm."""
    millimetres = 650 * (2 ** (-1 / 12) - 2 ** (-6 / 12))
    assert in_turn(struck(1, 1, 1), struck(1, 6, 1), shift_per_100_mm=EACH) == round(millimetres / 100 * EACH)


@pytest.mark.parametrize(
    ("voice", "is_shift"),
    [((1, 2, 1), True), ((1, 3, 3), False), ((2, 5, 4), True), ((6, 4, 4), False), ((6, 3, 4), False)],
)
def test_the_position_is_the_fret_of_finger_1_or_where_it_would_lie(voice: Voice, *, is_shift: bool) -> None:
    """From finger 1 at fret 1. Nothing lies behind the first position."""
    assert in_turn(struck(3, 1, 1), struck(*voice), shift=EACH) == (EACH if is_shift else 0)


def test_of_several_fingers_the_lowest_numbered_has_the_position() -> None:
    slices = [moment(struck(3, 5, 2), struck(1, 8, 4)), moment(struck(3, 3, 2), struck(1, 5, 4))]
    way = find_best_way(
        Problem(tuple(slices)), tuning=STANDARD_TUNING, level=LEVELS["advanced"], prices=NOTHING
    )
    assert [int(each.position) for each in way.slices] == [4, 2]


def test_over_an_open_string_a_shift_costs_half_for_the_hand_may_wait_anywhere() -> None:
    assert in_turn(struck(1, 6, 1), struck(1, 0, 0), struck(1, 11, 1), shift=EACH) == EACH // 2


@pytest.mark.parametrize(("fret", "is_over"), [(6, False), (7, True)])
def test_a_shift_farther_than_the_level_s_costs_besides(fret: int, *, is_over: bool) -> None:
    """Five frets at intermediate (docs/levels.md), the hand never free between."""
    assert in_turn(struck(1, 1, 1), struck(1, fret, 1), shift_over_level=EACH) == (EACH if is_over else 0)


def test_over_an_open_string_no_shift_is_too_far() -> None:
    way = struck(1, 1, 1), struck(1, 0, 0), struck(1, 13, 1)
    assert in_turn(*way, shift_over_level=EACH) == 0


# A finger is needed elsewhere.

JUMP = struck(5, 2, 2), struck(4, 2, 2)
"""Finger 2 to the next string at the same fret."""


@pytest.mark.parametrize(("seconds", "share"), [(0.3, 0.35 / 0.3), (0.175, 1.8), (0.1, 1.8)])
def test_a_finger_that_leaps_from_string_to_string_costs_by_its_share(seconds: float, share: float) -> None:
    assert in_turn(*JUMP, seconds=seconds, finger_jump=EACH) == round(share * EACH)


def test_it_costs_by_its_way_across_the_strings_too() -> None:
    """Strings 43 mm apart, the outer ones, at the nut and 58 at the bridge; a finger lies a quarter behind its fret."""
    first, second = (650 * (1 - 2 ** (-fret / 12)) for fret in (1, 2))
    apart = (43 + 15 * (second - (second - first) / 4) / 650) / 5
    per_100_mm = in_turn(*JUMP, seconds=0.175, finger_jump_per_100_mm=10 * EACH)
    assert per_100_mm == round(1.8 * round(apart / 100 * 10 * EACH))


def test_a_finger_that_comes_back_to_its_place_neither_leaps_nor_leads() -> None:
    """Not even where another finger changes the position beside it."""
    stays = struck(5, 3, 2)
    way = moment(stays, VoiceSlice(), seconds=0.3), moment(stays, struck(4, 1, 1))
    assert paid(*way, shift=EACH) > 0
    assert paid(*way, finger_jump=EACH, guide_finger=-EACH) == 0


def test_of_several_fingers_that_leap_the_dearest_counts() -> None:
    one = moment(struck(5, 2, 2), struck(3, 2, 3), seconds=0.175)
    other = moment(struck(6, 2, 2), struck(2, 2, 3), seconds=0.175)
    assert paid(one, other, finger_jump=EACH) == round(1.8 * EACH)


@pytest.mark.parametrize("sings", [False, True])
def test_where_the_tune_breaks_off_it_costs_besides(*, sings: bool) -> None:
    one = singing(JUMP[0]) if sings else JUMP[0]
    price = in_turn(one, JUMP[1], seconds=0.3, finger_jump=EACH, melody_gap=EACH)
    assert price == round((1 + sings) * EACH * 0.35 / 0.3)


def test_so_it_does_where_the_hand_lifts_as_a_whole() -> None:
    one, other = (moment(singing(note), struck(2, 0, 0), struck(3, 0, 0)) for note in JUMP)
    lifted = paid(one, other, hand_lifted_per_100_mm=EACH)
    assert paid(one, other, hand_lifted_per_100_mm=EACH, melody_gap=EACH) == lifted + EACH > EACH


OPEN = struck(1, 0, 0)
STAYS = struck(3, 0, 0)


@pytest.mark.parametrize(
    ("slices", "lifts"),
    [
        ([moment(JUMP[0]), moment(JUMP[1])], True),
        ([moment(JUMP[0], seconds=0.34), moment(JUMP[1])], False),
        ([moment(JUMP[0], STAYS), moment(JUMP[1], held(STAYS))], False),
        ([moment(singing(JUMP[0])), moment(singing(JUMP[1]))], False),
        ([moment(singing(OPEN), JUMP[0]), moment(singing(OPEN), JUMP[1])], True),
        ([moment(singing(OPEN), JUMP[0]), moment(singing(JUMP[1]), STAYS)], False),
        ([moment(singing(JUMP[0]), OPEN), moment(singing(JUMP[1]), OPEN)], False),
        ([moment(singing(JUMP[0]), OPEN, STAYS), moment(singing(JUMP[1]), OPEN, STAYS)], True),
    ],
    ids=[
        "a bass alone, at leisure",
        "in a hurry",
        "something goes on",
        "the tune alone",
        "a bass under the tune",
        "from the bass to the tune",
        "the tune over a bass",
        "the tune in a chord of three",
    ],
)
def test_where_the_hand_lifts_as_a_whole_only_the_way_counts(slices: list[Slice], *, lifts: bool) -> None:
    assert (paid(*slices, finger_jump=EACH) > 0) is not lifts
    assert (paid(*slices, hand_lifted_per_100_mm=EACH) > 0) is lifts


@pytest.mark.parametrize(
    ("one", "other", "leads"),
    [
        ((2, 3, 2), (2, 5, 2), True),
        ((2, 3, 2), (3, 5, 2), False),
        ((2, 1, 2), (2, 4, 2), False),
        ((2, 5, 2), (2, 1, 2), False),
    ],
    ids=["along the string", "another string", "from behind its fret", "to behind its fret"],
)
def test_a_guide_finger_slides_along_its_string(one: Voice, other: Voice, *, leads: bool) -> None:
    slid = in_turn(struck(*one), struck(*other), guide_finger=-EACH)
    assert slid == (-EACH if leads else 0)


def test_a_guide_leads_nowhere_where_the_position_stays() -> None:
    """Finger 3 goes down a fret, and finger 1 stays where it is."""
    first = moment(struck(5, 2, 1), struck(3, 4, 3), seconds=0.3)
    bass = held(struck(5, 2, 1))
    assert paid(first, moment(bass, struck(3, 3, 3)), finger_jump=EACH, guide_finger=-EACH) == 0


# Barres.


@pytest.mark.parametrize(("lowest", "is_full"), [(2, False), (4, False), (5, True), (6, True)])
def test_a_barre_over_five_strings_is_a_full_one(lowest: int, *, is_full: bool) -> None:
    flat = moment(struck(lowest, 3, 1), struck(1, 3, 1), quarters=2)
    before = moment(struck(1, 0, 0), struck(lowest, 0, 0))
    laid = [paid(before, flat, half_barre_laid=EACH), paid(before, flat, full_barre_laid=EACH)]
    at_first = [paid(flat, half_barre_laid=EACH), paid(flat, full_barre_laid=EACH)]
    kept = [paid(flat, half_barre_kept_per_quarter=EACH), paid(flat, full_barre_kept_per_quarter=EACH)]
    once = [0, EACH] if is_full else [EACH, 0]
    assert laid == once
    assert at_first == [each // 2 for each in once]
    assert kept == [2 * each for each in once]


F2, F4, E4 = struck(6, 1, 1), struck(1, 1, 1), struck(1, 0, 0)


def test_a_barre_laid_under_a_note_that_goes_on_is_a_hinge() -> None:
    """Finger 1 on F2 under the open E, then flat for F4: at the level that knows it, or over the level."""
    way = moment(F2, E4), moment(held(F2), F4)
    for level, price in (("advanced", 20), ("intermediate", 305)):
        assert paid(*way, level=level, full_barre_laid=300, hinge_barre_laid=20, hinge_over_level=5) == price


def test_a_barre_lifted_from_a_note_that_goes_on_is_a_hinge() -> None:
    way = moment(F2, F4), moment(held(F2), E4)
    assert paid(*way, level="advanced", hinge_over_level=EACH, hinge_barre_laid=EACH) == 0
    assert paid(*way, level="intermediate", hinge_over_level=EACH) == EACH


# A held note, and what a player asks of the hand.


def test_a_note_that_is_let_go_is_paid_for_once() -> None:
    """Its string is struck by another voice, and again."""
    bass, other = struck(6, 3, 3), struck(6, 1, 1)
    way = moment(bass), moment(held(bass, EACH), other), moment(held(bass, EACH), other)
    silent = VoiceSlice()
    assert paid(replace(way[0], voices=(bass, silent)), *way[1:]) == EACH


def test_a_note_that_may_not_be_let_go_leaves_its_string_to_no_other() -> None:
    bass = struck(6, 3, 3)
    with pytest.raises(NoWayError):
        paid(moment(bass, VoiceSlice()), moment(held(bass), struck(6, 1, 1)))


def test_a_note_that_may_be_left_out_may_not_therefore_be_let_go() -> None:
    bass = replace(struck(6, 3, 3), none_price=EACH)
    assert paid(moment(bass, VoiceSlice()), moment(held(bass), struck(6, 1, 1))) == EACH


@pytest.mark.parametrize(
    ("restriction", "can"),
    [
        (Restriction(), True),
        (Restriction(position=3), True),
        (Restriction(position=2), False),
        (Restriction(allows_barre=False), False),
        (Restriction(free_fingers=(Finger.LITTLE,)), True),
        (Restriction(free_fingers=(Finger.RING,)), False),
        (Restriction(free_fingers=(Finger.INDEX,)), False),
        (Restriction(barre_fret=3), True),
        (Restriction(barre_fret=0), False),
    ],
    ids=repr,
)
def test_what_a_player_asks_of_the_hand_is_kept(restriction: Restriction, *, can: bool) -> None:
    """Finger 1 flat at fret 3, finger 3 at fret 5."""
    voices = struck(1, 3, 1), struck(4, 5, 3), struck(5, 3, 1)
    way = replace(moment(*voices), restriction=restriction)
    if can:
        assert paid(way) == 0
    else:
        with pytest.raises(NoWayError):
            paid(way)
