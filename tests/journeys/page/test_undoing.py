"""Edits of pattern and goods undone and done again; never those of another tab or program."""

from __future__ import annotations

import shutil
from pathlib import Path

from playwright.sync_api import Browser, expect

from tests.journeys.page.browsing import axe_finds_nothing, opened, served

STARTER = Path(__file__).resolve().parents[3] / "sample_markers" / "starters" / "starter_a4_mm.svg"
JOB = """# hers
[job]
name = "Bag"
unit = "cm"
[[cloth]]
name = "canvas"
width = "140 cm"
[[piece]]
name = "side"
rectangle = [30, 20]
"""


def test_edits_are_undone_and_done_again_and_never_those_of_others(
    browser: Browser, tmp_path: Path
) -> None:
    job = tmp_path / "bag.toml"
    job.write_text(JOB)
    shutil.copy(STARTER, tmp_path.parent / "starter.svg")
    with (
        served("--time", "1s", "--workers", "1", job, folder=tmp_path) as server,
        opened(browser, server.address) as page,
    ):
        page.get_by_role("link", name="Goods").click()
        undo, redo = (page.get_by_role("button", name=n, exact=True) for n in ("Undo", "Do again"))
        width = page.get_by_role("group", name="canvas", exact=True).get_by_label("width as sold")
        spoken = page.locator("p[aria-live]").first
        expect(undo).to_have_attribute("aria-disabled", "true")
        undo.press("Enter")
        expect(spoken).to_have_text("This tab has changed nothing that could be undone.")
        for wide in ("150 cm", "160 cm"):
            width.fill(wide)
            page.keyboard.press("Tab")
            expect(undo).to_have_attribute("aria-disabled", "false")
        expect(page.locator(".keep")).not_to_contain_text("Saving")
        # What is typed and not sent is the browser's to undo.
        width.press("End")
        width.press_sequentially("9")
        width.press("Control+z")
        expect(width).to_have_value("160 cm")
        # What is chosen in a field stays chosen while all is drawn anew: typing replaces it.
        field = width.get_attribute("id")
        page.evaluate(  # in one go, as it may be drawn anew at any moment
            "id => { const e = document.getElementById(id); e.select(); e.dataset.old = ''; }",
            field,
        )
        job.write_text(f"{job.read_text()}# by hand\n")
        expect(width).not_to_have_attribute("data-old", "")
        assert width.evaluate("e => [e.selectionStart, e.selectionEnd]") == [0, 6]
        # And where it was drawn anew meanwhile, as no browser knows how, it is as it is stored.
        width.press("End")
        width.press_sequentially("9")
        width.evaluate("e => { e.dataset.old = ''; }")
        job.write_text(job.read_text().replace("# by hand", "# and again"))
        expect(width).not_to_have_attribute("data-old", "")
        width.press("Control+z")
        expect(width).to_have_value("160 cm")
        job.write_text(job.read_text().removesuffix("# and again\n"))
        assert "160 cm" in job.read_text()
        page.get_by_role("heading", name="The goods").click()
        page.keyboard.press("Control+z")
        expect(width).to_have_value("150 cm")
        undo.click()
        expect(width).to_have_value("140 cm")
        assert job.read_text() == JOB
        expect(undo).to_be_focused()
        page.keyboard.press("Control+y")
        expect(width).to_have_value("150 cm")
        page.keyboard.press("Control+Shift+Z")
        expect(width).to_have_value("160 cm")
        axe_finds_nothing(page)
        # What is at hand stands in a file of its own, and goes back with the rest.
        page.get_by_text("Left-overs and stock").press("Enter")
        hand = page.get_by_label("Lengths at hand")
        hand.fill("2 m")
        page.keyboard.press("Tab")
        expect(page.locator(".keep")).not_to_contain_text("Saving")
        undo.click()
        expect(hand).to_have_value("")
        assert "include" not in job.read_text()
        redo.click()
        expect(hand).to_have_value("2 m")
        undo.click()
        expect(hand).to_have_value("")
        # A pattern that was dropped is taken out again, after the page was loaded anew, too.
        page.get_by_role("link", name="Pattern").click()
        page.get_by_label("Pattern files").set_input_files(tmp_path.parent / "starter.svg")
        expect(page.locator(".pieces > li")).not_to_have_count(1)
        page.reload()
        expect(page.locator(".pieces > li").nth(1)).to_be_visible()
        page.keyboard.press("Control+z")
        expect(page.locator(".pieces > li")).to_have_count(1)
        # By now another tab has changed something: nothing of it is undone here.
        with opened(browser, server.address) as other:
            other.get_by_role("link", name="Goods").click()
            called = other.get_by_label("Called", exact=True)
            called.fill("Theirs")
            other.keyboard.press("Tab")
            expect(page.get_by_text("Theirs").first).to_be_visible()
            page.keyboard.press("Control+z")
            expect(page.locator("[role=alert]")).to_contain_text("changed elsewhere since")
            assert 'name = "Theirs"' in job.read_text()
            other.keyboard.press("Control+z")
            expect(called).to_have_value("Bag")
        page.keyboard.press("Control+z")
        page.get_by_role("link", name="Goods").click()
        expect(width).to_have_value("150 cm")
        job.write_text(job.read_text() + "# by hand\n")
        expect(page.locator(".keep")).not_to_contain_text("Saving")
        page.keyboard.press("Control+z")
        expect(page.locator("[role=alert]")).to_contain_text("changed elsewhere since")
        assert job.read_text().endswith("# by hand\n")
