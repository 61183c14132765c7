"""WCAG 2.2 AA as far as a program can see it: axe-core on every page, light and dark, desk, tablet and telephone."""

from collections.abc import Iterator

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from desk.running import DESK, EXAMPLES, PHONE, TABLET, RunningDesk, run_desk
from desk.working import await_drawn, follow

RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningDesk]:
    """A desk with one song that is arranged."""
    with run_desk(tmp_path_factory.mktemp("access") / "shelf") as running:
        yield running


@pytest.fixture(scope="module")
def song(desk: RunningDesk, browser: Browser) -> str:
    """The address of a song with all that its page can show."""
    with browser.new_context() as context:
        page = context.new_page()
        page.goto(desk.address)
        page.wait_for_url(f"{desk.home}/")
        page.get_by_label("Drop a lead sheet").set_input_files(EXAMPLES / "greensleeves.abc")
        page.get_by_role("link", name="Arrange it").click(timeout=120_000)
        await_drawn(page)
        return page.url


@pytest.fixture(params=["light", "dark", "tablet", "phone"])
def page(browser: Browser, desk: RunningDesk, request: pytest.FixtureRequest) -> Iterator[Page]:
    size = {"tablet": TABLET, "phone": PHONE}.get(request.param, DESK)
    scheme = "dark" if request.param in {"dark", "phone"} else "light"
    with browser.new_context(viewport=size, color_scheme=scheme) as context:  # type: ignore[arg-type] # a size
        context.set_default_timeout(120_000)
        opened = context.new_page()
        opened.goto(desk.address)
        opened.wait_for_url(f"{desk.home}/")
        yield opened


def check(page: Page) -> None:
    found = Axe().run(page, options=RULES)
    assert found.violations_count == 0, found.generate_report()
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


def test_the_shelf(page: Page, song: str) -> None:
    expect(page.get_by_role("table")).to_be_visible()
    check(page)


def test_a_song_about_to_go_off_the_shelf(page: Page, song: str) -> None:
    page.wait_for_load_state()
    page.get_by_role("button", name="Take off Greensleeves").click()
    expect(page.get_by_role("dialog")).to_be_visible()
    check(page)


def test_the_songs_that_were_taken_off(page: Page, desk: RunningDesk) -> None:
    page.goto(f"{desk.home}/taken-off")
    check(page)


def test_the_shelf_with_trouble(page: Page, song: str) -> None:
    page.get_by_role("button", name="Bring it in").click()
    expect(page.get_by_role("alert")).to_be_visible()
    check(page)


def test_writing_a_tune(page: Page) -> None:
    follow(page, "Write a tune as text")
    page.get_by_label("The tune as text").fill("X:1\nT:a\nK:C\n[CE")
    expect(page.locator(".place")).to_be_visible()
    check(page)


def test_what_was_understood(page: Page, song: str) -> None:
    page.goto(f"{song}/read")
    page.get_by_role("group", name="The tune in bar 2").get_by_role("button").first.click()
    expect(page.get_by_role("heading", name="Bar 2, beat 1")).to_be_visible()
    check(page)


def test_the_song(page: Page, song: str) -> None:
    page.goto(song)
    await_drawn(page)
    page.get_by_role("button", name="Other texture for some bars").click()
    page.get_by_role("button", name="Compare all keys").click()
    expect(page.get_by_label("The keys, the best first")).to_be_visible(timeout=120_000)
    for summary in page.locator("summary").all():
        summary.click()
    check(page)


def test_a_touched_note_and_a_touched_bar(page: Page, song: str) -> None:
    page.goto(song)
    leaves = "#redrawn" if page.viewport_size == PHONE else "#leaves"
    page.locator(f"{leaves} .note[tabindex='0']").press("Enter", timeout=120_000)
    expect(page.locator(".spot").first).to_be_visible(timeout=120_000)
    check(page)
    page.get_by_role("button", name="The whole bar").click()
    page.get_by_role("button", name="What would each cost?").click()
    expect(page.get_by_role("list", name="Positions")).to_be_visible(timeout=120_000)
    page.get_by_role("button", name="Loop from this bar").click()
    check(page)


def test_the_stand(page: Page, song: str) -> None:
    page.goto(f"{song}/stand")
    page.locator(".leaf").first.wait_for(timeout=120_000)
    check(page)


def test_an_address_that_leads_nowhere(page: Page, desk: RunningDesk) -> None:
    page.goto(f"{desk.home}/songs/nowhere")
    expect(page.get_by_role("heading", name="Not to be had")).to_be_visible()
    check(page)
