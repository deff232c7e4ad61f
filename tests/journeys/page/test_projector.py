"""At true size: a square that is measured, windows with crosses, a zoom that is noticed."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from nesting import load_plan
from nesting.pattern.polygon import piece_polygon
from tests.journeys.page.browsing import axe_finds_nothing, opened, served

_TRUE = """(part) => {
  const one = document.querySelectorAll('.light g path.l-part')[part];
  const { width, height } = one.getBBox(), m = one.getScreenCTM();
  return [width * m.a, height * m.d];
}"""
"""How many pixels of the page a part takes, along and upwards."""


def crosses(page: Page) -> set[str]:
    return {text or "" for text in page.locator(".light > text").all_text_contents()}


def show(page: Page) -> None:
    page.get_by_role("link", name="Cut", exact=True).click()
    page.get_by_role("button", name="Show at true size").press("Enter")
    expect(page.get_by_role("dialog")).to_be_visible()


def test_a_marker_lies_on_the_table_at_true_size_window_by_window(
    browser: Browser, laid: Path
) -> None:
    entry = load_plan(laid).entries[0]
    first = entry.marker.placements[0]
    piece = entry.marker.lay.parts[first.part].piece
    x0, y0, x1, y1 = piece_polygon(piece, by=first.affine).bounds
    folder = laid.parent
    with (
        served(laid, folder=folder) as server,
        opened(browser, server.address, viewport={"width": 1200, "height": 800}) as page,
    ):
        show(page)
        square = page.locator(".square").bounding_box()
        assert square
        assert (square["width"], square["height"]) == pytest.approx((400, 400), abs=4)
        axe_finds_nothing(page)
        page.get_by_label("It is wide").fill("20 cm")
        page.get_by_label("and high").fill("big")
        page.keyboard.press("Enter")
        expect(page.get_by_role("alert").last).to_contain_text("big")
        page.get_by_label("and high").fill("210 mm")  # its pixels are not square
        page.keyboard.press("Enter")
        page.locator(".light path.l-part").first.wait_for()
        wide, high = page.evaluate(_TRUE, 0)
        assert wide * 200.0 / 400.0 == pytest.approx(x1 - x0, rel=1e-3)
        assert high * 210.0 / 400.0 == pytest.approx(y1 - y0, rel=1e-3)
        axe_finds_nothing(page)
        # On along the table: neighbours show the same crosses.
        before = crosses(page)
        expect(page.locator(".told")).to_contain_text("Window 1 of")
        page.keyboard.press("ArrowRight")
        expect(page.locator(".told")).to_contain_text("Window 2 of")
        assert len(before & crosses(page)) == 2
        page.keyboard.press("ArrowLeft")
        assert crosses(page) == before
        # One part alone.
        page.get_by_label("Part", exact=True).select_option(str(first.part))
        expect(page.locator(".light path.l-part")).to_have_count(1)
        # The browser's zoom is another: said, and nothing untrue is shown.
        screen = page.context.new_cdp_session(page)
        size = {"width": 1200, "height": 800, "mobile": False}
        size |= {"screenWidth": 1200, "screenHeight": 800}
        screen.send("Emulation.setDeviceMetricsOverride", {**size, "deviceScaleFactor": 1.25})
        expect(page.get_by_role("alert").last).to_contain_text("zoom")
        expect(page.locator(".light")).to_be_hidden()
        screen.send("Emulation.setDeviceMetricsOverride", {**size, "deviceScaleFactor": 1})
        expect(page.locator(".light path.l-part")).to_be_visible()
        page.keyboard.press("Escape")
        if page.get_by_role("dialog").count():  # the first one ended full screen only
            page.keyboard.press("Escape")
        expect(page.get_by_role("dialog")).to_have_count(0)
        expect(page.get_by_role("button", name="Show at true size")).to_be_focused()
        # What was measured is kept for this screen, whatever port is served next.
        with served(laid, folder=folder) as other:
            page.goto(other.address)
            show(page)
            page.locator(".light path.l-part").first.wait_for()
            again, _ = page.evaluate(_TRUE, 0)
            assert again == pytest.approx(wide)


_MOVE = """async () => {
  const version = (await (await fetch('/state')).json()).markers[0].version;
  const how = {method: 'POST', body: JSON.stringify({marker: 0, version, part: 0, along: 10})};
  return (await fetch('/hand/move', how)).ok;
}"""


def test_it_says_that_a_marker_is_not_good_or_is_another_by_now(
    browser: Browser, laid: Path
) -> None:
    with served(laid, folder=laid.parent) as server, opened(browser, server.address) as page:
        marker = page.locator("svg.marker")
        marker.locator(".part").first.wait_for()
        page.get_by_label("Part in hand").select_option("0")
        marker.focus()
        page.keyboard.press("Shift+ArrowLeft")
        expect(page.locator(".says .bad-word").first).to_contain_text("fault")
        show(page)
        page.get_by_label("It is wide").fill("40 cm")
        page.get_by_label("and high").fill("40 cm")
        page.keyboard.press("Enter")
        expect(page.locator(".told strong")).to_have_text(re.compile("Not good to cut: .* faults"))
        axe_finds_nothing(page)
        assert page.evaluate(_MOVE)
        page.set_viewport_size({"width": 1000, "height": 700})
        expect(page.locator(".told strong").last).to_contain_text("was changed since you began")
