from dataclasses import fields
from fractions import Fraction
from importlib.resources import files
from itertools import pairwise
from pathlib import Path

import pytest

from apoyando.model.errors import UsageError
from apoyando.model.hand import FINGER_PAIRS, Finger
from apoyando.model.instrument import Fret, Place, StringNumber, distance_mm
from apoyando.model.level import Level, SpanLimit
from apoyando.model.pitch import Mode
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


def test_early_spans_are_those_of_open_position_shapes() -> None:
    # p95 of the 228 shapes without a barre on frets 1 to 3 among those 2,054, at this model's points of contact.
    spans = load_default_levels()["early"].spans
    outermost = {f"{low:d}-{high:d}": limit.outermost_mm for (low, high), limit in spans.items()}
    measured = {"1-2": 50, "1-3": 75, "2-3": 49, "2-4": 71, "3-4": 45}
    assert {pair: outermost[pair] for pair in measured} == measured


def test_the_open_c_chord_is_a_stretch_for_early_hands_and_none_for_others() -> None:
    open_c = distance_mm(Place(StringNumber(2), Fret(1)), Place(StringNumber(5), Fret(3)))
    early, *others = (level.spans[Finger.INDEX, Finger.RING] for level in load_default_levels().values())
    assert early.comfortable_mm < open_c < early.outermost_mm
    assert all(open_c < other.comfortable_mm for other in others)


@pytest.mark.parametrize(
    ("level", "names"),
    [
        ("early", "C G D A E Am Em Dm"),
        ("intermediate", "C G D A E Am Em Dm F Bm Gm F#m"),
        ("advanced", ""),
    ],
)
def test_each_level_has_its_keys(level: str, names: str) -> None:
    """The shared table of starting values (common practice, no source); none named is every key."""
    keys = load_default_levels()[level].keys
    assert [f"{key.tonic}{'m' if key.mode is Mode.MINOR else ''}" for key in keys] == names.split()


def test_a_length_keeps_its_seconds_above_the_tempo_of_the_level_and_its_value_below() -> None:
    level = load_default_levels()["intermediate"]
    assert level.at_tempo(Fraction(1, 2), Fraction(60)) == Fraction(1, 2)
    assert level.at_tempo(Fraction(1, 2), Fraction(100)) == Fraction(1, 2)
    assert level.at_tempo(Fraction(1, 2), Fraction(200)) == 1


def test_a_teachers_own_file_is_named_in_its_messages() -> None:
    with pytest.raises(UsageError, match=r"^my\.toml, level early: peak_fret"):
        read_levels(default_text().replace("peak_fret = 5 ", "peak_fret = 25 ", 1), "my.toml")


def test_an_early_player_has_no_barre_and_the_others_do() -> None:
    assert [level.allows_barre for level in load_default_levels().values()] == [False, True, True]


def test_each_level_allows_at_least_what_the_one_before_allows() -> None:
    levels = list(load_default_levels().values())
    for easier, harder in pairwise(levels):
        assert easier.melody_highest_fret <= harder.melody_highest_fret
        assert easier.struck_together <= harder.struck_together
        assert easier.shift_frets <= harder.shift_frets
        assert easier.accompaniment_shortest >= harder.accompaniment_shortest
        assert easier.melody_stepwise_shortest >= harder.melody_stepwise_shortest
        assert easier.shift_quarters >= harder.shift_quarters
        assert set(easier.barre_kinds) <= set(harder.barre_kinds)
        assert set(easier.keys) <= set(harder.keys) or not harder.keys
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


def test_the_page_on_levels_tells_of_every_entry_and_every_span() -> None:
    page = (Path(__file__).parents[2] / "docs" / "levels.md").read_text(encoding="utf-8")
    assert all(f"| `{field.name}` |" in page for field in fields(Level) if field.name != "name")
    for low, high in FINGER_PAIRS:
        limits = (level.spans[low, high] for level in load_default_levels().values())
        row = " | ".join(f"{limit.comfortable_mm:g} / {limit.outermost_mm:g}" for limit in limits)
        assert f"| {low:d}–{high:d} | {row} |" in page


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
        ("1-2 = [39, 50]", "1-2 = [50, 39]", r"spans: 1-2 = \[50, 39\] .* outermost"),
        (
            'barre_kinds = ["half", "full"] ',
            'barre_kinds = ["whole"] ',
            r'barre_kinds = "whole" .*half, full, hinge',
        ),
        ('barre_kinds = ["half", "full"] ', 'barre_kinds = "half" ', r'barre_kinds = "half" .*write a list'),
        ('barre_kinds = ["half", "full"] ', "barre_kinds = [] ", r"barre_quarters = .*barre_kinds is empty"),
        ("barre_quarters = 2 ", "barre_quarters = 0 ", r"barre_quarters = .*barre_kinds is empty"),
        ('"Gm", "F#m"]', '"Gm", "H"]', r'keys = "H" cannot be meant: .*F#m'),
        ('keys = ["any"] ', "keys = [] ", r'keys = .*\["any"\]'),
        ("tempo_quarters_per_minute = 100 ", "tempo_quarters_per_minute = 0 ", r"from 20 to 1000"),
        ("shift_quarters = 2 ", 'shift_quarters = "a half" ', r'shift_quarters = "a half"'),
        ("melody_stepwise_shortest = ", "stepwise_shortest = ", r"there is no entry stepwise_shortest"),
        ("1-2 = [39, 50]", "1-2 = 39", r"1-2 = 39 .* two millimetre values"),
        ("1-2 = [39, 50]", "1-5 = [39, 50]", r"there is no entry 1-5"),
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
