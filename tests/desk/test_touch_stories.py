"""The page touched: notes and bars opened, settled and set free, told as stories and done in a real browser."""

import re
from fractions import Fraction

import pytest
from playwright.sync_api import Locator, Page, expect

from apoyando.model.arrangement import Role
from apoyando.model.locks import NoteLock, PositionLock, ShapeLock
from apoyando.model.plan import Section
from desk.running import PHONE, RunningDesk
from desk.working import TUNE, await_drawn, await_step, bring_in, follow, plan_of


@pytest.fixture
def drawn(song: Page) -> Page:
    """The song's page, ready to be touched."""
    expect(note(song, "bar 1, beat 1: ", "tune")).to_be_attached()
    return song


def note(page: Page, place: str, voice: str) -> Locator:
    return page.locator(f'#leaves .note[aria-label^="{place}"][aria-label*=", {voice},"]').first


def touch(page: Page, place: str, voice: str = "tune") -> Locator:
    """The panel beside the page, after a note was clicked and its ways are weighed."""
    # A head that is hollow lets the pointer through; the page finds the nearest all the same.
    note(page, place, voice).locator(".notehead").click(force=True)
    panel = page.locator("#touched")
    expect(panel.get_by_role("listitem")).not_to_have_count(0)
    return panel


def open_bar(page: Page, number: str) -> Locator:
    page.get_by_label("Bar", exact=True).fill(number)
    page.get_by_role("button", name="Settle something in it").click()
    expect(page.get_by_role("heading", name=f"Bar {number}", exact=True)).to_be_visible()
    return page.locator("#touched")


def test_a_note_shows_its_other_places_on_the_fingerboard_with_what_they_would_cost(drawn: Page) -> None:
    panel = touch(drawn, "bar 1, beat 1: ")

    expect(panel.get_by_role("heading", name="Bar 1, beat 1: tune")).to_be_focused()
    expect(panel.locator(".spot.is-now")).to_have_count(1)
    expect(panel.get_by_text("as now", exact=True)).to_have_count(1)
    expect(panel.locator(".way-list").get_by_text(re.compile(r"dearer, \+\d+")).first).to_be_visible()
    assert panel.locator(".spot").count() >= 3
    expect(drawn.locator("#leaves .note.chosen")).to_have_count(1)


def test_a_place_is_chosen_and_the_rest_is_arranged_around_it(
    drawn: Page, desk: RunningDesk, title: str
) -> None:
    panel = touch(drawn, "bar 1, beat 1: ")
    spot = panel.locator('.spot:not(.is-now)[aria-label*="fret"]').first
    where = (spot.get_attribute("data-spot") or "").split("-")
    spot.click()
    ways = panel.get_by_role("list", name="Ways to play it").get_by_role("button")
    expect(ways.first).to_contain_text(f"string {where[0]}, fret {where[1]}, finger")
    ways.first.click()
    await_step(drawn, 1, 1)

    expect(note(drawn, "bar 1, beat 1: ", "tune")).to_have_attribute(
        "aria-label", re.compile(f"string {where[0]}, fret {where[1]},")
    )
    (lock,) = plan_of(desk, title).locks
    assert isinstance(lock, NoteLock)
    assert (lock.string, lock.fret) == (int(where[0]), int(where[1]))
    expect(drawn.locator("#settled")).to_contain_text(str(lock))
    expect(panel).to_contain_text("Settled by you")

    panel.get_by_role("button", name="Let it free again").click()
    await_step(drawn, 2, 2)
    assert plan_of(desk, title).locks == ()
    drawn.get_by_role("button", name="Undo").click()
    await_step(drawn, 1, 2)
    assert plan_of(desk, title).locks == (lock,)


def test_an_inner_note_is_left_out_and_comes_back(drawn: Page, desk: RunningDesk, title: str) -> None:
    label = drawn.locator('#leaves .note[aria-label*="inner voice"]').first.get_attribute("aria-label") or ""
    place = label.split(":")[0] + ": "
    panel = touch(drawn, place, "inner voice")
    panel.get_by_role("button", name="Leave it out").click()
    await_step(drawn, 1, 1)

    assert [lock.is_silent for lock in plan_of(desk, title).locks if isinstance(lock, NoteLock)] == [True]
    expect(note(drawn, place, "inner voice")).to_have_count(0)
    expect(panel).to_contain_text("Nothing is struck here now.")

    panel.get_by_role("button", name="Let it free again").click()
    await_step(drawn, 2, 2)
    expect(note(drawn, place, "inner voice")).to_have_attribute("aria-label", label)


