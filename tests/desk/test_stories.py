"""The work at the desk, told as stories and done in a real browser."""

import re

from playwright.sync_api import FilePayload, Page, expect

from apoyando.model.plan import ChordChange, Section
from apoyando.pipeline import make_lesson, make_piece
from apoyando.reading import load_default_levels
from desk.running import EXAMPLES, RunningDesk
from desk.working import TUNE, await_drawn, await_step, bring_in, folder_of, follow, plan_of


def choose(page: Page, label: str, choice: str, step: int) -> None:
    page.get_by_label(label, exact=True).select_option(label=choice)
    await_step(page, step, step)


def test_a_file_is_chosen_and_shown_as_it_was_understood(page: Page) -> None:
    page.get_by_label("Drop a lead sheet").set_input_files(EXAMPLES / "ode-to-joy.musicxml")

    expect(page.get_by_role("heading", name="Ode to Joy")).to_be_visible()
    expect(page.get_by_text("D major, 4/4, 13 bars")).to_be_visible()
    expect(page.get_by_role("img", name="Ode to Joy, page 1 of 1")).to_be_visible()
    expect(page.get_by_label("Chord in bar 1, beat 1", exact=True)).to_have_value("D")


def test_a_file_is_dropped(page: Page, title: str) -> None:
    transfer = page.evaluate_handle(
        """(text) => {
            const dropped = new DataTransfer();
            dropped.items.add(new File([text], "dropped.abc"));
            return dropped;
        }""",
        TUNE.format(title=title),
    )
    page.dispatch_event("#drop", "drop", {"dataTransfer": transfer})

    expect(page.get_by_role("heading", name=title)).to_be_visible()


def test_a_file_that_is_no_song_is_told_with_a_remedy(page: Page) -> None:
    file: FilePayload = {"name": "photo.mid", "mimeType": "audio/midi", "buffer": b"\x89PNG\r\n"}
    page.get_by_label("Drop a lead sheet").set_input_files(file)

    expect(page.get_by_role("alert")).to_contain_text("photo.mid: The file is a picture. Bring the song as")


def test_a_tune_is_drawn_as_it_is_typed_and_its_mistakes_are_pointed_at(page: Page, title: str) -> None:
    follow(page, "Write a tune as text")
    text = page.get_by_label("The tune as text")
    mistakes = page.locator("#mistakes")
    text.fill(TUNE.format(title=title).replace('"', "")[: -len('"')])
    text.fill(f"X:1\nT:{title}\nM:3/4\nL:1/4\nK:G\nB2 A |\n")
    expect(page.locator("#sheet svg")).to_contain_text(title)
    expect(mistakes).to_contain_text("there are no chord symbols")

    text.fill(f'X:1\nT:{title}\nM:3/4\nL:1/4\nK:G\n"G"B2 A |\n"C"G2 [CE\n')
    place = mistakes.get_by_role("button", name="line 7, column 7")
    expect(place).to_contain_text("A bracket is not closed")
    place.click()
    where = text.evaluate(
        "area => [area.value.slice(0, area.selectionStart).split('\\n').length, document.activeElement === area]"
    )
    assert where == [7, True]

    text.fill(TUNE.format(title=title))
    expect(mistakes.get_by_role("listitem")).to_have_count(0)
    expect(page.locator("#sheet svg")).to_contain_text("D7")
    page.get_by_role("button", name="Put it on the shelf").click()
    expect(page.get_by_text("G major, 3/4, 9 bars with a pickup")).to_be_visible()


def test_a_tune_with_mistakes_does_not_go_on_the_shelf_and_is_not_lost(page: Page, desk: RunningDesk) -> None:
    follow(page, "Write a tune as text")
    text = page.get_by_label("The tune as text")
    text.fill("X:1\nT:never kept\nK:C\n[CE\n")
    page.get_by_role("button", name="Put it on the shelf").click()

    expect(page.get_by_role("button", name="line 4, column 1")).to_be_visible()
    expect(text).to_have_value("X:1\nT:never kept\nK:C\n[CE\n")
    assert not (desk.shelf / "never-kept").exists()


