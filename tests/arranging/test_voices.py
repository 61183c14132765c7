"""What each note of the bass and the inner voice costs the ear: ``notes`` and ``move`` of ``docs/objective.md``, price by price."""

from collections.abc import Sequence
from fractions import Fraction

import pytest

from apoyando.arranging import PosedSong, pose_in_key
from apoyando.arranging.voices import (
    bass_candidates,
    bass_inner_prices,
    bass_motion,
    inner_candidates,
    inner_lines_prices,
    inner_motion,
)
from apoyando.fingering import FORBIDDEN, Candidate
from apoyando.model.harmony import Chord
from apoyando.model.plan import Plan
from apoyando.model.prices import Prices
from apoyando.model.time import Span
from apoyando.reading import load_default_levels
from builders import make_harmony, make_pitch, make_song

PRICES = Prices()
INTERMEDIATE = load_default_levels()["intermediate"]
HIGH = make_pitch("C6").midi
LOW_E = make_pitch("E2").midi


def chord(symbol: str) -> Chord:
    (span,) = make_harmony(f"{symbol}:1")
    assert span.chord
    return span.chord


def notes(text: str) -> list[int]:
    return [make_pitch(name).midi for name in text.split()]


def price_of(name: str, candidates: Sequence[Candidate]) -> int:
    (price,) = [each.price for each in candidates if each.note == make_pitch(name).midi]
    return price


def bass(symbol: str, name: str, below: int = HIGH, *, is_first: bool = True) -> int:
    found = bass_candidates(
        chord(symbol), below=below, is_first=is_first, lowest=LOW_E, highest_fret=7, prices=PRICES
    )
    return price_of(name, found)


def inner(symbol: str, name: str, below: str) -> int:
    found = inner_candidates(
        chord(symbol), below=make_pitch(below).midi, wants=frozenset(), highest_fret=7, prices=PRICES
    )
    return price_of(name, found)


# The bass.


@pytest.mark.parametrize(
    ("name", "enters", "again"),
    [
        ("G2", 0, PRICES.bass_again_root),
        ("B2", PRICES.bass_third, PRICES.bass_again_third),
        ("D3", PRICES.bass_fifth, PRICES.bass_again_fifth),
        ("F2", PRICES.bass_seventh, PRICES.bass_seventh),
        ("A2", PRICES.bass_other, PRICES.bass_other),
    ],
)
def test_the_bass_costs_by_its_tone_where_it_enters_and_where_it_is_struck_again(
    name: str, enters: int, again: int
) -> None:
    high = 2 * PRICES.bass_high_per_semitone if name == "D3" else 0
    assert bass("G.dominant-ninth", name) == enters + high
    assert bass("G.dominant-ninth", name, is_first=False) == again + high


def test_the_bass_that_the_slash_names_is_free_and_another_ignores_it() -> None:
    assert bass("G/B", "B2") == bass("G/B", "B2", is_first=False) == 0
    assert bass("G/B", "G2") == PRICES.bass_slash_ignored


@pytest.mark.parametrize(("name", "semitones"), [("C3", 0), ("C#3", 1), ("A3", 9)])
def test_the_bass_costs_for_each_semitone_above_c3(name: str, semitones: int) -> None:
    assert bass(name[:-1], name) == semitones * PRICES.bass_high_per_semitone


@pytest.mark.parametrize(("below", "is_close"), [("D#3", False), ("D3", True)])
def test_the_bass_nearer_than_a_minor_third_under_the_tune_covers_it(below: str, *, is_close: bool) -> None:
    assert bass("C", "C3", make_pitch(below).midi) == is_close * PRICES.inner_close_to_melody


# The inner voice.


@pytest.mark.parametrize(
    ("symbol", "name", "expected"),
    [
        ("C", "C4", PRICES.inner_root),
        ("C", "E4", 0),
        ("G", "D4", PRICES.inner_fifth),
        ("C.major-sixth", "A3", PRICES.inner_sixth),
        ("C.dominant", "Bb3", 0),
        ("C.suspended-fourth", "F4", PRICES.inner_suspended),
        ("C.suspended-second", "D4", PRICES.inner_suspended),
        ("C.dominant-ninth", "D4", PRICES.inner_ninth),
        ("C.dominant-13th", "A3", PRICES.inner_tension),
        ("C/D", "D4", PRICES.inner_slash_bass),
    ],
)
def test_an_inner_note_costs_by_its_tone(symbol: str, name: str, expected: int) -> None:
    assert inner(symbol, name, below="A4") == expected