def test_a_note_is_settled_without_a_mouse(drawn: Page, desk: RunningDesk, title: str) -> None:
    first = drawn.locator('#leaves .note[tabindex="0"]')
    first.focus()
    drawn.keyboard.press("ArrowRight")
    expect(note(drawn, "bar 1, beat 1: ", "tune")).to_be_focused()
    drawn.keyboard.press("ArrowDown")
    expect(note(drawn, "bar 1, beat 1: ", "bass")).to_be_focused()
    drawn.keyboard.press("Enter")
    panel = drawn.locator("#touched")
    expect(panel.get_by_role("heading", name="Bar 1, beat 1: bass")).to_be_focused()
    spot = panel.locator(".spot:not(.is-now)").first
    spot.focus()
    drawn.keyboard.press("Enter")
    expect(panel.locator(".way-list li:not([hidden]) button").first).to_be_focused()
    drawn.keyboard.press("Enter")
    await_step(drawn, 1, 1)
    expect(panel.get_by_role("heading", name="Bar 1, beat 1: bass")).to_be_focused()

    assert [lock.voice for lock in plan_of(desk, title).locks if isinstance(lock, NoteLock)] == [Role.BASS]
    drawn.keyboard.press("Escape")
    expect(panel).to_be_hidden()
    expect(note(drawn, "bar 1, beat 1: ", "bass")).to_be_focused()


def test_a_bar_gets_a_texture_is_made_easier_and_does_without_a_barre(
    drawn: Page, desk: RunningDesk, title: str
) -> None:
    drawn.locator('#leaves .bar[data-index="3"]').first.click(position={"x": 3, "y": 3}, force=True)
    panel = drawn.locator("#touched")
    panel.get_by_label("Texture").select_option(label="bare")
    await_step(drawn, 1, 1)
    panel.get_by_label("Easier by").select_option(label="2 steps")
    await_step(drawn, 2, 2)
    panel.get_by_label("No barre").check()
    await_step(drawn, 3, 3)

    plan = plan_of(desk, title)
    assert plan.sections == (Section("3", "bare", "", 2),)
    assert [str(lock) for lock in plan.locks] == ["bar 3: no barre"]
    expect(panel).to_contain_text("Bare;")

    drawn.locator("#settled").get_by_role("button", name="Take out bar 3: no barre").click()
    await_step(drawn, 4, 4)
    assert plan_of(desk, title).locks == ()
    expect(panel.get_by_label("No barre")).not_to_be_checked()


def test_a_chord_shape_is_typed_and_one_that_is_none_is_told(
    drawn: Page, desk: RunningDesk, title: str
) -> None:
    panel = open_bar(drawn, "2")
    panel.get_by_label("Chord shape").fill("x3201")
    panel.get_by_label("Chord shape").press("Enter")
    expect(drawn.get_by_role("alert")).to_contain_text("write six frets from string 6 to string 1")
    assert plan_of(desk, title).locks == ()

    panel.get_by_label("Chord shape").fill("x32010")
    panel.get_by_label("Chord shape").press("Enter")
    await_step(drawn, 1, 1)
    (lock,) = plan_of(desk, title).locks
    assert isinstance(lock, ShapeLock)
    assert lock.frets == (None, 3, 2, 0, 1, 0)


def test_a_position_is_weighed_and_chosen_and_let_free(drawn: Page, desk: RunningDesk, title: str) -> None:
    panel = open_bar(drawn, "2")
    panel.get_by_role("button", name="What would each cost?").click()
    positions = panel.get_by_role("list", name="Positions")
    expect(positions.get_by_role("button", name=re.compile("Position [IVX]+"))).not_to_have_count(0)
    positions.get_by_role("button").first.click()
    await_step(drawn, 1, 1)

    assert isinstance(plan_of(desk, title).locks[0], PositionLock)
    panel.get_by_role("button", name="Let it free").click()
    await_step(drawn, 2, 2)
    assert plan_of(desk, title).locks == ()


