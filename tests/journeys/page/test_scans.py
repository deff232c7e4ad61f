"""A scan and a graded pattern dropped on the page: asked about, looked at, taken, and undone."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Browser, expect

from tests.journeys.page.browsing import axe_finds_nothing, opened, served
from tests.unit.cli.page.test_scans import drawn
from tests.unit.job.test_sizes import all_in_one


def test_a_scan_is_looked_at_and_taken(browser: Browser, tmp_path: Path) -> None:
    job, scan = tmp_path / "bag.toml", tmp_path.parent / "flap.png"
    job.write_text('[job]\nname = "Bag"\nunit = "cm"\n')
    scan.write_bytes(drawn())
    with (
        served(job, folder=tmp_path) as server,
        opened(browser, server.address, viewport={"width": 390, "height": 900}) as page,
    ):
        page.get_by_label("Pattern files").set_input_files(scan)
        asked = page.get_by_role("region", name="flap.png")
        expect(asked.get_by_text("This is a picture")).to_be_visible()
        axe_finds_nothing(page)
        look = asked.get_by_role("button", name="Look what is seen in it")
        look.click()
        expect(asked.get_by_text("nothing that gives a picture its scale")).to_be_visible()
        asked.get_by_label("What gives its scale").fill("5 cm square")
        look.click()
        expect(asked.get_by_text("off by at most")).to_be_visible()
        expect(asked.locator("img.seen")).to_be_visible()
        assert asked.locator("img.seen").evaluate("e => e.naturalWidth") > 300
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
        axe_finds_nothing(page)
        assert "piece" not in job.read_text()
        asked.get_by_role("button", name="Take the pieces").click()
        expect(page.locator(".pieces > li")).to_have_count(1)
        expect(asked.get_by_role("button", name="Look at it again")).to_be_visible()
        expect(asked.locator("img.seen")).to_have_count(0)
        axe_finds_nothing(page)
        page.keyboard.press("Control+z")
        expect(page.locator(".pieces > li")).to_have_count(0)


def test_one_of_the_sizes_is_made_and_another_one(browser: Browser, tmp_path: Path) -> None:
    job, graded = tmp_path / "bag.toml", tmp_path.parent / "graded.dxf"
    job.write_text('[job]\nname = "Bag"\nunit = "cm"\n')
    graded.write_text(all_in_one())
    with (
        served(job, folder=tmp_path) as server,
        opened(browser, server.address, color_scheme="dark") as page,
    ):
        page.get_by_label("Pattern files").set_input_files(graded)
        asked = page.get_by_role("region", name="graded.dxf")
        asked.get_by_label("It has several sizes").select_option("S")
        axe_finds_nothing(page)
        asked.get_by_role("button", name="Take this size").click()
        expect(page.get_by_text("20 × 10 cm", exact=True)).to_be_visible()
        asked.get_by_label("It has several sizes").select_option("M")
        asked.get_by_role("button", name="Take all of them").click()
        expect(page.get_by_text("24 × 10 cm", exact=True)).to_be_visible()
        expect(page.get_by_label("Sizes that the pattern")).to_have_value("S, M, L")
        expect(page.get_by_label("Its file holds it in each")).to_be_checked()
        page.get_by_label("made in size").last.select_option("L")
        expect(page.get_by_text("28 × 10 cm", exact=True)).to_be_visible()
        axe_finds_nothing(page)
        for size in ("24 × 10 cm", "20 × 10 cm"):
            page.keyboard.press("Control+z")
            expect(page.get_by_text(size, exact=True)).to_be_visible()
        assert "sizes" not in job.read_text()