@pytest.mark.parametrize(
    ("below", "expected"),
    [
        ("F4", PRICES.inner_close_to_melody),
        ("F#4", PRICES.inner_close_to_melody),
        ("G4", 0),
        ("E5", 0),
        ("F5", PRICES.inner_far_below_melody_per_semitone),
        ("B5", 7 * PRICES.inner_far_below_melody_per_semitone),
    ],
)
def test_an_inner_note_keeps_a_minor_third_from_the_tune_and_not_more_than_an_octave(
    below: str, expected: int
) -> None:
    assert inner("C", "E4", below) == expected


@pytest.mark.parametrize(("name", "semitones"), [("G4", 0), ("G#4", 1), ("A#4", 3)])
def test_an_inner_note_costs_for_each_semitone_above_g4(name: str, semitones: int) -> None:
    """The third of a chord, which costs nothing by itself."""
    roots = {"G4": "Eb", "G#4": "E", "A#4": "F#"}
    assert inner(roots[name], name, below="E5") == semitones * PRICES.inner_high


# Between voices.


@pytest.mark.parametrize(
    ("upper", "expected"),
    [
        ("C3", FORBIDDEN),
        ("B2", FORBIDDEN),
        ("E3", 0),
        ("C4", 0),
        ("D3", PRICES.muddy_interval_per_semitone * 3),
    ],
)
def test_an_inner_note_lies_above_the_bass(upper: str, expected: int) -> None:
    """Over C3, from which a minor and a major third are clear, and which is three semitones too low for a second."""
    low, high = ([Candidate(make_pitch(name).midi)] for name in ("C3", upper))
    assert bass_inner_prices(low, high, PRICES) == ((expected,),)


@pytest.mark.parametrize(
    ("upper", "expected"), [("C3", FORBIDDEN), ("C4", FORBIDDEN), ("G3", 0), ("B2", FORBIDDEN)]
)
def test_inner_notes_keep_their_order_and_double_none(upper: str, expected: int) -> None:
    low, high = ([Candidate(make_pitch(name).midi)] for name in ("C3", upper))
    assert inner_lines_prices(low, high, PRICES) == ((expected,),)


@pytest.mark.parametrize(
    ("step", "within", "at_change"),
    [
        ("G3 G3", PRICES.inner_repeated, PRICES.inner_common_tone),
        ("G3 A3", 0, 0),
        ("G3 A#3", 0, PRICES.inner_leap_at_change),
        ("G3 D4", 0, PRICES.inner_leap_at_change),
        (
            "D4 F#3",
            PRICES.inner_leap_per_semitone,
            PRICES.inner_leap_at_change + PRICES.inner_leap_per_semitone,
        ),
    ],
)
def test_an_inner_line_costs_by_its_interval(step: str, within: int, at_change: int) -> None:
    one, other = notes(step)
    assert inner_motion([one], [other], PRICES) == ((within,),)
    assert inner_motion([one], [other], PRICES, is_change=True) == ((at_change,),)


def test_in_a_chord_that_is_struck_again_the_same_note_is_no_hammer() -> None:
    (one,) = notes("G3")
    assert inner_motion([one], [one], PRICES, may_repeat=True) == ((PRICES.inner_common_tone,),)


@pytest.mark.parametrize(
    ("step", "expected"),
    [
        ("C3 D3", 0),
        ("C3 D#3", PRICES.bass_leap),
        ("C3 F2", PRICES.bass_leap),
        ("G2 D#3", PRICES.bass_leap + PRICES.bass_leap_per_semitone),
        ("C3 C3", 0),
    ],
)
def test_a_bass_line_costs_by_its_interval(step: str, expected: int) -> None:
    one, other = notes(step)
    assert bass_motion([one], [other], None, PRICES) == ((expected,),)


