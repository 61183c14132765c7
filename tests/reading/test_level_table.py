from dataclasses import fields
from fractions import Fraction
from importlib.resources import files
from itertools import pairwise

import pytest

from apoyando.model.errors import UsageError
from apoyando.model.hand import FINGER_PAIRS, Finger
from apoyando.model.instrument import Fret, Place, StringNumber, distance_mm
from apoyando.model.level import Level, SpanLimit
from apoyando.reading.level_table import load_default_levels, read_levels


def default_text() -> str:
    return (files("apoyando.reading") / "levels.toml").read_text(encoding="utf-8")


def test_the_program_comes_with_three_levels_in_order_of_difficulty() -> None:
    assert list(load_default_levels()) == ["early", "intermediate", "advanced"]


def test_intermediate_has_the_values_measured_on_fingered_chord_shapes() -> None:
    # p95 / p99 of 2,054 shapes fingered by people (npm @tombatossals/chords-db 0.5.1), rounded up a little.
    level = load_default_levels()["intermediate"]
    assert level.spans[Finger.INDEX, Finger.MIDDLE] == SpanLimit(56, 69)
    assert level.spans[Finger.INDEX, Finger.LITTLE] == SpanLimit(96, 104)
    assert (level.accompaniment_highest_fret, level.melody_highest_fret, level.peak_fret) == (7, 9, 12)
    assert level.barre_quarters == 2
    assert level.accompaniment_shortest == Fraction(1, 2)


def test_an_early_player_has_no_barre_and_the_others_do() -> None:
    assert [level.allows_barre for level in load_default_levels().values()] == [False, True, True]


def test_each_level_allows_at_least_what_the_one_before_allows() -> None:
    levels = list(load_default_levels().values())
    for easier, harder in pairwise(levels):
        assert easier.melody_highest_fret <= harder.melody_highest_fret
        assert easier.struck_together <= harder.struck_together
        assert easier.shift_frets <= harder.shift_frets
        assert easier.accompaniment_shortest >= harder.accompaniment_shortest
        for pair in FINGER_PAIRS:
            assert easier.spans[pair].comfortable_mm <= harder.spans[pair].comfortable_mm
            assert easier.spans[pair].outermost_mm <= harder.spans[pair].outermost_mm


def test_every_level_can_lie_one_finger_per_fret_in_first_position() -> None:
    # Common practice, no source: the first four frets on one string are what a beginner's hand learns.
    whole_hand = distance_mm(Place(StringNumber(3), Fret(1)), Place(StringNumber(3), Fret(4)))
    for level in load_default_levels().values():
        assert whole_hand <= level.spans[Finger.INDEX, Finger.LITTLE].outermost_mm


def test_every_field_of_a_level_is_an_entry_of_the_table_and_every_entry_has_its_comment() -> None:
    entries = [line for line in default_text().splitlines() if "=" in line and not line.startswith("#")]
    assert all("#" in line for line in entries)
    names = {line.split("=")[0].strip() for line in entries}
    assert {field.name for field in fields(Level)} - {"name", "spans"} <= names


def test_a_teacher_may_add_a_level_of_their_own() -> None:
    levels = read_levels(default_text().replace("early", "first-year"))
    assert "first-year" in levels
    assert levels["first-year"].name == "first-year"


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("peak_fret = 5 ", "peak_fret = 25 ", r"level early: peak_fret = 25 .* from 0 to 19"),
        ("barre_quarters = 2 ", "barre_quarters = -1 ", r"level intermediate: barre_quarters = -1"),
        ("struck_together = 2 ", "struck_together = true ", r"struck_together = true"),
        ("struck_together = 2 ", "strings = 2 ", r"there is no entry strings .*struck_together"),
        ("peak_fret = 5 ", "# peak_fret = 5 ", r"peak_fret .* missing"),
        ('melody_shortest = "1/2"', 'melody_shortest = "an eighth"', r'melody_shortest = "an eighth"'),
        ('melody_shortest = "1/2"', "melody_shortest = 0", r"no note is that short"),
        ("1-2 = [36, 45]", "1-2 = [45, 36]", r"spans: 1-2 = \[45, 36\] .* outermost"),
        ("1-2 = [36, 45]", "1-2 = 36", r"1-2 = 36 .* two millimetre values"),
        ("1-2 = [36, 45]", "1-5 = [36, 45]", r"there is no entry 1-5"),
        ("[early]", "[early", r"not a settings file"),
        ("[early.spans]", "[early.stretches]", r"there is no entry stretches"),
    ],
)
def test_a_bad_entry_is_named_with_its_value_and_what_would_be_right(
    old: str, new: str, message: str
) -> None:
    assert old in default_text()
    with pytest.raises(UsageError, match=message):
        read_levels(default_text().replace(old, new, 1))


def test_an_empty_table_is_refused() -> None:
    with pytest.raises(UsageError, match="at least one level"):
        read_levels("")
