"""The outline of a piece and its fold-back line changed by mouse and by keys, and cut so."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from nesting import read_job
from nesting.pattern.measure import area
from nesting.planning.lay.lays import lays
from tests.journeys.page.browsing import axe_finds_nothing, opened, served

JOB = """# mine
[job]
name = "Pouch"
unit = "cm"

[[piece]]
name = "front"
rectangle = [24, 18]  # as I like it

[[cloth]]
name = "canvas"
width = 140

[[cut]]
piece = "front"
material = "canvas"
"""
_SCREEN = """([x, y]) => {
  const m = document.querySelector('svg.large').getScreenCTM();
  return [m.a * x + m.e, m.d * -y + m.f];
}"""
"""Where a place of the piece (mm, y upwards) is on the screen."""


def drag(page: Page, start: tuple[float, float], end: tuple[float, float]) -> None:
    page.mouse.move(*page.evaluate(_SCREEN, start))
    page.mouse.down()
    page.mouse.move(*page.evaluate(_SCREEN, ((start[0] + end[0]) / 2, end[1])), steps=3)
    page.mouse.move(*page.evaluate(_SCREEN, end), steps=3)
    page.mouse.up()


def test_points_and_the_fold_back_line_are_moved_added_and_taken_out(
    browser: Browser, tmp_path: Path
) -> None:
    job = tmp_path / "pouch.toml"
    job.write_text(JOB)
    with (
        served("--time", "2s", "--workers", "1", job, folder=tmp_path) as server,
        opened(browser, server.address, viewport={"width": 1200, "height": 1000}) as page,
    ):
        page.get_by_role("link", name="Pattern").click()
        page.get_by_role("button", name="Work on front").click()
        large = page.locator("svg.large")
        expect(large).to_be_focused()
        large.evaluate("e => e.scrollIntoView()")
        hand, place = page.get_by_label("In hand"), page.locator("#piece-place")
        expect(page.locator("svg.large .point")).to_have_count(0)
        page.get_by_label("show the points of its outline").check()
        expect(page.locator("svg.large .point")).to_have_count(4)
        # By mouse: a corner, and a point that is pulled out of an edge.
        drag(page, (240, 180), (210, 190))
        expect(place).to_have_value("21 cm x 19 cm")
        drag(page, (120, 0), (120, -60))
        expect(place).to_have_value("12 cm x -6 cm")
        expect(page.locator("svg.large .point")).to_have_count(5)
        axe_finds_nothing(page)
        # By keys alone.
        large.press("Shift+ArrowUp")
        expect(place).to_have_value("12 cm x -5 cm")
        large.press("ArrowLeft")
        expect(place).to_have_value("11.9 cm x -5 cm")
        large.press("Delete")
        expect(page.locator("svg.large .point")).to_have_count(4)
        hand.select_option("edge 1")
        page.get_by_role("button", name="Put a point into its middle").press("Enter")
        expect(hand).to_have_value("point 1")
        place.fill("12 x 30")
        page.keyboard.press("Tab")
        expect(page.locator("main [role=alert]")).to_contain_text("crosses or touches itself")
        expect(place).to_have_value("12 cm x 0 mm")
        place.fill("12 x -2")
        page.keyboard.press("Tab")
        expect(place).to_have_value("12 cm x -20 mm")
        expect(page.locator("main [role=alert] p")).to_have_count(0)
        # Where the shorter version is folded back.
        hand.select_option(" 0")
        page.get_by_role("button", name="Add a line where a shorter").press("Enter")
        expect(hand).to_have_value("back 0")
        drag(page, (240, 85), (240, 60))
        expect(page.locator("#piece-place")).to_have_value("24 cm x 6 cm")
        expect(page.locator("svg.large .short")).to_have_count(1)
        axe_finds_nothing(page)
        page.get_by_role("button", name="Leave the other side out").click()
        page.get_by_role("button", name="Leave the other side out").click()
        page.get_by_role("link", name="Goods").click()
        page.locator("summary[aria-label='How else front from canvas is cut']").click()
        how = page.get_by_role("group", name="How else front from canvas is cut")
        how.get_by_label("folded back").check()
        for _ in range(600):
            if "folded_back = true" in job.read_text():
                break
            page.wait_for_timeout(100)
        expect(how.get_by_label("folded back")).to_be_checked()
        expect(page.locator("main [role=alert] p")).to_have_count(0)
    text = job.read_text()
    assert "points = [[0, 0], [12, -2], [24, 0], [21, 19], [0, 18]] # as I like it" in text
    assert "# mine" in text
    (lay,) = lays(read_job(job))
    (part,) = lay.parts
    # Below a line from (0, y) to (24, 6), of the side to (21, 19) what lies below it: by hand.
    assert area(part.piece.cut) == pytest.approx(240 * (85 + 60) / 2 + 120 * 20, rel=0.05)
