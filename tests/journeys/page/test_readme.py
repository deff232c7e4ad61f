"""The README's pictures of the page, made as somebody uses it.

``THRIFTLAY_PICTURE=1 pytest tests/journeys/page/test_readme.py`` draws them anew.
"""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, expect

from tests.journeys.page.browsing import opened, served

SAMPLES = Path(__file__).resolve().parents[3] / "sample_markers"
README = SAMPLES.parent / "README.md"
DESK = {"width": 1100, "height": 860}
PHONE = {"width": 390, "height": 780}
_LARGEST = 120_000  # bytes


def kept(page: Page, folder: Path, name: str) -> None:
    """Take a picture, in few colours; it is the README's if that is asked for."""
    page.evaluate("document.activeElement.blur()")
    taken = folder / f"{name}.png"
    page.screenshot(path=taken)
    Image.open(taken).convert("RGB").quantize(128, dither=Image.Dither.NONE).save(
        taken, optimize=True
    )
    file = SAMPLES / taken.name
    if os.environ.get("THRIFTLAY_PICTURE"):
        shutil.copy(taken, file)
    assert 3_000 < taken.stat().st_size < _LARGEST
    assert file.stat().st_size < _LARGEST
    assert f"(sample_markers/{file.name})" in README.read_text(encoding="utf-8")


def view(page: Page, name: str) -> None:
    page.get_by_role("link", name=name, exact=True).click()


@pytest.fixture
def rucksack(tmp_path: Path) -> Path:
    """Return a folder with the sample's job and its markers."""
    shutil.copytree(SAMPLES / "rucksack", tmp_path / "bags")
    shutil.move(tmp_path / "bags" / "laid", tmp_path / "bags" / "rucksack-laid")
    return tmp_path / "bags"


def test_a_part_on_another_and_the_projector(browser: Browser, tmp_path: Path) -> None:
    folder = tmp_path / "tool roll"
    folder.mkdir()
    shutil.copy(SAMPLES / "tool_roll" / "laid" / "plan.json", folder)
    with (
        served("tool roll/plan.json", folder=tmp_path) as server,
        opened(browser, server.address, viewport=DESK) as page,
    ):
        page.locator("svg.marker .part").first.wait_for()
        page.get_by_label("Part in hand").select_option(label="side facing R")
        page.locator("svg.marker").focus()
        for _ in range(4):
            page.keyboard.press("Shift+ArrowRight")
            page.keyboard.press("Shift+ArrowDown")
        expect(page.locator(".ring").first).to_be_visible()
        expect(page.locator(".keep")).to_contain_text("Saved")
        kept(page, tmp_path, "page")
        page.locator("svg.marker").focus()
        for _ in range(8):
            page.keyboard.press("z")
        expect(page.locator(".says .good").first).to_be_visible()
        view(page, "Cut")
        page.get_by_role("button", name="Show at true size").press("Enter")
        page.get_by_label("It is wide").fill("40 cm")
        page.get_by_label("and high").fill("40 cm")
        page.keyboard.press("Enter")
        page.locator(".light path.l-part").first.wait_for()
        kept(page, tmp_path, "page-projector")


def test_pattern_widths_and_the_phone(browser: Browser, rucksack: Path, tmp_path: Path) -> None:
    with served("--time", "2s", "rucksack.toml", folder=rucksack) as server:
        with opened(browser, server.address, viewport=DESK) as page:
            view(page, "Pattern")
            page.locator(".pieces li").last.wait_for()
            page.locator(".pieces").scroll_into_view_if_needed()
            page.locator(".pieces").evaluate("e => e.scrollIntoView()")
            kept(page, tmp_path, "page-pattern")
            view(page, "Buy")
            page.get_by_label("Cloth", exact=True).select_option("outer canvas")
            page.get_by_role("button", name="Compare", exact=True).press("Enter")
            table = page.get_by_role("table", name="Compare widths")
            expect(table.locator("tbody tr")).to_have_count(2)
            page.get_by_text("As a chart").click()
            expect(page.get_by_alt_text("A chart of the widths")).to_be_visible()
            page.wait_for_function("document.querySelector('.chart').naturalWidth > 0")
            page.get_by_role("heading", name="Compare widths").evaluate("e => e.scrollIntoView()")
            kept(page, tmp_path, "page-widths")
        with opened(browser, server.address, viewport=PHONE) as page:
            view(page, "Cut")
            page.locator("details.ticking summary").first.click()
            boxes = page.locator("details.ticking").first.get_by_role("checkbox")
            for number in (0, 1, 3):
                boxes.nth(number).check()
            expect(page.locator("details.ticking summary").first).to_contain_text("10 of 13")
            page.get_by_role("heading", name="Cut them one by one").evaluate(
                "e => e.scrollIntoView()"
            )
            kept(page, tmp_path, "page-phone")


def test_a_hide_round_its_flaws(browser: Browser, tmp_path: Path) -> None:
    shutil.copy(SAMPLES / "pouch" / "pouch.toml", tmp_path)
    shutil.copytree(SAMPLES / "pouch" / "laid", tmp_path / "pouch-laid")
    with (
        served("pouch.toml", folder=tmp_path) as server,
        opened(browser, server.address, viewport=DESK) as page,
    ):
        view(page, "Goods")
        page.locator("summary", has_text="Its hides").first.click()
        page.get_by_role("button", name="Change cow side 17").first.click()
        page.locator("svg.hide path").first.wait_for()
        page.locator("svg.hide").evaluate("e => e.scrollIntoView({block: 'end'})")
        kept(page, tmp_path, "page-hide")
