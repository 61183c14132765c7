"""Campanella: a scale of the tune goes from string to string, and each note rings into the next.

The scale from the open first string downwards in C major is how tutors show it (common practice; from
memory): the open strings 1 and 2, and between them stopped notes on the strings beside.
"""

from collections.abc import Iterable
from dataclasses import replace

import pytest

from apoyando.arranging import arrange_in_key
from apoyando.fingering import Candidate, Problem, Slice, VoiceSlice, find_best_way
from apoyando.model.arrangement import Role
from apoyando.model.campanella import find_bells
from apoyando.model.instrument import STANDARD_TUNING
from apoyando.model.plan import Plan
from apoyando.model.prices import PRICE_NAMES, Prices
from apoyando.reading import load_default_levels
from builders import make_note, make_pitch, make_song

INTERMEDIATE = load_default_levels()["intermediate"]
PRICES = Prices()
DOWN_FROM_OPEN_E = "E4 D4 C4 B3 A3"


def in_eighths(tune: Iterable[Candidate]) -> Problem:
    """A tune by itself, each of its notes on an eighth."""
    return Problem(
        tuple(
            Slice(
                quarters=0.5,
                seconds=0.3,
                voices=(VoiceSlice(candidates=(candidate,), is_struck=True, sings=True),),
            )
            for candidate in tune
        )
    )


def finger(notes: str, prices: Prices) -> list[str]:
    """A tune in eighths by itself: string and fret of each note."""
    problem = in_eighths(Candidate(make_pitch(name).midi, highest_fret=9) for name in notes.split())
    way = find_best_way(problem, tuning=STANDARD_TUNING, level=INTERMEDIATE, prices=prices)
    places = [choice.touch.place for each in way.slices for choice in each.voices if choice]
    return [f"{place.string}/{place.fret}" for place in places]


def test_turned_up_the_scale_goes_from_string_to_string_over_open_strings() -> None:
    assert finger(DOWN_FROM_OPEN_E, PRICES.turned({"campanella": 20})) == ["1/0", "2/3", "3/5", "2/0", "3/2"]


def test_turned_off_the_scale_stays_in_first_position() -> None:
    assert finger(DOWN_FROM_OPEN_E, PRICES.turned({"campanella": 0})) == ["1/0", "2/3", "2/1", "2/0", "3/2"]


def test_by_itself_it_is_only_a_matter_of_taste() -> None:
    """A scale that lies well is left as it lies."""
    assert finger(DOWN_FROM_OPEN_E, PRICES) == finger(DOWN_FROM_OPEN_E, PRICES.turned({"campanella": 0}))


def price(notes: str, prices: Prices, *strings: int) -> int:
    problem = in_eighths(
        Candidate(make_pitch(name).midi, highest_fret=9, strings=(string,))
        for name, string in zip(notes.split(), strings, strict=True)
    )
    return find_best_way(problem, tuning=STANDARD_TUNING, level=INTERMEDIATE, prices=prices).price


@pytest.mark.parametrize(
    ("notes", "strings", "rings"),
    [
        ("E4 D4", (1, 2), True),
        ("D4 E4", (2, 1), True),
        ("E4 F4", (1, 1), False),  # one string
        ("E4 D4", (1, 3), False),  # not beside
        ("E4 C#4", (1, 2), False),  # no step
        ("E4 E4", (1, 2), False),  # the same note
    ],
)
def test_it_is_a_step_of_the_tune_to_the_string_beside(
    notes: str, strings: tuple[int, ...], *, rings: bool
) -> None:
    off = PRICES.turned({"campanella": 0})
    assert price(notes, PRICES, *strings) - price(notes, off, *strings) == rings * PRICES.campanella


@pytest.mark.parametrize(("fingers", "rings"), [((1, 3), True), ((1, 1), False)])
def test_the_finger_of_the_first_note_stays_on_it(fingers: tuple[int, int], *, rings: bool) -> None:
    """F4 at fret 1 of string 1, then D#4 at fret 4 of string 2."""
    problem = in_eighths(
        Candidate(make_pitch(name).midi, strings=(string,), fingers=(finger,))
        for name, string, finger in zip(("F4", "D#4"), (1, 2), fingers, strict=True)
    )
    nothing = replace(PRICES, **dict.fromkeys(PRICE_NAMES, 0))
    way = find_best_way(
        problem,
        tuning=STANDARD_TUNING,
        level=INTERMEDIATE,
        prices=replace(nothing, campanella=PRICES.campanella),
    )
    assert way.price == rings * PRICES.campanella


def test_a_plan_turns_it_up_for_a_piece() -> None:
    song = make_song("E4:1/2 D4:1/2 C4:1/2 B3:1/2 A3:2", "A.minor:4", count=1)

    def strings(factor: float) -> list[int]:
        plan = Plan(melody_octave=0, texture="bare", prices={"campanella": factor})
        tune = arrange_in_key(song, plan, INTERMEDIATE, song.key).voice(Role.MELODY)
        return [int(note.place.string) for note in sorted(tune, key=lambda note: note.onset)]

    assert strings(20) == [1, 2, 3, 2, 3]
    assert strings(0) == [1, 2, 2, 2, 3]


def test_the_report_lists_the_notes_that_ring_on() -> None:
    tune = [
        make_note("melody", 0, 1, "E4", string=1),
        make_note("melody", 1, 1, "D4", string=2, finger=3),
        make_note("melody", 2, 1, "C4", string=3, finger=3),  # the finger leaves D
        make_note("melody", 3, 1, "B3", string=2),
    ]
    assert [str(note.pitch) for note in find_bells(tune)] == ["E4", "C4"]


def test_what_the_accompaniment_takes_rings_no_longer() -> None:
    tune = [make_note("melody", 0, 1, "E4", string=1), make_note("melody", 1, 1, "D4", string=2, finger=3)]
    assert list(find_bells([*tune, make_note("inner", 1, 1, "F4", string=1, finger=1)])) == []
    assert len(list(find_bells([*tune, make_note("bass", 1, 1, "A2", string=5)]))) == 1


def test_an_accompaniment_has_no_bells() -> None:
    """Only a line that sings is asked."""
    voice = VoiceSlice(candidates=(Candidate(make_pitch("E4").midi, strings=(1,)),), is_struck=True)
    other = replace(voice, candidates=(Candidate(make_pitch("D4").midi, strings=(2,)),))
    slices = tuple(Slice(quarters=1.0, seconds=0.6, voices=(each,)) for each in (voice, other))
    prices = [
        find_best_way(Problem(slices), tuning=STANDARD_TUNING, level=INTERMEDIATE, prices=each).price
        for each in (PRICES, PRICES.turned({"campanella": 20}))
    ]
    assert prices[0] == prices[1]
