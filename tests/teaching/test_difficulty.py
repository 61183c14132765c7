"""How hard a bar is: each part by its definition, and growing with its cause."""

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apoyando.model.arrangement import Arrangement, Barre, Note
from apoyando.model.hand import FINGER_PAIRS
from apoyando.model.instrument import STANDARD_TUNING
from apoyando.model.level import Level, SpanLimit
from apoyando.reading import load_default_levels
from apoyando.teaching import RATES, BarDifficulty, Cause, measure_difficulty, measure_points
from apoyando.teaching.looks import count_ledger_lines
from builders import make_arrangement, make_barre, make_bars, make_note, make_pitch, small_arrangement

LEVEL = Level(
    name="a level",
    accompaniment_highest_fret=7,
    melody_highest_fret=9,
    peak_fret=12,
    spans={pair: SpanLimit(60.0, 100.0) for pair in FINGER_PAIRS},
    barre_quarters=Fraction(2),
    shift_frets=5,
    accompaniment_shortest=Fraction(1, 2),
    melody_shortest=Fraction(1, 2),
    struck_together=3,
)
SLOW = Fraction(60)
"""A quarter a second: the numbers below are then the definition's own."""


def stop(pitch: str, string: int, finger: int, onset: int | str = 0, duration: int | str = 1) -> Note:
    return make_note("inner", onset, duration, pitch, string=string, finger=finger)


def measure(notes: Iterable[Note], level: Level = LEVEL, **more: Any) -> tuple[BarDifficulty, ...]:
    settings = {"tempo_quarters_per_minute": SLOW, **more}
    return measure_difficulty(make_arrangement(notes, **settings), level)


def part(cause: Cause, notes: Iterable[Note], **more: Any) -> float:
    """One part of the first bar, in the unit of its cause."""
    return measure(notes, **more)[0].parts[cause] / RATES[cause].points


def test_open_strings_at_a_slow_pace_are_no_difficulty_at_all() -> None:
    notes = [make_note("inner", onset, 1, "G3") for onset in range(4)]
    (bar,) = measure(notes)
    assert bar.parts == dict.fromkeys(Cause, 0.0)
    assert bar.total == 0
    assert bar.reasons == ()


def test_every_bar_is_measured_in_order() -> None:
    bars = make_bars(2, pickup=1)
    measured = measure([make_note("inner", 0, 1, "G3")], bars=bars)
    assert [(each.index, each.bar) for each in measured] == [(0, "0"), (1, "1"), (2, "2")]


def test_without_bars_there_is_nothing_to_measure() -> None:
    assert measure_difficulty(replace(small_arrangement(), bars=()), LEVEL) == ()


# Holds: fingers that stay × fingers set down.

C_HELD = stop("C3", 5, 3, 0, 4)
E_HELD = stop("E3", 4, 2, 0, 4)
C_SET = stop("C4", 2, 1, 1, 1)
G_SET = stop("G4", 1, 4, 1, 1)


@pytest.mark.parametrize(
    ("notes", "units"),
    [
        ([C_HELD], 0),
        ([C_HELD, C_SET], 1),
        ([C_HELD, E_HELD, C_SET], 2),
        ([C_HELD, E_HELD, C_SET, G_SET], 4),
        ([C_HELD, C_SET, stop("C4", 2, 1, 3, 1)], 2),
    ],
)
def test_holds_count_the_fingers_that_stay_for_every_finger_set_down(notes: list[Note], units: int) -> None:
    assert part(Cause.HOLDS, notes) == pytest.approx(units)


def test_a_finger_that_already_lies_there_is_not_set_down_again() -> None:
    again = [C_HELD, C_SET, stop("C4", 2, 1, 2, 1)]
    assert part(Cause.HOLDS, again) == pytest.approx(1)


def test_a_note_that_ends_when_another_is_set_down_is_not_kept() -> None:
    assert part(Cause.HOLDS, [stop("C3", 5, 3, 0, 1), C_SET]) == 0
    assert part(Cause.HOLDS, [stop("C3", 5, 3, 0, "17/16"), C_SET]) == pytest.approx(1)


