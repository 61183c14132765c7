"""The bars to practise first, each with a sentence that a student understands."""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import pytest

from apoyando.model.arrangement import Note
from apoyando.teaching import BarDifficulty, Cause, choose_hard_bars, measure_difficulty
from builders import make_arrangement, make_barre, make_bars, make_note
from teaching.test_difficulty import LEVEL, stop


def bar(index: int, points: float, reason: str = "", first_alike: int | None = None) -> BarDifficulty:
    parts = {**dict.fromkeys(Cause, 0.0), Cause.HOLDS: points}
    reasons = (reason or f"reason {index}",) if points else ()
    alike = index if first_alike is None else first_alike
    return BarDifficulty(index=index, bar=str(index + 1), first_alike=alike, parts=parts, reasons=reasons)


def chosen(points: Sequence[float]) -> list[str]:
    return [each.bar for each in choose_hard_bars([bar(i, value) for i, value in enumerate(points)])]


def test_the_hardest_bars_come_first() -> None:
    assert chosen([1.0, 9.0, 2.0, 10.0]) == ["4", "2"]


@pytest.mark.parametrize(("third", "is_shown"), [(8.0, True), (7.9, False)])
def test_a_third_bar_is_shown_if_it_is_nearly_as_hard_as_the_second(third: float, is_shown: bool) -> None:
    assert chosen([20.0, 10.0, third]) == ["1", "2", *(["3"] if is_shown else [])]


def test_there_are_never_more_than_three() -> None:
    assert chosen([10.0, 10.0, 10.0, 10.0]) == ["1", "2", "3"]


def test_an_easy_bar_is_not_hard_even_where_none_is_harder() -> None:
    """Five points: three of four bars that the program writes at intermediate are easier."""
    assert chosen([4.9, 5.0, 0.0]) == ["2"]
    assert chosen([4.9, 1.0, 2.0]) == []
    assert chosen([]) == []


def test_of_bars_that_are_the_same_the_hardest_is_named_and_the_others_with_it() -> None:
    bars = [bar(0, 9.0), bar(1, 8.0), bar(2, 10.0, first_alike=0), bar(3, 9.0, first_alike=0)]
    first, second = choose_hard_bars(bars)
    assert first.sentence == "Bar 3: reason 2. Bars 1 and 4 are the same."
    assert second.sentence == "Bar 2: reason 1."


def test_one_and_the_same_reason_is_told_once() -> None:
    bars = [bar(0, 10.0, "the same"), bar(1, 10.0, "the same"), bar(2, 9.0), bar(3, 6.0)]
    assert [each.bar for each in choose_hard_bars(bars)] == ["1", "3"]


@pytest.mark.parametrize(("second", "is_told"), [(4.1, True), (4.0, False)])
def test_a_second_reason_is_told_if_it_weighs_nearly_as_much(second: float, is_told: bool) -> None:
    parts = {**dict.fromkeys(Cause, 0.0), Cause.HOLDS: 6.0, Cause.SHIFT: second}
    hard = replace(bar(0, 6.0), parts=parts, reasons=("a hold", "a shift"))
    (told,) = choose_hard_bars([hard])
    assert told.sentence == ("Bar 1: a hold; and a shift." if is_told else "Bar 1: a hold.")


def test_bars_are_the_same_where_notes_places_and_fingers_are() -> None:
    def play(bar_index: int, finger: int = 1) -> list[Note]:
        start = 4 * bar_index
        return [stop("G2", 6, 3, start, 4), stop("C4", 2, finger, start + 1, 1)]

    measured = measure_difficulty(make_arrangement([*play(0), *play(1, 2), *play(2)]), LEVEL)
    assert [each.first_alike for each in measured] == [0, 1, 0]


