"""What takes long, and what goes off the shelf: told as stories, done in a real browser."""

from zipfile import ZipFile

from playwright.sync_api import Page, expect

from desk.running import RunningDesk
from desk.working import await_step, folder_of, follow


def test_the_practice_set_is_made_with_its_stages_told(song: Page, desk: RunningDesk, title: str) -> None:
    with song.expect_download(timeout=600_000) as taken:
        song.get_by_role("link", name="Practice set (sound)").click()
        expect(song.locator("#making-stage")).to_contain_text("rendering 1 of ")
        expect(song.get_by_role("progressbar")).to_be_visible()

    expect(song.locator("#making-stage")).to_have_text("It is there.")
    expect(song.get_by_role("progressbar")).to_be_hidden()
    assert taken.value.suggested_filename == f"{folder_of(desk, title).name}.practice.zip"
    names = ZipFile(taken.value.path()).namelist()
    assert any(name.endswith(".ogg") for name in names)
    assert any(name.endswith(".m3u") for name in names)


def test_the_making_of_a_practice_set_is_stopped_and_the_desk_goes_on(song: Page) -> None:
    song.get_by_role("link", name="Practice set (sound)").click()
    expect(song.locator("#making-stage")).to_contain_text("rendering")
    song.get_by_role("button", name="Stop making it").click()

    expect(song.locator("#making-stage")).to_have_text("Stopped.")
    expect(song.get_by_role("button", name="Stop making it")).to_be_hidden()
    song.get_by_label("Texture", exact=True).select_option(label="bare")
    await_step(song, 1, 1)


def test_a_song_is_taken_off_the_shelf_and_brought_back(song: Page, desk: RunningDesk, title: str) -> None:
    song.get_by_label("Level", exact=True).select_option("early")
    await_step(song, 1, 1)
    plan = (folder_of(desk, title) / "plan.toml").read_bytes()
    follow(song, "Shelf")
    song.wait_for_load_state()
    song.get_by_role("button", name=f"Take off {title}").click()
    dialog = song.get_by_role("dialog", name=f"Take “{title}” off the shelf?")
    expect(dialog).to_contain_text("Nothing is lost")
    dialog.get_by_role("button", name="Leave it here").click()
    assert folder_of(desk, title).exists()

    song.get_by_role("button", name=f"Take off {title}").click()
    dialog.get_by_role("button", name="Take it off").click()
    expect(song.get_by_role("status")).to_contain_text(f"“{title}” is off the shelf.")
    expect(song.get_by_role("link", name=title, exact=True)).to_have_count(0)
    assert not folder_of(desk, title).exists()
    assert (desk.shelf / "taken off" / folder_of(desk, title).name / "plan.toml").read_bytes() == plan

    follow(song, "Songs that were taken off: 1")
    song.get_by_role("button", name=f"Bring back {title}").click()
    expect(song.get_by_role("heading", name=title)).to_be_visible()
    expect(song.locator("#steps")).to_contain_text("step 1 of 1")
    assert (folder_of(desk, title) / "plan.toml").read_bytes() == plan


def test_a_plan_that_a_hand_has_written_keeps_its_comments(song: Page, desk: RunningDesk, title: str) -> None:
    file = folder_of(desk, title) / "plan.toml"
    file.write_text('# for Anna\nlevel = "early"   # she counts on it\nkey = "G"\n')
    expect(song.get_by_label("Level", exact=True)).to_have_value("early")
    await_step(song, 1, 1)
    song.get_by_label("Level", exact=True).select_option("advanced")
    await_step(song, 2, 2)

    assert file.read_text() == '# for Anna\nlevel = "advanced"   # she counts on it\nkey = "G"\n'