def test_an_open_string_neither_stays_nor_is_set_down() -> None:
    assert part(Cause.HOLDS, [make_note("bass", 0, 4, "A2"), C_SET]) == 0
    assert part(Cause.HOLDS, [C_HELD, make_note("inner", 1, 1, "G3")]) == 0


def test_a_barre_is_one_finger_and_lies_on_all_its_strings() -> None:
    barre = [
        replace(stop("F2", 6, 1, 0, 4), in_barre=True),
        replace(stop("C4", 2, 1, 0, 4), in_barre=True),
    ]
    more_of_it = replace(stop("F4", 1, 1, 2, 1), in_barre=True)
    finger = stop("A3", 3, 2, 1, 1)
    assert part(Cause.HOLDS, [*barre, finger]) == pytest.approx(1)
    assert part(Cause.HOLDS, [*barre, more_of_it]) == 0


# Stretch: from comfortable (60 mm here) to outermost (100 mm).


def level_for(mm: float) -> Level:
    """Comfortable at ``mm``, outermost 10 mm beyond."""
    return replace(LEVEL, spans={pair: SpanLimit(mm, mm + 10.0) for pair in FINGER_PAIRS})


def opened(upper: str) -> list[Note]:
    """Finger 1 at string 4 fret 1, finger 4 on string 3: fret 3 is A#3, fret 4 is B3."""
    return [stop("D#3", 4, 1), stop(upper, 3, 4)]


def test_a_comfortable_opening_is_no_stretch_and_the_outermost_is_one() -> None:
    # D#3 to B3: 99.06 mm along, 8.8 mm across: 99.45 mm by Pythagoras.
    assert part(Cause.STRETCH, opened("B3"), level=level_for(99.5)) == 0
    assert part(Cause.STRETCH, opened("B3"), level=level_for(94.45)) == pytest.approx(0.5, abs=0.01)
    assert part(Cause.STRETCH, opened("B3"), level=level_for(89.45)) == pytest.approx(1.0, abs=0.01)
    assert part(Cause.STRETCH, opened("B3"), level=level_for(79.45)) == pytest.approx(2.0, abs=0.01)


def test_stretch_grows_with_the_opening_and_with_every_time_it_is_taken() -> None:
    narrow, wide = part(Cause.STRETCH, opened("A#3")), part(Cause.STRETCH, opened("B3"))
    again = [*opened("B3"), stop("D#3", 4, 1, 2, 1), stop("B3", 3, 4, 2, 1)]
    assert 0 < narrow < wide
    assert part(Cause.STRETCH, again) == pytest.approx(2 * wide, abs=0.01)


def test_a_small_hand_stretches_farther() -> None:
    arrangement = make_arrangement(opened("A#3"))
    (normal,), (small,) = (measure_difficulty(arrangement, LEVEL, size) for size in (1.0, 0.9))
    assert small.parts[Cause.STRETCH] > normal.parts[Cause.STRETCH] > 0


def test_a_level_whose_comfort_is_its_limit_is_measured_too() -> None:
    no_room = replace(LEVEL, spans={pair: SpanLimit(90.0, 90.0) for pair in FINGER_PAIRS})
    assert part(Cause.STRETCH, opened("B3"), level=no_room) == pytest.approx(9.45, abs=0.03)


# Shift: decimetres per second.


def shift(fret: int, after: int | str = 1) -> list[Note]:
    """Finger 1 at fret 1 of string 2, then at another fret of it."""
    names = {1: "C4", 3: "D4", 5: "E4", 8: "G4"}
    return [stop("C4", 2, 1, 0, after), stop(names[fret], 2, 1, after, 1)]


