"""What a control that was moved means for the plan."""

import pytest
from starlette.datastructures import FormData, UploadFile

from apoyando.desk.choices import apply_choices, list_groups, read_choices
from apoyando.desk.words import name_minutes, name_value
from apoyando.model.plan import Plan, Section
from apoyando.model.sheet import Sheet
from apoyando.reading import change_plan, load_default_levels, write_sheet


@pytest.mark.parametrize(
    ("name", "typed", "entry"),
    [
        ("capo", "2", 2),
        ("hand_size", "0,9", 0.9),
        ("hand_size", " 0.9 ", 0.9),
        ("melody_octave", "", None),
        ("melody_octave", "-1", -1),
        ("minutes", "", None),
        ("minutes", "2.5", 2.5),
        ("spell_out", "true", True),
        ("spell_out", "false", False),
        ("key", "", ""),
        ("key", "F#", "F#"),
        ("capo", "two", "two"),
    ],
)
def test_a_field_becomes_an_entry_of_the_plan(name: str, typed: str, entry: object) -> None:
    assert read_choices(FormData([(name, typed)])) == {name: entry}


def test_only_what_was_sent_is_decided() -> None:
    assert read_choices(FormData([("level", "early"), ("unknown", "x")])) == {"level": "early"}


def test_rows_of_bars_become_sections_and_an_empty_row_is_left_out() -> None:
    rows = [("2", "", "bare"), ("", "", "arpeggio"), ("5", "8", "arpeggio")]
    form: list[tuple[str, str | UploadFile]] = [("sections", "yes")]
    for bar, to_bar, texture in rows:
        form += [("section_bar", bar), ("section_to_bar", to_bar), ("section_texture", texture)]

    plan = change_plan(Plan(), read_choices(FormData(form)), "your choice")

    assert plan.sections == (Section("2", "bare"), Section("5", "arpeggio", "8"))


def test_every_control_shows_what_the_plan_has_and_can_send_it_back() -> None:
    levels = load_default_levels()
    plan = Plan(key="G", capo=3, minutes=2.5, melody_octave=-3, texture="bare", spell_out=True)
    controls = [control for group in list_groups(plan, None, levels) for control in group.controls]
    form = FormData([(control.entry, control.value) for control in controls])

    assert all(control.value in control.values for control in controls if control.values)
    assert change_plan(Plan(), read_choices(form), "your choice") == plan


@pytest.mark.parametrize(
    ("entry", "value", "name"),
    [
        ("texture", "running-eighths", "running eighths"),
        ("key", "Bb", "B♭"),
        ("key", "F#", "F♯"),
        ("tuning", "drop-d", "drop D"),
        ("capo", 0, "none"),
        ("part", "Alto-Flute", "Alto-Flute"),
    ],
)
def test_values_have_the_names_of_the_trade(entry: str, value: object, name: str) -> None:
    assert name_value(value, entry) == name


@pytest.mark.parametrize(("minutes", "name"), [(0.1, "0:06"), (1.0, "1:00"), (1.99, "1:59"), (12.5, "12:30")])
def test_minutes_are_told_as_on_a_programme(minutes: float, name: str) -> None:
    assert name_minutes(minutes) == name


def test_of_the_page_only_what_was_sent_is_decided() -> None:
    plan = Plan(page=Sheet(staff_mm=9.0, lyrics=True))
    changes = read_choices(FormData([("page.margin", "12,5"), ("page.dynamics", "false")]))

    changed = apply_choices(plan, changes, tuple(load_default_levels()))
    assert changed.page == Sheet(staff_mm=9.0, lyrics=True, margin_mm=12.5, dynamics=False)


def test_every_entry_of_the_page_has_its_control() -> None:
    controls = {
        control.entry
        for group in list_groups(Plan(), None, load_default_levels())
        for control in group.controls
    }
    assert {f"page.{name}" for name in write_sheet("plan", Sheet())} <= controls
