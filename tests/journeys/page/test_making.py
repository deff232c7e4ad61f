"""A bag made on the page, from dropped files to a marker, without a line of TOML."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Browser, expect

from nesting import read_job
from tests.journeys.page.browsing import axe_finds_nothing, opened, served

STARTERS = Path(__file__).resolve().parents[3] / "sample_markers" / "starters"


def test_from_dropped_files_to_a_marker(browser: Browser, tmp_path: Path) -> None:
    with (
        served("--time", "2s", folder=tmp_path) as server,
        opened(browser, server.address) as page,
    ):
        page.locator("#files").set_input_files(STARTERS / "starter_a4_mm.dxf")
        expect(page.locator(".pieces li")).to_have_count(2)
        expect(page.locator("main")).to_contain_text("So the largest piece is 17 × 13 cm")
        axe_finds_nothing(page)
        page.get_by_role("link", name="Goods").click()
        expect(page.locator("main")).to_contain_text("Not ready to be laid yet")
        axe_finds_nothing(page)
        page.locator("#new-cloth-name").fill("canvas")
        page.locator("#new-cloth-width").fill("wide")
        page.get_by_role("button", name="Add the cloth").click()
        expect(page.locator("main")).to_contain_text('"wide"')
        page.get_by_role("group", name="canvas").get_by_label("width").fill("145 cm")
        page.keyboard.press("Tab")
        for label in ("How many of Front from canvas", "How many of Pocket from canvas"):
            page.get_by_label(label).fill("2")
            page.keyboard.press("Tab")
            expect(page.get_by_label(label.replace("How many", "Which hand"))).to_be_visible()
        axe_finds_nothing(page)
        page.get_by_label("how many are made").fill("3")
        page.keyboard.press("Tab")
        page.get_by_role("button", name="Lay it").click()
        page.locator("svg.marker .part").first.wait_for()
        expect(page.locator("svg.marker .part")).to_have_count(12)
        job = read_job(next(tmp_path.glob("*.toml")))
        assert job.bags[0].count == 3
        # What is changed after that is laid anew.
        page.get_by_role("button", name="Search on").wait_for()
        page.get_by_role("link", name="Goods").click()
        page.get_by_label("How many of Front from canvas").fill("1")
        page.keyboard.press("Tab")
        page.get_by_role("button", name="Lay it").click()
        expect(page.locator("svg.marker .part")).to_have_count(9)


def test_a_unit_that_is_unsure_is_asked_for_and_the_job_comes_back(
    browser: Browser, tmp_path: Path
) -> None:
    (tmp_path / "flap.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 300 300">'
        '<path id="flap &lt;b&gt;" d="M 10 10 h 200 v 80 h -200 z"/></svg>'
    )
    with served(folder=tmp_path) as server, opened(browser, server.address) as page:
        page.locator("#files").set_input_files(tmp_path / "flap.svg")
        section = page.get_by_role("region", name="flap.svg")
        expect(section).to_be_visible()
        expect(page.locator(".pieces li")).to_have_count(0)
        axe_finds_nothing(page)
        section.get_by_label("It is drawn in").select_option("mm")
        section.get_by_role("button", name="Read it so").click()
        expect(page.locator(".pieces li")).to_have_count(1)
        expect(page.locator(".pieces")).to_contain_text("20 × 8 cm")
        page.get_by_label("The grain runs").select_option("across")
        expect(page.locator(".keep")).to_contain_text("Saved in")
        server.process.kill()
    job = next(tmp_path.glob("*.toml"))
    with served(job, folder=tmp_path) as server, opened(browser, server.address) as page:
        expect(page.locator(".pieces li")).to_have_count(1)
        expect(page.get_by_label("The grain runs")).to_have_value("across")
        axe_finds_nothing(page)