def test_key_and_pickup_are_put_right_in_the_text(song: Page, desk: RunningDesk, title: str) -> None:
    follow(song, "Edit the text")
    text = song.get_by_label("The tune as text")
    text.fill(text.input_value().replace("K:G", "K:D").replace("D | ", ""))
    song.get_by_role("button", name="Keep the text").click()

    expect(song.get_by_text("D major, 3/4, 8 bars.")).to_be_visible()
    assert "K:D" in next(folder_of(desk, title).glob("*.abc")).read_text()


def test_a_chord_is_put_right_and_stands_in_the_plan(song: Page, desk: RunningDesk, title: str) -> None:
    follow(song, "What was understood")
    song.get_by_label("Chord in bar 2, beat 1", exact=True).fill("Am7")
    song.get_by_role("button", name="Put right in bar 2, beat 1").click()

    expect(song.get_by_text("yours")).to_be_visible()
    expect(song.locator(".leaf svg")).to_contain_text("Am7")
    assert plan_of(desk, title).chords == (ChordChange(bar="2", symbol="Am7"),)

    song.get_by_role("button", name="As before in bar 2, beat 1").click()
    expect(song.get_by_text("yours")).to_have_count(0)
    expect(song.get_by_label("Chord in bar 2, beat 1", exact=True)).to_be_focused()
    assert plan_of(desk, title).chords == ()


def test_a_chord_that_nobody_understands_is_told_and_not_kept(
    song: Page, desk: RunningDesk, title: str
) -> None:
    follow(song, "What was understood")
    song.get_by_label("Chord in bar 2, beat 1", exact=True).fill("Hmmm")
    song.get_by_role("button", name="Put right in bar 2, beat 1").click()

    expect(song.get_by_role("alert").filter(has_text="write a chord symbol")).to_be_visible()

    new = song.locator("#new-chord")
    new.get_by_label("bar", exact=True).fill("77")
    new.get_by_label("chord", exact=True).fill("C")
    new.get_by_role("button", name="Write it in").click()
    expect(song.get_by_role("alert").filter(has_text="77")).to_be_visible()
    assert plan_of(desk, title).chords == ()


def test_the_page_is_drawn_anew_after_each_choice_and_says_what_changed(
    song: Page, desk: RunningDesk, title: str
) -> None:
    choose(song, "Key of the page", "D", 1)
    expect(song.locator("#changes")).to_contain_text("The key: D major, before")
    choose(song, "Level", "early", 2)
    expect(song.locator("#changes")).to_contain_text("The level: early, before intermediate.")
    choose(song, "Texture", "block chords", 3)
    expect(song.locator("#changes")).to_contain_text("The texture: block-chords")
    song.get_by_label("Size of the hand").fill("0,9")
    song.get_by_label("Size of the hand").press("Enter")
    await_step(song, 4, 4)
    choose(song, "Octave", "as in the song", 5)

    plan = plan_of(desk, title)
    assert (plan.key, plan.level, plan.texture) == ("D", "early", "block-chords")
    assert (plan.hand_size, plan.melody_octave) == (0.9, 0)


def test_bars_get_a_texture_of_their_own(song: Page, desk: RunningDesk, title: str) -> None:
    song.get_by_role("button", name="Other texture for some bars").click()
    song.get_by_label("texture of these bars").select_option(label="bare")
    song.get_by_label("to", exact=True).fill("4")
    song.get_by_label("bar", exact=True).fill("3")
    song.get_by_label("bar", exact=True).press("Enter")

    expect(song.locator("#changes")).to_contain_text("Played otherwise: bar")
    assert plan_of(desk, title).sections == (Section("3", "bare", "4"),)

    song.get_by_role("button", name="Take out this texture").click()
    expect(song.locator("#steps")).to_contain_text("step 2 of 2")
    assert plan_of(desk, title).sections == ()