def test_a_shift_is_its_way_along_the_neck_by_the_time_there_is() -> None:
    """Fret 1 lies 36.5 mm and fret 5 163.1 mm from the nut (levels.md): 1.266 dm."""
    assert part(Cause.SHIFT, shift(5)) == pytest.approx(1.266, abs=0.02)
    assert part(Cause.SHIFT, shift(5, "1/2")) == pytest.approx(2 * 1.266, abs=0.02)
    doubled = part(Cause.SHIFT, shift(5), tempo_quarters_per_minute=2 * SLOW)
    assert doubled == pytest.approx(2 * 1.266, abs=0.02)


def test_a_shift_grows_with_the_distance_and_staying_is_none() -> None:
    assert 0 == part(Cause.SHIFT, shift(1)) < part(Cause.SHIFT, shift(3)) < part(Cause.SHIFT, shift(8))


def test_the_fingers_of_one_position_are_no_shift() -> None:
    scale = [stop(pitch, 2, finger, finger, 1) for finger, pitch in enumerate(("C4", "C#4", "D4", "D#4"), 1)]
    assert part(Cause.SHIFT, scale, bars=make_bars(2)) == 0


def test_open_strings_leave_time_for_a_shift() -> None:
    over_open = [stop("C4", 2, 1, 0, 1), make_note("inner", 1, 1, "G3"), stop("E4", 2, 1, 2, 1)]
    assert part(Cause.SHIFT, over_open) == pytest.approx(part(Cause.SHIFT, shift(5)) / 2, abs=0.02)


def test_a_shift_counts_in_the_bar_where_the_hand_arrives() -> None:
    first, second = measure([stop("C4", 2, 1, 3, 1), stop("E4", 2, 1, 4, 1)])
    assert first.parts[Cause.SHIFT] == 0
    assert second.parts[Cause.SHIFT] > 0


def test_a_finger_beside_its_own_fret_is_no_shift_of_the_hand() -> None:
    assert part(Cause.SHIFT, [stop("E3", 4, 1, 0, 1), stop("A3", 3, 2, 1, 1), stop("C#4", 2, 3, 2, 1)]) == 0


# Barre: quarters of a full barre, and two for laying it.


def with_barre(*barres: Barre, **more: Any) -> tuple[BarDifficulty, ...]:
    note = replace(stop("F4", 1, 1), in_barre=True)
    return measure([note], bars=make_bars(2), barres=barres, **more)


@pytest.mark.parametrize(("lowest_string", "quarters", "units"), [(6, 1, 3), (6, 2, 4), (3, 2, 2), (2, 1, 1)])
def test_a_barre_counts_its_quarters_and_its_laying_by_the_share_of_the_strings(
    lowest_string: int, quarters: int, units: int
) -> None:
    first, second = with_barre(make_barre(1, lowest_string, 0, quarters))
    assert first.parts[Cause.BARRE] / RATES[Cause.BARRE].points == pytest.approx(units)
    assert second.parts[Cause.BARRE] == 0


def test_a_barre_over_a_barline_counts_in_each_bar_for_its_time_there_and_is_laid_once() -> None:
    first, second = with_barre(make_barre(1, 6, 3, 3))
    assert first.parts[Cause.BARRE] / RATES[Cause.BARRE].points == pytest.approx(1 + 2)
    assert second.parts[Cause.BARRE] / RATES[Cause.BARRE].points == pytest.approx(2)


def test_a_barre_that_goes_on_over_other_strings_is_not_laid_again() -> None:
    first, _ = with_barre(make_barre(1, 6, 0, 1), make_barre(1, 3, 1, 1))
    assert first.parts[Cause.BARRE] / RATES[Cause.BARRE].points == pytest.approx(2 + 1 + 1 / 2)


def test_a_barre_counts_alike_at_every_tempo() -> None:
    (slow, _), (fast, _) = (
        with_barre(make_barre(1, 6, 0, 2), tempo_quarters_per_minute=tempo) for tempo in (SLOW, 2 * SLOW)
    )
    assert fast.parts[Cause.BARRE] == slow.parts[Cause.BARRE]


# Speed: how many times faster than relaxed (2.7 strokes a second), less one.


