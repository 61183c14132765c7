"""A shift straight from a note that is too short for it costs: where the level's table says so, and only there.

``shift_quarters`` of the table of levels is the shortest note to shift over, up to its tempo; the
numbers here are those of ``docs/levels.md``.
"""

from dataclasses import replace

import pytest

from apoyando.fingering import Candidate, Problem, Slice, VoiceSlice, find_best_way
from apoyando.model.instrument import STANDARD_TUNING
from apoyando.model.pitch import MidiNote
from apoyando.model.prices import Prices
from apoyando.reading import load_default_levels

LEVELS = load_default_levels()
PRICES = Prices()
WITHOUT = replace(PRICES, shift_hasty=0)
F4, FSHARP4, G4, BFLAT4, E4 = 65, 66, 67, 70, 64


def struck(midi: int, *fingers: int) -> VoiceSlice:
    """On string 1, by one of the fingers."""
    candidate = Candidate(MidiNote(midi), highest_fret=12, strings=(1,), fingers=fingers)
    return VoiceSlice(candidates=(candidate,), is_struck=True)


def line(
    *voices: VoiceSlice, quarters: float = 0.25, per_minute: float = 96, level: str = "intermediate"
) -> int:
    """What the haste of a line of equal notes costs: its price with and without that of haste."""
    seconds = quarters * 60 / per_minute
    problem = Problem(tuple(Slice(quarters=quarters, seconds=seconds, voices=(voice,)) for voice in voices))
    dear, cheap = (
        find_best_way(problem, tuning=STANDARD_TUNING, level=LEVELS[level], prices=prices).price
        for prices in (PRICES, WITHOUT)
    )
    return dear - cheap


FAR = struck(F4, 1), struck(BFLAT4, 1)
"""Finger 1 from fret 1 to fret 6 of string 1."""


@pytest.mark.parametrize(
    ("quarters", "per_minute", "level", "is_hasty"),
    [
        (0.25, 96, "intermediate", True),
        (0.5, 96, "intermediate", False),
        (0.5, 100, "intermediate", False),
        (0.5, 120, "intermediate", True),
        (0.6, 120, "intermediate", False),
        (1.0, 96, "early", True),
        (2.0, 96, "early", False),
        (0.125, 200, "advanced", False),
    ],
)
def test_a_shift_from_a_note_shorter_than_the_level_has_for_it_costs(
    quarters: float, per_minute: float, level: str, *, is_hasty: bool
) -> None:
    haste = line(*FAR, quarters=quarters, per_minute=per_minute, level=level)
    assert haste == (PRICES.shift_hasty if is_hasty else 0)


def test_where_an_open_string_is_between_the_hand_has_no_haste() -> None:
    assert line(struck(F4, 1), struck(E4, 0), struck(BFLAT4, 1)) == 0


@pytest.mark.parametrize(
    ("one", "other", "is_shift"),
    [
        (struck(F4, 1), struck(G4, 2), False),  # finger 2 reaches fret 3 from position I
        (struck(F4, 1), struck(BFLAT4, 4), False),  # homes at I and III: from II both are in reach
        (struck(F4, 1), struck(BFLAT4, 3), True),  # homes at I and IV
        (struck(F4, 1), struck(FSHARP4, 1), False),  # a finger goes to the next fret
        (struck(F4, 1), struck(G4, 1), True),  # and no farther
    ],
)
def test_what_lies_in_reach_is_no_shift(one: VoiceSlice, other: VoiceSlice, *, is_shift: bool) -> None:
    assert line(one, other) == (PRICES.shift_hasty if is_shift else 0)


@pytest.mark.parametrize(
    ("one", "other", "is_shift"),
    [
        (struck(BFLAT4, 4), struck(F4, 1), False),  # the same ways back
        (struck(BFLAT4, 3), struck(F4, 1), True),
        (struck(FSHARP4, 1), struck(F4, 1), False),
        (struck(G4, 1), struck(F4, 1), True),
    ],
)
def test_back_down_it_is_the_same(one: VoiceSlice, other: VoiceSlice, *, is_shift: bool) -> None:
    assert line(one, other) == (PRICES.shift_hasty if is_shift else 0)


@pytest.mark.parametrize(("is_flat", "is_shift"), [(False, False), (True, True)])
def test_a_barre_reaches_its_own_fret_only(*, is_flat: bool, is_shift: bool) -> None:
    """From finger 1 at fret 1 to finger 4 at fret 6, whose home is III: from II a tip has both in reach."""
    beside = Candidate(MidiNote(60 if is_flat else 59), strings=(2,))  # C4 at fret 1, or B3 open
    pairs = (
        (struck(F4, 1), VoiceSlice(candidates=(beside,), is_struck=True)),
        (struck(BFLAT4, 4), VoiceSlice()),
    )
    slices = tuple(Slice(quarters=0.25, seconds=0.15, voices=pair) for pair in pairs)
    dear, cheap = (
        find_best_way(
            Problem(slices), tuning=STANDARD_TUNING, level=LEVELS["intermediate"], prices=prices
        ).price
        for prices in (PRICES, WITHOUT)
    )
    assert dear - cheap == (PRICES.shift_hasty if is_shift else 0)


def test_several_fingers_that_hurry_make_one_shift() -> None:
    """A tune on string 1 and a bass on string 6, both from fret 1 or 2 to fret 6 or 7."""
    bass = [
        VoiceSlice(
            candidates=(Candidate(MidiNote(midi), highest_fret=12, strings=(6,), fingers=(finger,)),),
            is_struck=True,
        )
        for midi, finger in ((F4 - 24, 1), (BFLAT4 - 24, 1))
    ]
    tune = struck(FSHARP4, 2), struck(BFLAT4 + 1, 2)
    slices = tuple(Slice(quarters=0.25, seconds=0.15, voices=pair) for pair in zip(tune, bass, strict=True))
    dear, cheap = (
        find_best_way(
            Problem(slices), tuning=STANDARD_TUNING, level=LEVELS["intermediate"], prices=prices
        ).price
        for prices in (PRICES, WITHOUT)
    )
    assert dear - cheap == PRICES.shift_hasty


def test_a_line_is_fingered_so_that_the_hand_has_moved_before() -> None:
    """F, G, B flat in quarter, sixteenth, quarter: the hand goes up for the G, which has time."""
    quarters = (1.0, 0.25, 1.0)
    notes = struck(F4, 1, 2, 3, 4), struck(G4, 1, 2, 3, 4), struck(BFLAT4 + 2, 1, 2, 3, 4)
    slices = tuple(
        Slice(quarters=length, seconds=length * 0.6, voices=(note,))
        for length, note in zip(quarters, notes, strict=True)
    )
    way = find_best_way(Problem(slices), tuning=STANDARD_TUNING, level=LEVELS["intermediate"], prices=PRICES)
    fingers = [choice.touch.finger for each in way.slices for choice in each.voices if choice]
    assert fingers[1] < fingers[2]
    positions = [int(each.position) for each in way.slices]
    assert abs(positions[2] - positions[1]) <= 2
