"""Cutting from the screen: parts ticked off on a phone, that stay so."""

from __future__ import annotations

import json
from pathlib import Path

from playwright.sync_api import Browser, expect

from nesting.planning.plan_file import load_plan
from tests.journeys.page.browsing import axe_finds_nothing, opened, served


def test_parts_are_ticked_off_on_a_phone_and_stay_so(browser: Browser, laid: Path) -> None:
    phone = {"width": 390, "height": 800}
    entry = load_plan(laid).entries[0]
    with served(laid, folder=laid.parent) as server:
        with opened(browser, server.address, viewport=phone) as page:
            page.get_by_role("link", name="Cut", exact=True).click()
            page.locator("details.ticking summary").first.click()
            boxes = page.locator("details.ticking").first.get_by_role("checkbox")
            expect(boxes).to_have_count(len(entry.marker.placements))
            boxes.nth(0).check()
            boxes.nth(2).check()
            boxes.nth(0).uncheck()
            left = f"{len(entry.marker.placements) - 1} of {len(entry.marker.placements)} left"
            expect(page.locator("details.ticking summary").first).to_contain_text(left)
            axe_finds_nothing(page)
            assert page.evaluate("document.documentElement.scrollWidth") <= 390
        with opened(browser, server.address) as page:
            page.get_by_role("link", name="Cut", exact=True).click()
            page.locator("details.ticking summary").first.click()
            boxes = page.locator("details.ticking").first.get_by_role("checkbox")
            expect(boxes.nth(2)).to_be_checked()
            expect(boxes.nth(0)).not_to_be_checked()
    third = entry.marker.lay.parts[entry.marker.placements[2].part].name
    held = json.loads((laid.parent / "cut.json").read_text())
    assert held == {entry.marker.lay.name: [third]}
