"""Pictures of goods under the marker: one sees what falls where."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, expect

from nesting import save_plan
from tests.journeys.page.browsing import axe_finds_nothing, opened, served
from tests.unit.job.test_pictures import CLOTH, HIDE, LEATHER, PRINT
from tests.unit.writing.test_shown_goods import plan_of

_PLACE = """([x, y]) => {
  const p = new DOMPoint(x, -y).matrixTransform(document.querySelector('.view svg').getScreenCTM());
  return [p.x, p.y];
}"""


def colour_at(page: Page, x: float, y: float) -> str:
    """Return what the screen shows at a place of the marker (mm)."""
    right, down = page.evaluate(_PLACE, [x, y])
    clip = {"x": right - 0.5, "y": down - 0.5, "width": 1, "height": 1}
    image = Image.open(io.BytesIO(page.screenshot(clip=clip))).convert("RGB")
    red, _, blue = image.getpixel((0, 0))  # type: ignore[misc]
    return "" if abs(red - blue) < 60 else "red" if red > blue else "blue"


@pytest.mark.parametrize("goods", ["print", "hide"])
def test_goods_are_seen_where_parts_lie(browser: Browser, tmp_path: Path, goods: str) -> None:
    """A motif's middle is where red becomes blue: at 10, 20; of the hide it is at 400."""
    printed = goods == "print"
    told = (CLOTH, PRINT) if printed else (LEATHER, HIDE)
    plan = plan_of(tmp_path, *told, pixels=(128, 64))  # a large picture is not blurred
    save_plan(plan, tmp_path / "plan.json")
    with (
        served(tmp_path / "plan.json", folder=tmp_path) as server,
        opened(browser, server.address, viewport={"width": 1300, "height": 1000}) as page,
    ):
        page.locator(".view .part").first.wait_for()
        page.locator(".view .picture image").first.evaluate("it => it.decode()")
        page.locator(".view svg").scroll_into_view_if_needed()
        places = [(74, 84), (42, 20 + 32)] if printed else [(400, 250)]
        for x, y in places:
            # Beside the ring and the lines of the print, and in the parts as well.
            seen = [colour_at(page, x + dx, y + 4) for dx in (-12, 12)]
            assert seen == ["red", "blue"], (x, y)
        axe_finds_nothing(page)
        # Who would rather read names does without.
        page.get_by_label("Show the picture of the goods").uncheck()
        x, y = places[0]
        assert len({colour_at(page, x + dx, y + 4) for dx in (-12, 12)}) == 1
        page.get_by_label("Show the picture of the goods").check()
        # It stays where it is when a part is moved, and is not fetched anew.
        image = page.locator(".view .picture image").first.element_handle()
        page.locator(".view svg").press("n")
        page.locator(".view svg").press("ArrowUp")
        expect(page.locator(".verdict")).not_to_be_empty()
        assert image is not None
        assert image.evaluate("e => e.isConnected")
        assert [colour_at(page, x + dx, y + 4) for dx in (-12, 12)] == ["red", "blue"]
        # Side by side, too.
        page.get_by_text("Side by side").click()
        expect(page.locator(".beside .picture image").first).to_be_attached()