def test_locks_that_clash_are_told_by_the_smallest_set_of_them_and_one_is_taken_out(
    drawn: Page, desk: RunningDesk, title: str
) -> None:
    panel = touch(drawn, "bar 2, beat 1: ")
    way = panel.locator('.way-list button[data-way]:not([data-way$="-0"])').first
    finger = (way.get_attribute("data-way") or "")[-1]
    before = way.element_handle()
    way.click()
    await_step(drawn, 1, 1)
    drawn.wait_for_function("before => !before.isConnected", arg=before)  # the panel is that of the new page
    panel.get_by_role("button", name="The whole bar").click()
    panel.get_by_label("No barre").check()
    await_step(drawn, 2, 2)
    panel.get_by_label("Keep free").select_option(label=f"finger {finger}")

    alert = drawn.get_by_role("alert")
    expect(alert).to_contain_text("These 2 locks cannot be kept together")
    expect(alert).to_contain_text(f"bar 2: finger {finger} free")
    expect(alert).not_to_contain_text("no barre")
    drawn.locator("#settled").get_by_role("button", name=f"Take out bar 2: finger {finger} free").click()
    await_step(drawn, 4, 4)
    expect(drawn.locator("#refused")).to_be_empty()
    assert len(plan_of(desk, title).locks) == 2


def test_there_is_no_such_bar(drawn: Page) -> None:
    drawn.get_by_label("Bar", exact=True).fill("99")
    drawn.get_by_role("button", name="Settle something in it").click()
    expect(drawn.get_by_role("alert")).to_contain_text("There is no bar 99; the bars are numbered 0 to 8.")


def test_a_finding_leads_to_its_bar(drawn: Page) -> None:
    drawn.locator("#told summary").first.click()
    finding = drawn.locator("#told details[open] .finding").first
    number = finding.get_attribute("data-lead")
    finding.click()

    expect(drawn.locator("#leaves .tint.led").first).to_be_in_viewport()
    expect(drawn.locator(f'#leaves .note[aria-label^="bar {number},"]').first).to_be_focused()


def test_what_is_edited_outside_is_seen_in_what_is_settled(
    drawn: Page, desk: RunningDesk, title: str
) -> None:
    file = next(desk.shelf.glob(f"{title.lower().replace(' ', '-')}/plan.toml"))
    file.write_text(file.read_text() + "\n[[locks]]\nbar = 2\nbarre = false\n")
    expect(drawn.locator("#settled")).to_contain_text("bar 2: no barre")


def test_what_stays_down_is_drawn_beneath_each_system_on_request(drawn: Page) -> None:
    held = drawn.locator("#redrawn")
    drawn.get_by_label("Show what stays down").check()
    expect(held.get_by_text("the hand lets go")).to_be_visible()
    expect(drawn.locator("#leaves")).to_be_hidden()
    expect(held.get_by_role("group", name="with its holds, page 1 of")).to_be_visible()

    held.locator('.note[aria-label^="bar 2, beat 1: "][aria-label*=", bass,"]').press("Enter")
    expect(drawn.locator("#touched")).to_contain_text("It may ring until bar")
    heads = held.locator(".notehead").count()
    drawn.get_by_label("Texture", exact=True).first.select_option(label="bare")
    await_step(drawn, 1, 1)
    fewer = drawn.locator("#leaves .notehead").count()
    assert fewer < heads
    expect(held.locator(".notehead")).to_have_count(fewer)

    drawn.get_by_label("Show what stays down").uncheck()
    expect(held).to_be_hidden()
    expect(drawn.locator('#leaves .note[aria-label^="bar 2, beat 1: "]').first).to_be_visible()


