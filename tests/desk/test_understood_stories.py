"""What was understood is put right, whatever file the song came in: told as stories, done in a browser."""

from fractions import Fraction
from pathlib import Path

import pytest
from playwright.sync_api import FilePayload, Page, expect

from apoyando.model.pitch import Key, Mode, Pitch
from apoyando.model.plan import ChordChange, NoteChange
from desk.running import EXAMPLES, RunningDesk
from desk.working import await_drawn, folder_of, follow, plan_of

ODE = EXAMPLES / "ode-to-joy.musicxml"


@pytest.fixture
def score(page: Page, title: str) -> Page:
    """The page on which a song that is no text was understood."""
    text = ODE.read_text().replace("Ode to Joy", title)
    file: FilePayload = {"name": "ode.musicxml", "mimeType": "text/xml", "buffer": text.encode()}
    page.get_by_label("Drop a lead sheet").set_input_files(file)
    expect(page.get_by_role("heading", name="What was understood")).to_be_visible()
    page.wait_for_load_state()
    return page


def source_of(desk: RunningDesk, title: str) -> Path:
    return next(folder_of(desk, title).glob("*.musicxml"))


def tune_of(page: Page, bar: int) -> list[str]:
    """The notes of a bar as they stand on the page."""
    return (
        page.get_by_role("group", name=f"The tune in bar {bar}", exact=True)
        .get_by_role("button")
        .all_inner_texts()
    )


def await_step(page: Page, now: int, last: int) -> None:
    expect(page.locator("#steps")).to_contain_text(f"step {now} of {last}")
    expect(page.locator("#stage")).to_be_empty()


def test_a_note_is_clicked_in_the_staff_and_gets_another_pitch(
    score: Page, desk: RunningDesk, title: str
) -> None:
    before = source_of(desk, title).read_bytes()
    score.locator("#leaves .note .notehead").nth(2).click()
    expect(score.get_by_role("heading", name="Bar 1, beat 3")).to_be_focused()
    score.get_by_role("button", name="Half step up").click()
    await_step(score, 1, 1)

    assert tune_of(score, 1) == ["F♯4", "F♯4", "G♯4", "A4"]
    expect(score.get_by_role("button", name="bar 1, beat 3: G♯4, quarter, yours")).to_be_visible()
    expect(score.get_by_role("button", name="Half step up")).to_be_focused()
    assert plan_of(desk, title).notes == (NoteChange(bar="1", beat=Fraction(3), pitch=Pitch.of("G", 1, 4)),)
    assert source_of(desk, title).read_bytes() == before


def test_two_half_steps_that_are_asked_for_at_once_are_a_whole_step(
    score: Page, desk: RunningDesk, title: str
) -> None:
    score.get_by_role("button", name="bar 1, beat 3: G4, quarter").click()
    score.get_by_role("button", name="Half step up").dblclick()
    await_step(score, 2, 2)

    assert tune_of(score, 1) == ["F♯4", "F♯4", "A4", "A4"]


def test_a_note_gets_another_length_and_is_as_before_again(
    score: Page, desk: RunningDesk, title: str
) -> None:
    score.get_by_role("button", name="bar 1, beat 3: G4, quarter").click()
    score.get_by_label("Length", exact=True).select_option("half note")
    await_step(score, 1, 1)
    assert tune_of(score, 1) == ["F♯4", "F♯4", "G4"]

    score.get_by_role("button", name="As before", exact=True).click()
    await_step(score, 2, 2)
    assert tune_of(score, 1) == ["F♯4", "F♯4", "G4", "A4"]
    assert plan_of(desk, title).notes == ()


def test_a_note_is_taken_out_and_another_is_put_in(score: Page, desk: RunningDesk, title: str) -> None:
    score.get_by_role("button", name="bar 1, beat 2: F♯4, quarter").click()
    score.get_by_role("button", name="Take it out").click()
    await_step(score, 1, 1)
    assert tune_of(score, 1) == ["F♯4", "G4", "A4"]
    expect(score.get_by_role("list").filter(has_text="no note")).to_be_visible()

    new = score.locator("#new-note")
    for label, value in (("bar", "1"), ("beat", "2"), ("note", "Bb4")):
        new.get_by_label(label, exact=True).fill(value)
    new.get_by_role("button", name="Put it in").click()
    await_step(score, 2, 2)
    assert tune_of(score, 1) == ["F♯4", "B♭4", "G4", "A4"]

    score.get_by_role("button", name="A note after it").click()
    await_step(score, 3, 3)
    expect(score.get_by_role("heading", name="Bar 1, beat 2½")).to_be_visible()
    assert tune_of(score, 1) == ["F♯4", "B♭4", "B♭4", "G4", "A4"]


def test_what_cannot_be_meant_is_told_and_is_no_step(score: Page, desk: RunningDesk, title: str) -> None:
    score.get_by_role("button", name="bar 1, beat 2: F♯4, quarter").click()
    score.get_by_label("Note", exact=True).fill("H9")
    score.get_by_label("Note", exact=True).press("Enter")

    expect(score.get_by_role("alert")).to_contain_text('write a note with its octave as "F#4"')
    await_step(score, 0, 0)
    assert plan_of(desk, title).notes == ()


def test_the_key_is_put_right_and_undone(score: Page, desk: RunningDesk, title: str) -> None:
    score.get_by_label("Written in", exact=True).select_option(label="B minor")
    expect(score.get_by_text("B minor, 4/4, 13 bars")).to_be_visible()
    assert plan_of(desk, title).written_key == Key(2, Mode.MINOR)

    score.get_by_role("button", name="Undo").click()
    expect(score.get_by_text("D major, 4/4, 13 bars")).to_be_visible()
    assert plan_of(desk, title).written_key is None


def test_with_another_pickup_what_was_put_right_stays_where_it_was(
    score: Page, desk: RunningDesk, title: str
) -> None:
    score.get_by_label("Chord in bar 2, beat 1", exact=True).fill("Em")
    score.get_by_role("button", name="Put right in bar 2, beat 1").click()
    expect(score.get_by_text("yours")).to_be_visible()
    score.wait_for_load_state()
    score.get_by_label("Pickup", exact=True).select_option(label="quarter")

    expect(score.get_by_text("D major, 4/4, 14 bars with a pickup")).to_be_visible()
    plan = plan_of(desk, title)
    assert plan.pickup == 1
    assert plan.chords == (ChordChange(bar="1", beat=Fraction(4), symbol="Em"),)


def test_the_page_is_made_of_what_was_put_right(score: Page, desk: RunningDesk, title: str) -> None:
    score.get_by_role("button", name="bar 1, beat 3: G4, quarter").click()
    score.get_by_role("button", name="Take it out").click()
    await_step(score, 1, 1)
    follow(score, "Arrange it")
    await_drawn(score)
    expect(score.locator("#leaves .note[aria-label*='bar 1, beat 2'][aria-label*='tune']")).not_to_have_count(
        0
    )

    expect(score.locator("#leaves .note[aria-label*='bar 1, beat 3:'][aria-label*='tune']")).to_have_count(0)


def test_a_note_is_put_right_without_a_mouse(score: Page) -> None:
    score.get_by_role("button", name="bar 1, beat 1: F♯4, quarter").focus()
    score.keyboard.press("Enter")
    score.get_by_role("button", name="Half step down").focus()
    score.keyboard.press("Enter")
    await_step(score, 1, 1)
    expect(score.get_by_role("button", name="Half step down")).to_be_focused()
    score.keyboard.press("Escape")
    expect(score.get_by_role("button", name="bar 1, beat 1: F4, quarter, yours")).to_be_focused()
