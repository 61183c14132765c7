"""What every story at the desk begins with: a short song, brought in and drawn."""

from pathlib import Path

from playwright.sync_api import FilePayload, Page, expect

from apoyando.model.plan import Plan
from apoyando.reading import read_plan
from desk.running import RunningDesk

PATIENCE = 60_000
"""Milliseconds; a loaded machine is no defect."""
expect.set_options(timeout=PATIENCE)
TUNE = """X:1
T:{title}
M:3/4
L:1/4
Q:1/4=100
K:G
D | "G"B2 A | "C"G2 E | "G"D2 G | "D7"A2 D |
"G"B2 A | "C"G2 c | "D7"B A F | "G"G2 |]
"""


def bring_in(page: Page, name: str, text: str) -> None:
    file: FilePayload = {"name": name, "mimeType": "text/plain", "buffer": text.encode()}
    page.get_by_label("Drop a lead sheet").set_input_files(file)
    expect(page.get_by_role("heading", name="What was understood")).to_be_visible()
    page.wait_for_load_state()  # no hand is on the page before its modules are there


def follow(page: Page, link: str, *, is_pressed: bool = False) -> None:
    """Go where a link leads, with a click or with the keyboard; its modules are there then."""
    found = page.get_by_role("link", name=link, exact=True)
    with page.expect_navigation():
        found.press("Enter") if is_pressed else found.click()


def await_drawn(page: Page) -> None:
    """The page is drawn as it stays."""
    expect(page.locator("#leaves .leaf")).not_to_have_count(0)
    expect(page.locator("body:not(.is-stale)")).to_have_count(1)


def await_step(page: Page, now: int, last: int) -> None:
    """The page is drawn as the plan has it at a step."""
    expect(page.locator("#steps")).to_contain_text(f"step {now} of {last}")
    expect(page.locator("body:not(.is-stale)")).to_have_count(1)


def folder_of(desk: RunningDesk, title: str) -> Path:
    return desk.shelf / title.lower().replace(" ", "-")


def plan_of(desk: RunningDesk, title: str) -> Plan:
    return read_plan((folder_of(desk, title) / "plan.toml").read_text(), "plan.toml")
