"""A piece of a pattern file is drawn in the job, a point of it moved, and all of that undone."""

from __future__ import annotations

import shutil
from pathlib import Path

from playwright.sync_api import Browser, expect

from tests.journeys.page.browsing import axe_finds_nothing, opened, served

SAMPLES = Path(__file__).resolve().parents[3] / "sample_markers"


def test_points_of_a_piece_from_a_file_are_moved_once_it_is_drawn_in_the_job(
    browser: Browser, tmp_path: Path
) -> None:
    shutil.copy(SAMPLES / "starters" / "starter_a4_mm.svg", tmp_path / "starter.svg")
    job = tmp_path / "bag.toml"
    head = '[job]\nname = "Bag"\nunit = "cm"\n'
    job.write_text(f'{head}[[piece]]\nname = "Front"   # hers\nfrom = "starter.svg"\n')
    before = job.read_text()
    with (
        served(job, folder=tmp_path) as server,
        opened(browser, server.address, viewport={"width": 390, "height": 900}) as page,
    ):
        page.get_by_role("button", name="Work on Front").click()
        large = page.get_by_role("region", name="Front, large")
        expect(large.get_by_text("Its shape is that of starter.svg")).to_be_visible()
        expect(large.locator(".point-end")).to_have_count(0)
        axe_finds_nothing(page)
        large.get_by_role("button", name="Draw it in the job").click()
        expect(large.locator(".point-end")).to_have_count(4)
        axe_finds_nothing(page)
        drawn = job.read_text()
        assert "from" not in drawn
        assert "# hers" in drawn
        expect(large.get_by_label("In hand")).to_contain_text("point 1, at")
        large.get_by_label("In hand").select_option("point 0")
        large.locator("svg.large").focus()
        page.keyboard.press("Shift+ArrowRight")
        expect(large.get_by_label("place, right x up")).to_have_value("10 mm x 0 mm")
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
        page.keyboard.press("Control+z")
        expect(large.get_by_label("place, right x up")).not_to_have_value("10 mm x 0 mm")
        assert job.read_text() == drawn
        page.keyboard.press("Control+z")
        expect(large.locator(".point-end")).to_have_count(0)
        assert job.read_text() == before