def strokes(count: int, apart: Fraction) -> list[Note]:
    return [make_note("inner", apart * number, apart, "G3") for number in range(count)]


def test_strokes_at_the_relaxed_rate_are_no_hurry_and_twice_as_fast_is_one_each() -> None:
    relaxed, twice = Fraction(10, 27), Fraction(5, 27)
    assert part(Cause.SPEED, strokes(3, relaxed)) == pytest.approx(0, abs=0.01)
    assert part(Cause.SPEED, strokes(2, twice)) == pytest.approx(1, abs=0.02)
    assert part(Cause.SPEED, strokes(3, twice)) == pytest.approx(2, abs=0.02)


def test_speed_grows_with_the_tempo() -> None:
    eighths = strokes(8, Fraction(1, 2))
    slow, fast, faster = (
        part(Cause.SPEED, eighths, tempo_quarters_per_minute=Fraction(tempo)) for tempo in (60, 96, 144)
    )
    assert 0 == slow < fast < faster


def test_notes_struck_together_are_one_stroke() -> None:
    alone = strokes(4, Fraction(1, 4))
    chords = [*alone, *(replace(make_note("bass", note.onset, 1, "E2")) for note in alone)]
    assert part(Cause.SPEED, chords) == part(Cause.SPEED, alone) > 0


# Reading: printed accidentals, strings away from the easiest, ledger lines, signature.


@pytest.mark.parametrize(
    ("pitches", "fifths", "signs"),
    [
        ("F4", 0, 0),
        ("F#4", 0, 1),
        ("F#4", 1, 0.2),
        ("F4", 1, 1),
        ("Bb3", 0, 1),
        ("Bb3", -1, 0.2),
        ("F#4 F#4", 0, 1),
        ("F#4 F4", 0, 2),
        ("F#4 F#3", 0, 2),
    ],
)
def test_accidentals_count_where_they_are_printed_and_signatures_a_little(
    pitches: str, fifths: int, signs: float
) -> None:
    """One holds for its line to the end of the bar (common practice; Gould, Behind Bars, from memory)."""
    notes = [make_note("inner", onset, 1, pitch) for onset, pitch in enumerate(pitches.split())]
    assert part(Cause.READING, notes, bars=make_bars(1, fifths=fifths)) == pytest.approx(signs, abs=0.02)


def test_an_accidental_is_printed_again_in_the_next_bar() -> None:
    first, second = measure([make_note("inner", onset, 1, "F#4") for onset in (0, 4)])
    assert first.parts[Cause.READING] == second.parts[Cause.READING] > 0


def test_every_string_away_from_the_easiest_is_a_look() -> None:
    """E on string 1 is open, on string 2 at fret 5, on string 3 at fret 9."""
    for string in (1, 2, 3):
        note = make_note("inner", 0, 1, "E4", string=string, finger=min(string - 1, 1))
        assert part(Cause.READING, [note]) == pytest.approx(string - 1)


@pytest.mark.parametrize(
    ("pitch", "lines"),
    [
        ("D3", 0),
        ("C3", 1),
        ("A2", 2),
        ("E2", 3),
        ("D2", 4),
        ("G4", 0),
        ("A4", 1),
        ("B4", 1),
        ("C5", 2),
        ("E5", 3),
    ],
)
def test_ledger_lines_are_those_of_a_guitarists_staff(pitch: str, lines: int) -> None:
    """Written an octave above its sound: open string 6 hangs under its third ledger line."""
    assert count_ledger_lines(make_pitch(pitch)) == lines


def test_ledger_lines_count_a_fifth_of_a_look_each() -> None:
    low, high = make_note("bass", 0, 1, "E2"), make_note("inner", 0, 1, "E5")
    assert part(Cause.READING, [low]) == pytest.approx(0.6)
    assert part(Cause.READING, [low, high]) == pytest.approx(1.2)


# Each thing made harder in one and the same piece: its part grows, no other shrinks, the total grows.


