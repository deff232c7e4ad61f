"""What would save, found on the page beside all else."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Browser, expect

from tests.journeys.page.browsing import axe_finds_nothing, opened, served
from tests.journeys.test_advise import JOB


def test_what_would_save_is_found_and_told_with_what_to_write(
    browser: Browser, tmp_path: Path
) -> None:
    job = tmp_path / "sling.toml"
    job.write_text(JOB)
    with (
        served("--time", "1s", "--workers", "1", job, folder=tmp_path) as server,
        opened(browser, server.address) as page,
    ):
        expect(page.locator(".keep")).to_contain_text("Saved", timeout=60_000)
        page.get_by_role("link", name="Buy").click()
        page.get_by_label("for so many minutes").fill("1.5")
        page.get_by_role("button", name="Find what would save").press("Enter")
        best = page.get_by_role("table", name="What would save")
        expect(best.locator("tbody tr").first).to_be_visible(timeout=60_000)
        expect(best.locator("tbody tr").first).to_contain_text("strap joined from shorter pieces")
        expect(best.locator("tbody tr").first).to_contain_text('pieced = "3/8 in"')
        expect(page.get_by_text("its length is held by strap")).to_be_visible()
        others = page.get_by_text("Not tried, and why")
        others.click()
        expect(page.locator("details[open] li").first).to_be_visible()
        axe_finds_nothing(page)
    assert job.read_text() == JOB