def test_a_choice_that_cannot_be_meant_is_told_and_not_kept(
    song: Page, desk: RunningDesk, title: str
) -> None:
    song.get_by_label("Size of the hand").fill("huge")
    song.get_by_label("Size of the hand").press("Tab")

    expect(song.get_by_role("alert")).to_contain_text("write a number from 0.5 to 1.5")
    assert plan_of(desk, title).hand_size == 1.0


def test_the_keys_are_compared_with_reasons_and_one_is_taken(
    song: Page, desk: RunningDesk, title: str
) -> None:
    song.get_by_role("button", name="Compare all keys").click()
    keys = song.get_by_label("The keys, the best first").get_by_role("listitem")
    expect(keys).to_have_count(12)
    expect(keys.nth(3).locator(".why")).not_to_be_empty()

    song.get_by_role("button", name="Take F major").click()
    expect(song.locator("#changes")).to_contain_text("The key: F major, before")
    assert plan_of(desk, title).key == "F"


def test_of_several_choices_made_quickly_the_last_is_drawn(song: Page, desk: RunningDesk, title: str) -> None:
    level = song.get_by_label("Level", exact=True)
    for choice in ("early", "advanced", "early", "advanced"):
        level.select_option(choice)
    await_step(song, 4, 4)

    expect(song.locator("#changes")).to_contain_text("The level: advanced, before")
    assert plan_of(desk, title).level == "advanced"


def test_what_is_pressed_while_a_new_page_comes_is_not_lost(
    song: Page, desk: RunningDesk, title: str
) -> None:
    choose(song, "Level", "early", 1)
    undo = song.get_by_role("button", name="Undo")
    undo.hover()
    song.evaluate("document.addEventListener('page:drawn', () => { window.wasReplaced = true; })")
    song.get_by_label("Level", exact=True).select_option("advanced")
    song.mouse.down()
    song.wait_for_timeout(3_000)  # milliseconds; the page of this short song is there long before
    assert not song.evaluate("window.wasReplaced")
    song.mouse.up()

    await_step(song, 1, 2)
    assert plan_of(desk, title).level == "early"


def outlines(page: Page) -> list[str]:
    """All that is drawn on the page, without what makes it touchable."""
    found: list[str] = page.locator("#leaves").evaluate(
        "leaves => [...leaves.querySelectorAll('use, path, polyline, text')].map((each) => each.outerHTML)"
    )
    return found


def test_every_step_can_be_undone_and_done_again(song: Page, desk: RunningDesk, title: str) -> None:
    first = outlines(song)
    choose(song, "Level", "early", 1)
    choose(song, "Texture", "bare", 2)
    for step in (1, 0):
        song.get_by_role("button", name="Undo").press("Enter")
        await_step(song, step, 2)

    expect(song.get_by_role("button", name="Undo")).to_be_disabled()
    expect(song.get_by_label("Level", exact=True)).to_have_value("intermediate")
    assert outlines(song) == first

    song.get_by_role("button", name="Redo").click()
    expect(song.get_by_label("Level", exact=True)).to_have_value("early")
    assert plan_of(desk, title).level == "early"


def test_a_plan_that_is_edited_outside_is_taken_up(song: Page, desk: RunningDesk, title: str) -> None:
    file = folder_of(desk, title) / "plan.toml"
    file.write_text(re.sub('level = "intermediate"', 'level = "early"', file.read_text()))

    expect(song.get_by_label("Level", exact=True)).to_have_value("early")
    expect(song.locator("#changes")).to_contain_text("The level: early, before intermediate.")


def test_a_plan_that_is_edited_while_its_first_page_is_made_is_taken_up(
    page: Page, desk: RunningDesk, title: str
) -> None:
    bring_in(page, f"{title}.abc", TUNE.format(title=title))
    follow(page, "Arrange it")
    expect(page.locator("#leaves .leaf")).not_to_have_count(0)
    file = folder_of(desk, title) / "plan.toml"
    file.write_text(re.sub('level = "intermediate"', 'level = "early"', file.read_text()))

    expect(page.locator("#changes")).to_contain_text("early")
    assert plan_of(desk, title).level == "early"


