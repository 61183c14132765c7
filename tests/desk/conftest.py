"""A desk that runs, and a browser in front of it."""

import os
import shutil
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from desk.running import DESK, RunningDesk, run_desk
from desk.working import PATIENCE, TUNE, await_drawn, bring_in, follow


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """A story that fails is told once more, and the closing line says how many were: see docs/decisions.md."""
    for item in items:
        if isinstance(item, pytest.Function) and "browser" in item.fixturenames:
            item.add_marker(pytest.mark.flaky(reruns=1))


@pytest.fixture(scope="session")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningDesk]:
    with run_desk(tmp_path_factory.mktemp("desk") / "shelf") as running:
        yield running


def find_chromium() -> str | None:
    return shutil.which("chromium") or shutil.which("chromium-browser")


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Debian's Chromium. Where there is none the stories are skipped; where all is checked (CI) they fail."""
    program = find_chromium()
    if program is None:
        if os.environ.get("CI"):
            pytest.fail("Chromium is needed here: apt-get install chromium")
        pytest.skip("no Chromium on this machine: apt-get install chromium")
    is_root = hasattr(os, "getuid") and os.getuid() == 0
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=program, args=["--no-sandbox"] if is_root else [])
        yield opened
        opened.close()


@pytest.fixture
def page(browser: Browser, desk: RunningDesk) -> Iterator[Page]:
    """A page of the desk, opened by its address; it may ask nothing of any other host."""
    with browser.new_context(viewport=DESK, accept_downloads=True) as context:  # type: ignore[arg-type] # a size
        asked: list[str] = []
        context.set_default_timeout(PATIENCE)
        opened = context.new_page()
        opened.on("request", lambda request: asked.append(request.url))
        opened.on("pageerror", lambda error: pytest.fail(str(error)))
        opened.goto(desk.address)
        opened.wait_for_url(f"{desk.home}/")
        yield opened
        assert [url for url in asked if not url.startswith(desk.home)] == []


@pytest.fixture
def title(request: pytest.FixtureRequest) -> str:
    """A title that no other story has, nor the same one told before."""
    name = str(request.node.name).removeprefix("test_").replace("_", " ")[:50].strip()
    told = getattr(request.node, "execution_count", 1)
    return name if told == 1 else f"{name} again"


@pytest.fixture
def song(page: Page, title: str) -> Page:
    """The page of a short song that was just brought in, with the page drawn."""
    bring_in(page, f"{title}.abc", TUNE.format(title=title))
    follow(page, "Arrange it")
    await_drawn(page)
    return page
