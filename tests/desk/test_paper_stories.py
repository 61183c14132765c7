"""The page on paper, chosen at the desk: told as stories, done in a real browser."""

from playwright.sync_api import Page, expect

from apoyando.engraving import engrave_pdf
from apoyando.model.sheet import Marking, Paper, Sheet, Staves, Variant
from apoyando.pipeline import arrange_piece
from apoyando.reading import load_default_levels
from desk.running import RunningDesk
from desk.working import await_step, folder_of, plan_of


def outline(page: Page) -> list[str]:
    """Width and height of the first page, and the units of its drawing."""
    found: list[str] = page.locator("#leaves svg").first.evaluate(
        "svg => ['width', 'height', 'viewBox'].map((name) => svg.getAttribute(name))"
    )
    return found


def test_the_page_is_set_and_drawn_anew_and_each_step_can_be_undone(
    song: Page, desk: RunningDesk, title: str
) -> None:
    """Large print from 9 mm on, as docs/plan.md has it; letter paper is 215.9 by 279.4 mm (ANSI/ASME Y14.1)."""
    before = outline(song)
    song.get_by_label("Size of the staff", exact=True).select_option(label="9 mm, large print")
    await_step(song, 1, 1)
    song.get_by_label("Paper", exact=True).select_option(label="Letter")
    await_step(song, 2, 2)
    song.get_by_label("Fingering printed", exact=True).select_option(label="almost none")
    await_step(song, 3, 3)

    assert outline(song)[:2] == ["215.9mm", "279.4mm"]
    assert plan_of(desk, title).page == Sheet(staff_mm=9.0, paper=Paper.LETTER, marking=Marking.CLEAN)

    for step in (2, 1, 0):
        song.get_by_role("button", name="Undo").press("Enter")
        await_step(song, step, 3)
    assert plan_of(desk, title).page == Sheet()
    assert outline(song) == before


def test_tablature_words_and_lines_are_asked_for_with_a_click(
    song: Page, desk: RunningDesk, title: str
) -> None:
    song.get_by_label("Written as", exact=True).select_option(label="notation and tablature")
    await_step(song, 1, 1)
    for step, label in enumerate(("Chord symbols", "Lines for what is held"), 2):
        song.get_by_label(label, exact=True).click()
        await_step(song, step, step)

    page = plan_of(desk, title).page
    assert page == Sheet(staves=Staves.NOTATION_AND_TABLATURE, chord_symbols=False, hold_lines=True)


def test_margins_that_cannot_be_meant_are_told_and_not_kept(
    song: Page, desk: RunningDesk, title: str
) -> None:
    song.get_by_label("Margins", exact=True).fill("90")
    song.get_by_label("Margins", exact=True).press("Enter")

    expect(song.get_by_role("alert")).to_contain_text("write a number from 5 to 40")
    assert plan_of(desk, title).page.margin_mm == 15.0


def test_the_other_pages_of_a_plan_are_taken_away(song: Page, desk: RunningDesk, title: str) -> None:
    data = next(folder_of(desk, title).glob("*.abc")).read_bytes()
    piece = arrange_piece(data, f"{title}.abc", plan_of(desk, title), load_default_levels())
    for label, variant in (
        ("The tune alone, large (PDF)", Variant.MELODY),
        ("The page with what stays down (PDF)", Variant.HOLDS),
    ):
        with song.expect_download() as taken:
            song.get_by_role("link", name=label).click()
        assert taken.value.suggested_filename == f"{folder_of(desk, title).name}.{variant}.pdf"
        wanted = engrave_pdf(piece.arrangement, piece.plan.page, variant, piece.rings)
        assert taken.value.path().read_bytes() == wanted