def test_a_plan_that_is_spoiled_outside_is_told_and_undone(song: Page, desk: RunningDesk, title: str) -> None:
    (folder_of(desk, title) / "plan.toml").write_text("level =")

    expect(song.get_by_role("alert")).to_contain_text("not a settings file")
    song.get_by_role("button", name="Undo").click()
    expect(song.locator("#refused")).to_be_empty()
    await_step(song, 0, 1)
    assert plan_of(desk, title).level == "intermediate"


def test_what_is_taken_away_is_what_the_command_would_write(
    song: Page, desk: RunningDesk, title: str
) -> None:
    data = next(folder_of(desk, title).glob("*.abc")).read_bytes()
    levels = load_default_levels()
    made = make_piece(data, f"{title}.abc", plan_of(desk, title), levels)
    written = {**made.outputs, ".lesson.pdf": make_lesson(made, levels).pdf}

    for name, suffix in (
        ("The page (PDF)", ".pdf"),
        ("MusicXML", ".musicxml"),
        ("MIDI", ".mid"),
        ("Lesson sheet (PDF)", ".lesson.pdf"),
    ):
        with song.expect_download() as taken:
            song.get_by_role("link", name=name, exact=True).click()
        assert taken.value.suggested_filename == f"{folder_of(desk, title).name}{suffix}"
        assert taken.value.path().read_bytes() == written[suffix]


def test_the_shelf_is_searched_and_sorted_and_keeps_state_and_notes(
    song: Page, desk: RunningDesk, title: str
) -> None:
    song.get_by_label("The song is").select_option("ready")
    expect(song.locator("#kept")).to_have_text("kept")
    song.get_by_label("Your notes").fill("capo for the cellist")
    follow(song, "Shelf")
    song.get_by_label("Look for").fill("CELLIST capo")
    rows = song.get_by_role("table").get_by_role("row")
    expect(rows).to_have_count(2)
    expect(rows.nth(1)).to_contain_text("ready")

    song.get_by_label("Look for").fill("")
    expect(rows).not_to_have_count(2)
    for way in ("ascending", "descending"):
        follow(song, "state")
        expect(song.locator(f"th[aria-sort={way}]")).to_have_text("state")
    expect(rows.nth(1)).to_contain_text("ready")
    assert (folder_of(desk, title) / "notes.txt").read_text() == "capo for the cellist"


def test_on_the_stand_pages_are_turned_by_pedal_and_by_tap(page: Page) -> None:
    """Pedals send the keys page-up and page-down (common practice, no source)."""
    long = TUNE.format(title="a long one") + ""
    body = long.split("K:G\n")[1].replace("|]", "|").replace("D | ", "")
    bring_in(page, "long.abc", long.split("D | ")[0] + body * 9)
    follow(page, "Page")
    await_drawn(page)
    page.set_viewport_size({"width": 820, "height": 1180})
    follow(page, "On the stand")
    place = page.locator("#place")
    expect(place).to_have_text(re.compile("page 1 of [2-9]"))

    page.keyboard.press("PageDown")
    expect(place).to_contain_text("page 2")
    page.keyboard.press("PageUp")
    expect(place).to_contain_text("page 1")
    page.mouse.click(700, 500)
    expect(place).to_contain_text("page 2")
    expect(page.locator("#leaf-1")).to_be_hidden()
    page.mouse.click(100, 500)
    expect(page.locator("#leaf-1")).to_be_visible()


def test_a_song_is_brought_in_and_arranged_without_a_mouse(page: Page, title: str) -> None:
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="To the main part")).to_be_focused()
    follow(page, "Write a tune as text", is_pressed=True)
    page.get_by_label("The tune as text").fill(TUNE.format(title=title))
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    follow(page, "Arrange it", is_pressed=True)
    expect(page.locator("#changes")).to_contain_text("intermediate")
    level = page.get_by_label("Level", exact=True)
    level.focus()
    page.keyboard.press("ArrowUp")
    expect(page.locator("#changes")).to_contain_text("The level")
    expect(level).to_be_focused()
