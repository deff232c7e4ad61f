"""Markers side by side, several parts in hand, parts on other sheets, parts laid by hand."""

from __future__ import annotations

import json
import re
from pathlib import Path

from playwright.sync_api import Browser, Page, expect

from nesting import load_plan
from tests.journeys.page.browsing import axe_finds_nothing, box_of, opened, served


def is_saved(page: Page) -> None:
    expect(page.locator(".keep")).to_contain_text("Saved in")


def roll_out(page: Page, title: str) -> None:
    """Open the marker of some goods, and close the one that was open."""
    page.get_by_role("button", name=title, exact=True).click()
    page.locator(".open svg.marker:not(.beside) .part").first.wait_for()


def test_several_parts_go_as_one_and_are_held_at_once(browser: Browser, laid: Path) -> None:
    before = load_plan(laid).entries[0].marker
    with served(laid, folder=laid.parent) as server, opened(browser, server.address) as page:
        page.locator("svg.marker text").first.wait_for(state="attached")
        page.wait_for_timeout(300)
        page.get_by_label("Part in hand").select_option("0")
        page.locator("svg.marker").first.focus()
        page.keyboard.press("s")
        page.get_by_label("Part in hand").select_option("3")
        expect(page.locator(".part.held")).to_have_count(2)
        expect(page.get_by_text("2 parts in hand").first).to_be_visible()
        axe_finds_nothing(page)
        page.locator("svg.marker").first.focus()
        page.keyboard.press("Shift+ArrowLeft")
        expect(page.locator(".verdict")).to_contain_text("beyond the start")
        is_saved(page)
        now = load_plan(laid).entries[0].marker.placements
        for was, here in zip(before.placements, now, strict=True):
            assert here.x == (was.x - 10.0 if was.part in (0, 3) else was.x)
        page.keyboard.press("z")
        page.keyboard.press("h")
        expect(page.locator(".pinned")).to_have_count(2)
        is_saved(page)
        # With the mouse: Shift and a click take one more, or leave it.
        page.keyboard.press("s")
        third = page.locator("svg.marker [data-part='1']")
        third.click(modifiers=["Shift"])
        expect(page.locator(".part.held")).to_have_count(3)
        third.click(modifiers=["Shift"])
        expect(page.locator(".part.held")).to_have_count(2)
        box = box_of(page.locator("svg.marker [data-part='0']"))
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        version = page.locator("svg.marker").first.get_attribute("data-version") or ""
        page.mouse.move(x, y)
        page.mouse.down()
        page.mouse.move(x + 30, y, steps=4)
        page.mouse.move(x + 60, y, steps=4)
        # Only they are drawn anew while they are dragged, and they are where the mouse is.
        expect(page.locator("svg.lifted .part")).to_have_count(2)
        there = box_of(page.locator("svg.lifted [data-part='0']"))
        assert abs(there["x"] - box["x"] - 60) < 1
        page.mouse.up()
        expect(page.locator("svg.lifted")).to_have_count(0)
        marker = page.locator("svg.marker").first
        expect(marker).not_to_have_attribute("data-version", version)
        is_saved(page)
        moved = load_plan(laid).entries[0].marker
        far = {
            here.part: round(here.x - was.x, 3)
            for was, here in zip(before.placements, moved.placements, strict=True)
        }
        assert far[0] == far[3] > 1.0
        assert set(far.values()) == {0.0, far[0]}
        assert [p.held is not None for p in moved.lay.parts].count(True) == 2


def test_a_part_goes_to_another_sheet_and_one_that_is_not_laid_is_laid(
    browser: Browser, laid: Path
) -> None:
    stored = json.loads(laid.read_text())
    (number,) = (n for n, e in enumerate(load_plan(laid).entries) if e.material.name == "Foam")
    placements = stored["plan"]["entries"][number]["marker"]["placements"]
    left = placements.pop(0)  # it is not laid
    laid.write_text(json.dumps(stored))
    part = next(p["part"] for p in placements if p.get("sheet", 0) == left.get("sheet", 0))
    with served(laid, folder=laid.parent) as server, opened(browser, server.address) as page:
        page.locator("svg.marker .part").first.wait_for()
        roll_out(page, "Foam")
        foam = page.get_by_role("region", name="Foam")
        foam.get_by_label("Part in hand").select_option(str(part))
        foam.get_by_label("Lay on").select_option(label="2 of 2")
        expect(foam.get_by_label("Which sheet")).to_have_value("1")
        is_saved(page)
        marker = load_plan(laid).entries[number].marker
        assert {p.sheet for p in marker.placements if p.part == part} == {1}
        axe_finds_nothing(page)
        by_hand = foam.get_by_role("button", name="by hand").first
        by_hand.focus()
        svg = foam.locator("svg.marker").first
        version = svg.get_attribute("data-version") or ""
        foam.get_by_role("button", name="Undo").evaluate("undo => undo.click()")
        expect(svg).not_to_have_attribute("data-version", version)
        is_saved(page)
        # All is drawn anew, but what she is about to press stays where it is.
        expect(by_hand).to_be_focused()
        before = len(load_plan(laid).entries[number].marker.placements)
        by_hand.press("Enter")
        is_saved(page)
        expect(foam.locator(".part.held")).to_have_count(1)
        axe_finds_nothing(page)
    after = load_plan(laid).entries[number].marker
    assert len(after.placements) == before + 1
    assert left["part"] in {p.part for p in after.placements}


def test_a_marker_is_seen_beside_the_one_that_was_found_and_on_another_width(
    browser: Browser, laid: Path
) -> None:
    with (
        served(laid, "--time", "3s", "--workers", "1", folder=laid.parent) as server,
        opened(browser, server.address) as page,
    ):
        page.locator("svg.marker .part").first.wait_for()
        page.get_by_label("Part in hand").select_option("0")
        page.locator("svg.marker").first.focus()
        page.keyboard.press("Shift+ArrowRight")
        is_saved(page)
        page.get_by_text("Side by side").first.press("Enter")
        pair = page.locator(".pair").first
        expect(pair.locator("svg.beside").nth(1)).to_have_attribute(
            "aria-label", re.compile("as it was found")
        )
        expect(pair.get_by_label("On the right").locator("option")).to_have_count(2)
        axe_finds_nothing(page)
        page.get_by_role("link", name="Buy").click()
        page.get_by_label("Cloth", exact=True).select_option("Waxed canvas")
        page.get_by_label("widths as sold").fill("160 cm")
        page.get_by_role("button", name="Compare").click()
        expect(page.get_by_role("table", name="Compare widths").locator("tbody tr")).to_have_count(
            1
        )
        page.get_by_role("link", name="Lay", exact=True).click()
        page.locator("svg.marker .part").first.wait_for()
        page.get_by_text("Side by side").first.click()
        page.get_by_label("On the right").first.select_option(label="compared, on 160 cm")
        right = page.locator(".pair").first.locator("svg.beside").nth(1)
        expect(right).to_have_attribute("aria-label", re.compile("width 160 cm"))
        boxes = [
            svg.get_attribute("viewBox")
            for svg in page.locator(".pair").first.locator("svg.beside").all()
        ]
        sizes = {tuple((box or "").split()[2:]) for box in boxes}
        assert len(sizes) == 1, "both are drawn at one scale"
        axe_finds_nothing(page)