def test_an_alternating_bass_does_not_repeat() -> None:
    (one,) = notes("C3")
    assert bass_motion([one], [one], None, PRICES, alternates=True) == ((PRICES.bass_repeated,),)


@pytest.mark.parametrize(
    ("low", "high", "is_parallel"),
    [
        ("C3 D3", "C4 D4", True),
        ("C3 D3", "G4 A4", True),
        ("D3 C3", "A4 G4", True),
        ("C3 D3", "E4 F#4", False),
        ("C3 D3", "G4 D4", False),
        ("C3 A2", "G4 E5", False),
        ("C3 C3", "C4 C4", False),
    ],
    ids=["octaves", "fifths", "fifths down", "thirds", "contrary", "fifths by contrary motion", "both stay"],
)
def test_parallel_fifths_and_octaves_with_the_tune_cost(low: str, high: str, *, is_parallel: bool) -> None:
    one, other = notes(low)
    before, after = notes(high)
    plain = bass_motion([one], [other], None, PRICES)[0][0]
    found = bass_motion([one], [other], (before, after), PRICES)[0][0]
    assert found - plain == is_parallel * PRICES.parallel_perfects


# What a slice owes and loses.


def pose(melody: str, harmony: str, texture: str) -> PosedSong:
    song = make_song(melody, harmony, count=2)
    return pose_in_key(song, Plan(melody_octave=0, texture=texture), INTERMEDIATE, song.key)


@pytest.mark.parametrize(
    ("texture", "symbol", "tune", "seventh"),
    [
        ("running-eighths", "G.dominant", "G4", PRICES.seventh_missing),
        ("running-eighths", "G.dominant", "F4", 0),
        ("running-eighths", "G", "G4", 0),
        ("bare", "G.dominant", "G4", 0),
    ],
    ids=["owed", "the tune tells it", "none in the chord", "nobody is there to tell it"],
)
def test_the_seventh_of_a_window_is_owed(texture: str, symbol: str, tune: str, seventh: int) -> None:
    first = pose(f"{tune}:8", f"{symbol}:8", texture).problem.slices[0]
    assert first.wanted[1] == seventh
    assert (first.wanted[0] > 0) is (texture != "bare")


def test_the_tune_costs_by_its_string() -> None:
    low = PRICES.melody_string_low
    tune = pose("G4:8", "G:8", "bare").problem.slices[0].voices[0]
    assert tune.string_prices == (0, 0, PRICES.melody_string_three, PRICES.melody_string_four, low, low)


def list_release_prices(posed: PosedSong, voice: int, due: Span) -> dict[Fraction, int | None]:
    """What letting go of a voice costs at each moment within what is due, by the quarters that are left."""
    return {
        due.offset - at.span.onset: each.voices[voice].release_price
        for at, each in zip(posed.slices, posed.problem.slices, strict=True)
        if due.onset < at.span.onset < due.offset
    }


def test_a_bass_that_is_let_go_costs_once_and_for_each_quarter_that_is_lost() -> None:
    posed = pose("G4:1 A4:1 B4:1 A4:1 G4:4", "G:8", "running-eighths")
    paid = list_release_prices(posed, 1, posed.plot.bass[0][0].span)
    assert len(paid) > 1
    assert paid == {
        left: PRICES.bass_hold_lost + round(left * PRICES.bass_hold_lost_per_quarter) for left in paid
    }


def test_so_does_an_inner_note_of_a_chord_and_less() -> None:
    posed = pose("G4:1 A4:1 B4:1 A4:1 G4:4", "G:8", "sustained")
    paid = list_release_prices(posed, 2, posed.plot.inner[0][0].span)
    assert paid
    assert paid == {
        left: PRICES.inner_hold_lost + round(left * PRICES.inner_hold_lost_per_quarter) for left in paid
    }


def test_what_an_arpeggio_writes_short_may_stop_ringing_at_a_price() -> None:
    ringing = [
        voice.release_price
        for each in pose("G4:8", "G:8", "arpeggio").problem.slices
        for voice in each.voices[2:]
        if voice.is_held
    ]
    assert set(ringing) == {PRICES.ring_lost}
