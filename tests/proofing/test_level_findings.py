"""Where an arrangement asks more than its level: findings, never refutations."""

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from apoyando.model.arrangement import Note
from apoyando.proofing import LevelRule, find_over_level
from builders import make_arrangement, make_barre, make_bars, make_note
from proofing.scene import INTERMEDIATE, barre_note, make_level, stop


def rules(*notes: Note, **more: Any) -> list[LevelRule]:
    arrangement = make_arrangement(notes, **more)
    return [finding.rule for finding in find_over_level(arrangement, INTERMEDIATE)]


def test_an_easy_bar_has_no_findings() -> None:
    assert rules(stop(5, 3, 3, 0, 2), stop(3, 0, 0, 1, 1)) == []


@pytest.mark.parametrize(("role", "fret", "is_over"), [
    ("inner", 7, False), ("inner", 8, True), ("bass", 8, True), ("melody", 9, False), ("melody", 10, True),
])  # fmt: skip
def test_each_role_has_its_highest_fret(role: str, fret: int, is_over: bool) -> None:
    pitch = {7: "B4", 8: "C5", 9: "C#5", 10: "D5"}[fret]
    note = make_note(role, 0, 2, pitch, string=1, finger=4)
    held = stop(4, 7, 1, 0, 2)
    assert rules(note, held) == ([LevelRule.HIGHEST_FRET] if is_over else [])


@pytest.mark.parametrize(("pitch", "under", "is_over"), [
    ("E5", 0, False), ("F5", 0, True), ("E5", 7, True),
])  # fmt: skip
def test_a_peak_over_open_strings_may_be_higher(pitch: str, under: int, is_over: bool) -> None:
    peak = make_note("melody", 0, 2, pitch, string=1, finger=4)
    accompaniment = stop(5, under, 1 if under else 0, 0, 2)
    assert rules(peak, accompaniment) == ([LevelRule.HIGHEST_FRET] if is_over else [])


@pytest.mark.parametrize(("quarters", "is_over"), [(2, False), ("33/16", True)])
def test_a_barre_lies_no_longer_than_the_level_says(quarters: int | str, is_over: bool) -> None:
    barre = make_barre(5, 4, 0, quarters)
    assert rules(barre_note(4, 5), barres=(barre,)) == ([LevelRule.BARRE] if is_over else [])


def test_barres_that_follow_each_other_at_one_fret_are_one() -> None:
    first, again = make_barre(5, 4, 0, 2), make_barre(5, 6, 2, 1)
    elsewhere, rested = make_barre(7, 4, 2, 1), make_barre(5, 4, 3, 1)
    assert rules(barre_note(4, 5), barres=(first, again)) == [LevelRule.BARRE]
    assert rules(barre_note(4, 5), barres=(first, elsewhere)) == []
    assert rules(barre_note(4, 5), barres=(first, rested)) == []


def test_a_level_without_barres_finds_every_one() -> None:
    arrangement = make_arrangement([barre_note(4, 5)], barres=(make_barre(5, 4, 0, "1/2"),))
    (finding,) = find_over_level(arrangement, make_level(barre_quarters=Fraction(0)))
    assert finding.rule is LevelRule.BARRE
    assert finding.sentence.endswith("none in this level.")


def test_short_values_are_found_in_each_voice_by_its_own_limit() -> None:
    level = make_level(accompaniment_shortest=Fraction(1), melody_shortest=Fraction(1, 2))
    melody = make_note("melody", 0, "1/2", "E4")
    inner = make_note("inner", 0, "1/2", "C4")
    assert find_over_level(make_arrangement([melody]), level) == ()
    assert [f.rule for f in find_over_level(make_arrangement([melody, inner]), level)] == [LevelRule.SHORTEST]


def test_no_more_notes_are_struck_together_than_the_level_says() -> None:
    three = [stop(string, 0, 0) for string in (1, 3, 5)]
    assert rules(*three) == []
    assert rules(*three, stop(6, 0, 0)) == [LevelRule.STRUCK_TOGETHER]
    assert rules(*three, stop(6, 0, 0, "1/2")) == []


def test_a_far_shift_is_found_where_the_hand_arrives_open_strings_between_or_not() -> None:
    near = [stop(2, 1, 1, 0, 1), stop(2, 6, 1, 1, 1)]
    far = [stop(2, 1, 1, 0, 1), stop(3, 0, 0, 1, 1), stop(2, 7, 1, 2, 1)]
    assert rules(*near) == []
    assert rules(*far) == [LevelRule.SHIFT]
    (finding,) = find_over_level(make_arrangement(far), INTERMEDIATE)
    assert finding.bar == "1"
    assert finding.onset == 2
    assert finding.sentence == "Bar 1, beat 3: the hand shifts 6 frets, at most 5."


def test_fingers_of_one_position_make_no_shift() -> None:
    assert rules(*(stop(2, 2 + finger, finger, finger, 1) for finger in (1, 2, 3, 4))) == []


def test_the_hand_lies_no_lower_than_the_first_position() -> None:
    assert rules(stop(1, 1, 4, 0, 1), stop(2, 6, 1, 1, 1)) == []


def test_a_bar_has_one_finding_for_each_rule_at_its_first_place_in_order_of_time() -> None:
    short = [make_note("melody", Fraction(n, 4), "1/4", "E4") for n in (1, 2, 17, 18)]
    findings = find_over_level(make_arrangement(short, make_bars(2)), INTERMEDIATE)
    assert [(f.bar, f.onset, f.rule) for f in findings] == [
        ("1", Fraction(1, 4), LevelRule.SHORTEST),
        ("2", Fraction(17, 4), LevelRule.SHORTEST),
    ]


def test_without_bars_there_is_nothing_to_find() -> None:
    short = make_arrangement([make_note("melody", 0, "1/4", "E4")])
    assert find_over_level(short, INTERMEDIATE)
    assert find_over_level(replace(short, bars=()), INTERMEDIATE) == ()


def test_a_small_barre_is_for_the_levels_that_have_it() -> None:
    small = make_barre(5, 4, 0, 1, highest_string=3, finger=3)
    note = barre_note(4, 5, finger=3)
    assert rules(note, barres=(small,)) == [LevelRule.SMALL_BARRE]
    arrangement = make_arrangement([note], barres=(small,))
    assert find_over_level(arrangement, make_level(small_barres=True)) == ()