def test_on_a_telephone_the_notes_are_large_and_can_be_touched(page: Page, title: str) -> None:
    page.set_viewport_size(PHONE)  # type: ignore[arg-type] # a size
    bring_in(page, f"{title}.abc", TUNE.format(title=title))
    follow(page, "Arrange it")
    await_drawn(page)
    large = page.locator("#redrawn")
    expect(large.get_by_role("group", name=f"{title}, in large notes, page 1 of")).to_be_visible()
    expect(page.locator("#leaves")).to_be_hidden()
    width = large.locator(".notehead").first.bounding_box()

    large.locator('.note[aria-label^="bar 2, beat 1: "] .notehead').first.click(force=True)
    expect(page.locator("#touched")).to_contain_text("Bar 2, beat 1")
    page.get_by_role("button", name="Close").click()

    follow(page, "On the stand")
    stand = page.locator(".leaf .notehead").first.bounding_box()
    page.go_back()

    page.get_by_role("checkbox", name="Large notes").uncheck()
    expect(large).to_be_hidden()
    usual = page.locator("#leaves .notehead").first.bounding_box()
    assert width
    assert usual
    assert stand
    assert min(width["width"], stand["width"]) > 1.7 * usual["width"]


def inner_notes(page: Page, place: str) -> list[str]:
    """What is told of the inner notes that are struck in a place, without the place."""
    found = page.locator(f'#leaves .note[aria-label^="{place}"][aria-label*=", inner voice,"]')
    labels = [each.get_attribute("aria-label") or "" for each in found.all()]
    return [label.partition(": ")[2] for label in labels]


def test_of_two_inner_notes_struck_together_one_is_left_out_and_comes_back(
    drawn: Page, desk: RunningDesk, title: str
) -> None:
    drawn.get_by_label("Texture", exact=True).select_option(label="bass and chord")
    await_step(drawn, 1, 1)
    expect(note(drawn, "bar 1, beat 1: ", "tune")).to_be_attached()
    place = next(
        place
        for place in (f"bar {bar}, beat {beat}: " for bar in range(1, 9) for beat in (1, 2, 3))
        if len(inner_notes(drawn, place)) == 2
    )
    one, other = inner_notes(drawn, place)
    panel = touch(drawn, place, "inner voice")
    expect(panel).to_contain_text("Struck together with it:")
    touched = panel.locator(".now").inner_text()
    kept = next(each for each in (one, other) if each.split(", ")[0] not in touched)
    panel.get_by_role("button", name="Leave it out").click()
    await_step(drawn, 2, 2)

    expect(drawn.locator("#touched .settled-note").first).to_be_visible()
    assert [each.split(", finger")[0] for each in inner_notes(drawn, place)] == [kept.split(", finger")[0]]
    assert len(plan_of(desk, title).locks) == 2

    panel.get_by_role("button", name="Let it free again").click()
    await_step(drawn, 3, 3)
    expect(note(drawn, "bar 1, beat 1: ", "tune")).to_be_attached()
    assert sorted(inner_notes(drawn, place)) == sorted((one, other))
    assert plan_of(desk, title).locks == ()


def test_an_inner_note_is_added_where_the_texture_has_none(
    drawn: Page, desk: RunningDesk, title: str
) -> None:
    drawn.get_by_label("Texture", exact=True).select_option(label="bare")
    await_step(drawn, 1, 1)
    expect(note(drawn, "bar 2, beat 1: ", "tune")).to_be_attached()
    assert inner_notes(drawn, "bar 2, beat 2: ") == []
    panel = open_bar(drawn, "2")
    panel.get_by_label("Another inner note on beat").select_option("2")
    panel.get_by_role("button", name="Show its places").click()
    expect(panel.get_by_role("heading", name="Bar 2, beat 2: inner voice")).to_be_focused()
    expect(panel).to_contain_text("Nothing is struck here now.")
    ways = panel.get_by_role("list", name="Ways to play it").get_by_role("button")
    chosen = ways.first.inner_text()
    ways.first.click()
    await_step(drawn, 2, 2)

    (lock,) = plan_of(desk, title).locks
    assert isinstance(lock, NoteLock)
    assert (lock.bar, lock.beat, lock.voice) == ("2", Fraction(2), Role.INNER)
    expect(note(drawn, "bar 2, beat 2: ", "inner voice")).to_be_attached()
    (struck,) = inner_notes(drawn, "bar 2, beat 2: ")
    assert chosen.split(" (")[0] in struck

    panel.get_by_role("button", name="Let it free again").click()
    await_step(drawn, 3, 3)
    assert plan_of(desk, title).locks == ()