def piece(**more: Any) -> Arrangement:
    """A bar with something of everything, at a quarter = 120."""
    notes = {
        "held": stop("C3", 5, 3, 0, "3/2"),
        "set": stop("C4", 2, 1, 1, "1/2"),
        "upper": stop("D4", 2, 2, "3/2", "1/2"),
        "far": stop("F4", 2, 1, 2, "1/2"),
        "sign": make_note("inner", 3, "1/2", "E4"),
        **more.pop("notes", {}),
    }
    settings = {"tempo_quarters_per_minute": Fraction(120), "barres": (make_barre(6, 3, 2, "1/2"),), **more}
    return make_arrangement(notes.values(), make_bars(1), **settings)


@pytest.mark.parametrize(
    ("cause", "harder"),
    [
        (Cause.HOLDS, {"notes": {"held": stop("C3", 5, 3, 0, 2)}}),
        (Cause.STRETCH, {"notes": {"held": stop("D3", 5, 4, 0, "3/2")}}),
        (Cause.SHIFT, {"notes": {"far": stop("G4", 2, 1, 2, "1/2")}}),
        (Cause.SHIFT, {"tempo_quarters_per_minute": Fraction(121)}),
        (Cause.BARRE, {"barres": (make_barre(6, 3, 2, 1),)}),
        (Cause.BARRE, {"barres": (make_barre(6, 4, 2, "1/2"),)}),
        (Cause.SPEED, {"tempo_quarters_per_minute": Fraction(121)}),
        (Cause.READING, {"notes": {"sign": make_note("inner", 3, "1/2", "D#4", string=2, finger=4)}}),
        (Cause.READING, {"notes": {"sign": make_note("inner", 3, "1/2", "E4", string=2, finger=1)}}),
        (Cause.READING, {"notes": {"sign": make_note("inner", 3, "1/2", "A4", finger=1)}}),
    ],
)
def test_one_thing_harder_makes_its_part_and_the_total_grow(cause: Cause, harder: dict[str, Any]) -> None:
    (before,), (after,) = (measure_difficulty(each, LEVEL) for each in (piece(), piece(**harder)))
    assert after.parts[cause] > before.parts[cause]
    assert after.total > before.total


# What docs/difficulty.md says.


@pytest.mark.parametrize(("tempo", "speed", "total"), [(96, 0.28, 2.34), (144, 1.17, 3.23)])
def test_the_example_of_the_page_is_right(tempo: int, speed: float, total: float) -> None:
    notes = [
        make_note("bass", 0, 4, "C3", string=5, finger=3),
        make_note("melody", 0, 2, "E4"),
        make_note("inner", "1/2", "1/2", "G3"),
        make_note("inner", 1, 1, "C4", string=2, finger=1),
        make_note("melody", 2, 2, "G4", string=1, finger=4),
        make_note("inner", "5/2", "1/2", "E3", string=4, finger=2),
    ]
    arrangement = make_arrangement(notes, tempo_quarters_per_minute=Fraction(tempo))
    (bar,) = measure_difficulty(arrangement, load_default_levels()["intermediate"])
    expected = {**dict.fromkeys(Cause, 0.0), Cause.HOLDS: 2.0, Cause.SPEED: speed, Cause.READING: 0.06}
    assert (bar.parts, bar.total) == (expected, total)


def test_the_page_tells_the_rates_as_they_are() -> None:
    page = (Path(__file__).parents[2] / "docs" / "difficulty.md").read_text(encoding="utf-8")
    rows = {line.split(" | ")[0].strip("| "): line for line in page.splitlines() if line.startswith("| ")}
    assert all(rows[cause].endswith(f" | {rate.points} |") for cause, rate in RATES.items())


# Laws.