def sentence(notes: Sequence[Note], **more: object) -> str:
    """What is said first of the hardest bar, at a quarter a second, however easy it is."""
    arrangement = make_arrangement(notes, **{"bars": make_bars(2), **more})  # type: ignore[arg-type]
    slow = replace(arrangement, tempo_quarters_per_minute=Fraction(60))
    hardest = max(measure_difficulty(slow, LEVEL), key=lambda each: each.total)
    assert hardest.total > 0
    return f"Bar {hardest.bar}: {hardest.reasons[0]}."


def test_a_held_finger_is_told_with_its_note_and_where_the_others_go() -> None:
    held = stop("G4", 1, 4, 4, 4)
    others = [stop("C4", 2, 1, 5, 1), stop("E3", 4, 2, 5, 1)]
    assert sentence([held, *others]) == (
        "Bar 2: on beat 2 finger 4 stays on G (string 1) "
        "while fingers 1 and 2 go to C (string 2) and E (string 4)."
    )


def test_several_held_fingers_are_told_in_order() -> None:
    held = [stop("C3", 5, 3, 4, 4), stop("E3", 4, 2, 4, 4)]
    assert sentence([*held, stop("C4", 2, 1, "11/2", 1)]) == (
        "Bar 2: on beat 2½ fingers 2 and 3 stay on E (string 4) and C (string 5) "
        "while finger 1 goes to C (string 2)."
    )


def test_a_stretch_is_told_in_millimetres() -> None:
    assert sentence([stop("D#3", 4, 1), stop("B3", 3, 4)]) == (
        "Bar 1: on beat 1 fingers 1 and 4 open to 99 mm, for D# (string 4, fret 1) and B (string 3, fret 4)."
    )


def test_a_shift_is_told_with_its_positions_and_its_time() -> None:
    assert sentence([stop("C4", 2, 1, 0, 1), stop("E4", 2, 1, 1, 1)]) == (
        "Bar 1: on beat 2 the hand shifts from position I to V within 1.0 seconds, for E (string 2)."
    )


def test_a_barre_is_told_with_its_strings_and_its_beats() -> None:
    note = replace(stop("C4", 2, 1, 4, 1), in_barre=True)
    assert sentence([note], barres=(make_barre(1, 5, 4, "3/2"),)) == (
        "Bar 2: from beat 1 a barre at I lies across 5 strings for 1½ beats."
    )
    assert sentence([note], barres=(make_barre(1, 5, 4, "1/2"),)).endswith("for ½ beat.")


def test_beats_are_those_that_are_felt_in_compound_meters_and_after_a_pickup() -> None:
    note = replace(stop("C4", 2, 1, 1, 1), in_barre=True)
    bars = make_bars(1, "6/8", pickup=1)
    assert sentence([note], bars=bars, barres=(make_barre(1, 6, "5/2", "3/2"),)) == (
        "Bar 1: from beat 2 a barre at I lies across all six strings for 1 beat."
    )
    assert sentence([note], bars=bars, barres=(make_barre(1, 6, 0, "1/2"),)) == (
        "Bar 0: from beat 2⅓ a barre at I lies across all six strings for ⅓ beat."
    )


def test_hurry_is_told_with_its_place_its_length_and_its_pace() -> None:
    notes = [make_note("inner", Fraction(n, 4), "1/4", "G3") for n in (2, 3)]
    assert sentence(notes) == "Bar 1: from beat 1½ two strokes follow each other at 4.0 a second."
    run = [make_note("inner", Fraction(n, 4), "1/4", "G3") for n in range(12, 24)]
    assert sentence(run, bars=make_bars(2)).startswith("Bar 2: from beat 1 eight strokes follow each other")


def test_signs_to_read_are_told_by_their_notes() -> None:
    assert sentence([make_note("inner", 0, 1, "F#3")]) == "Bar 1: on beat 1 F# is not in the key signature."
    away = make_note("inner", 0, 1, "E4", string=2)
    assert sentence([away]) == "Bar 1: on beat 1 E is played on string 2 at fret 5."
    assert sentence([make_note("bass", 0, 1, "E2")]) == "Bar 1: on beat 1 E lies on 3 ledger lines."
