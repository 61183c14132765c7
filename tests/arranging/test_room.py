"""Under a low tune, and under a peak, there is no room for an inner note, and none is missed.

The places are those of the arrangers' table of low interval limits, and air of a minor third under the
tune (common practice, no source).
"""

import pytest

from apoyando.arranging import arrange_in_key, pose_in_key
from apoyando.arranging.room import has_room
from apoyando.arranging.texture import Need
from apoyando.model.arrangement import Arrangement, RelaxationStep, Role
from apoyando.model.harmony import Chord
from apoyando.model.instrument import STANDARD_TUNING
from apoyando.model.plan import Plan
from apoyando.model.prices import Prices
from apoyando.model.time import Quarters, Span
from apoyando.reading import load_default_levels
from builders import make_harmony, make_pitch, make_song

INTERMEDIATE = load_default_levels()["intermediate"]
LOWEST = min(STANDARD_TUNING.open_strings)


def chord(symbol: str) -> Chord:
    (span,) = make_harmony(f"{symbol}:1")
    assert span.chord
    return span.chord


@pytest.mark.parametrize(
    ("symbol", "tune", "expected"),
    [
        ("D", "A3", True),  # D3 in the bass, F#3 over it, a minor third under the tune
        (
            "D",
            "G#3",
            False,
        ),  # F#3 would lie a second under it, and the lowest D is the third string's neighbour
        ("G", "D4", True),
        ("G", "F3", True),  # D3 over G2
        ("G", "E3", False),  # B2 over G2 is muddy, D3 too near the tune
        ("E.minor", "D3", True),  # B2 over E2
        ("E.minor", "C#3", False),
        ("C", "E3", False),  # nothing lies between C3 and E3
        ("D", "G3", False),
        ("D/A", "G3", True),  # D3 over A2, which is what the slash asks for
    ],
)
def test_there_is_room_where_the_bass_and_a_clear_note_over_it_lie_under_the_tune(
    symbol: str, tune: str, expected: bool
) -> None:
    midi = make_pitch(tune).midi
    assert has_room(chord(symbol), midi, range(LOWEST, midi)) == expected


@pytest.mark.parametrize(
    ("symbol", "expected"),
    [
        ("G", True),  # the third string in the bass, the second over it
        ("E.minor", True),  # E2, and the third string over it
        ("A", False),  # nothing but the first string, on which the tune lies
        ("D", False),  # D3 has no open tone of the chord over it
        ("F", False),  # no open string has its root
        ("A.minor/C", False),
    ],
)
def test_under_a_peak_there_is_room_where_two_open_strings_tell_the_chord(
    symbol: str, expected: bool
) -> None:
    assert (
        has_room(chord(symbol), make_pitch("D5").midi, sorted(STANDARD_TUNING.open_strings)[:-1]) == expected
    )


@pytest.mark.parametrize(("symbol", "need"), [("G", Need.MOTION), ("A", Need.CRAMPED), ("D", Need.CRAMPED)])
def test_string_1_is_the_tune_s_under_a_peak(symbol: str, need: Need) -> None:
    """E4 would lie over A2: but the tune passes over it, at fret 10."""
    song = make_song("A4:2 D5:4 A4:2", f"{symbol}:8", count=2)
    posed = pose_in_key(song, Plan(melody_octave=0, texture="running-eighths"), INTERMEDIATE, song.key)
    peak = Span(Quarters(2), Quarters(6))
    dues = [due for window in posed.plot.windows for due in window.inner if due.span.overlaps(peak)]
    assert {due.need for due in dues} == {need}


def arrange(tune: str, **factors: float) -> Arrangement:
    song = make_song(f"{tune}:4 {tune}:4 E4:4", "D:8 A:4", count=3)
    plan = Plan(melody_octave=0, texture="running-eighths", prices=factors)
    return arrange_in_key(song, plan, INTERMEDIATE, song.key)


def dropped(arrangement: Arrangement) -> int:
    return sum(each.step is RelaxationStep.INNER_DROPPED for each in arrangement.relaxations)


def test_inner_notes_that_have_no_room_are_not_given_up() -> None:
    assert dropped(arrange("E3")) == 0
    inner = arrange("E3", inner_cramped_missing=0).voice(Role.INNER)
    assert not [note for note in inner if note.onset < 8]


def test_where_there_is_room_an_empty_eighth_is_given_up() -> None:
    assert dropped(arrange("E4", motion_gap=0)) > 0


def test_under_a_peak_that_passes_over_open_strings_no_stopped_inner_note_is_given_up() -> None:
    song = make_song("A4:2 D5:4 A4:2", "D:8", count=2)
    peak = arrange_in_key(song, Plan(melody_octave=0, texture="running-eighths"), INTERMEDIATE, song.key)
    assert dropped(peak) == 0
    assert not [note for note in peak.voice(Role.INNER) if note.span.overlaps(Span(Quarters(2), Quarters(6)))]


def test_a_player_who_wants_motion_at_any_height_turns_it_up() -> None:
    low = [note for note in arrange("E3", inner_cramped_missing=5).voice(Role.INNER) if note.onset < 8]
    assert low


# The third: what a window of harmony should have told.

PRICES = Prices()


def owed(symbol: str, tune: str) -> int:
    song = make_song(f"{tune}:8", f"{symbol}:8", count=2)
    plan = Plan(melody_octave=0, texture="running-eighths")
    return pose_in_key(song, plan, INTERMEDIATE, song.key).problem.slices[0].wanted[0]


@pytest.mark.parametrize(
    ("symbol", "tune", "third"),
    [
        ("A", "A4", PRICES.third_missing),  # C#4 over A2
        ("A", "E4", PRICES.third_missing),  # C#4, a minor third under the tune
        (
            "A",
            "D#4",
            PRICES.third_cramped_missing,
        ),  # C#3 over A2 is muddy: major thirds are clear from B2
        ("B", "F#3", PRICES.third_missing),  # D#3 over B2
        ("C.minor", "G3", PRICES.third_missing),  # Eb3 over C3: minor thirds are clear from C3
        ("G.minor", "C#4", PRICES.third_missing),  # Bb3 over G2
        ("G.minor", "C4", PRICES.third_cramped_missing),
        ("A/C#", "A3", PRICES.third_missing),  # it is the bass
        ("A", "C#4", 0),  # the tune tells it
    ],
)
def test_a_third_under_a_low_tune_is_owed_in_full_where_it_is_clear(
    symbol: str, tune: str, third: int
) -> None:
    assert owed(symbol, tune) == third


def test_a_low_third_is_told_at_the_price_that_the_player_sets() -> None:
    def inner(factor: float) -> set[str]:
        song = make_song("A3:8", "A:8", count=2)
        plan = Plan(melody_octave=0, texture="sustained", prices={"third_cramped_missing": factor})
        piece = arrange_in_key(song, plan, INTERMEDIATE, song.key)
        return {str(note.pitch) for note in piece.voice(Role.INNER)}

    assert "C#3" not in inner(0)
    assert "C#3" in inner(10)