@st.composite
def arrangements(draw: st.DrawFn) -> Arrangement:
    """A few notes anywhere on the neck, in two bars."""
    notes = []
    for _ in range(draw(st.integers(0, 8))):
        string, fret = draw(st.integers(1, 6)), draw(st.integers(0, 12))
        names = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
        octave, tone = divmod(STANDARD_TUNING.open_strings[string - 1] + fret, 12)
        onset = Fraction(draw(st.integers(0, 30)), 4)
        finger = draw(st.integers(1, 4)) if fret else 0
        notes.append(
            make_note("inner", onset, "1/2", f"{names[tone]}{octave - 1}", string=string, finger=finger)
        )
    tempo = Fraction(draw(st.integers(20, 300)))
    return make_arrangement(notes, make_bars(2), tempo_quarters_per_minute=tempo)


@settings(deadline=None)
@given(arrangements())
def test_the_points_alone_are_the_totals(arrangement: Arrangement) -> None:
    totals = tuple(each.total for each in measure_difficulty(arrangement, LEVEL, 0.9))
    assert measure_points(arrangement, LEVEL, 0.9) == totals


@settings(deadline=None)
@given(arrangements())
def test_no_part_is_negative_and_the_total_is_their_sum(arrangement: Arrangement) -> None:
    for each in measure_difficulty(arrangement, LEVEL):
        assert set(each.parts) == set(Cause)
        assert min(each.parts.values()) >= 0
        assert each.total == pytest.approx(sum(each.parts.values()), abs=0.01)
        assert len(each.reasons) == sum(value > 0 for value in each.parts.values())


@settings(deadline=None)
@given(arrangements(), st.integers(11, 40))
def test_faster_is_never_easier(arrangement: Arrangement, tenths: int) -> None:
    arrangement = replace(arrangement, barres=(make_barre(3, 5, 1, 2),))
    faster = replace(
        arrangement,
        tempo_quarters_per_minute=arrangement.tempo_quarters_per_minute * Fraction(tenths, 10),
    )
    slow, fast = (measure_difficulty(each, LEVEL) for each in (arrangement, faster))
    assert all(one.total <= other.total for one, other in zip(slow, fast, strict=True))


@settings(deadline=None)
@given(arrangements(), st.integers(0, 3), st.integers(1, 4))
def test_a_longer_or_fuller_barre_is_never_easier(arrangement: Arrangement, onset: int, more: int) -> None:
    plain, longer, fuller = (
        sum(
            each.parts[Cause.BARRE]
            for each in measure_difficulty(replace(arrangement, barres=(barre,)), LEVEL)
        )
        for barre in (
            make_barre(3, 2, onset, 1),
            make_barre(3, 2, onset, 1 + more),
            make_barre(3, 2 + more, onset, 1),
        )
    )
    assert plain < min(longer, fuller)


@settings(deadline=None)
@given(arrangements(), st.integers(0, 3))
def test_a_smaller_hand_never_finds_it_easier(arrangement: Arrangement, tenths: int) -> None:
    small, normal = (measure_difficulty(arrangement, LEVEL, size) for size in (0.9 - tenths / 10, 1.0))
    assert all(
        one.parts[Cause.STRETCH] >= other.parts[Cause.STRETCH]
        for one, other in zip(small, normal, strict=True)
    )


@settings(deadline=None)
@given(arrangements(), st.integers(1, 8))
def test_a_longer_hold_is_never_easier(arrangement: Arrangement, quarters: int) -> None:
    """A bass held by a finger of its own on string 6, under whatever is played on the others."""
    above = [note for note in arrangement.notes if note.place.string < 6]
    holds = []
    for length in (Fraction(1, 2), Fraction(1, 2) + quarters):
        bass = stop("G2", 6, 3, 0, str(length))
        measured = measure_difficulty(replace(arrangement, notes=(*above, bass)), LEVEL)
        holds.append(sum(each.parts[Cause.HOLDS] for each in measured))
    assert holds[0] <= holds[1]


def test_every_rate_has_its_unit_and_its_reason() -> None:
    assert set(RATES) == set(Cause)
    assert all(rate.points > 0 and rate.unit and rate.reason for rate in RATES.values())
