"""A hide drawn by hand over a picture of it, by mouse and by keys, and laid on."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from PIL import Image, ImageDraw
from playwright.sync_api import Browser, Page, expect
from shapely import Polygon

from nesting import load_plan, read_job
from nesting.pattern.polygon import polygon
from tests.journeys.page.browsing import axe_finds_nothing, opened, served

JOB = """# cut from what lies here
[job]
name = "Purse"
unit = "cm"

[[leather]]
name = "calf"          # soft
margin = "2 mm"

[[piece]]
name = "flap"
rectangle = [8, 5]

[[cut]]
piece = "flap"
material = "calf"
copies = 3
"""
_PICTURE = """([x, y]) => {
  const m = document.querySelector('svg.hide').getScreenCTM();
  return [m.a * x + m.e, m.d * y + m.f];
}"""
"""Where a pixel of the picture is on the screen."""


def click(page: Page, *corners: tuple[float, float]) -> None:
    for corner in corners:
        page.mouse.click(*page.evaluate(_PICTURE, corner))


def test_a_hide_is_drawn_over_its_picture_changed_and_laid_on(
    browser: Browser, tmp_path: Path
) -> None:
    job = tmp_path / "purse.toml"
    job.write_text(JOB)
    photo = tmp_path / "photo.png"
    image = Image.new("RGB", (800, 600), "white")
    ImageDraw.Draw(image).polygon([(100, 100), (700, 120), (680, 520), (90, 500)], fill="peru")
    image.save(photo)
    with (
        served("--time", "2s", "--workers", "1", job, folder=tmp_path) as server,
        opened(browser, server.address, viewport={"width": 1200, "height": 1000}) as page,
    ):
        page.get_by_role("link", name="Goods").click()
        page.get_by_text("Its hides: none").press("Enter")
        page.get_by_role("button", name="Draw a hide of calf").press("Enter")
        page.get_by_label("Called, as on its tag").fill("calf 4")
        page.get_by_label("A picture of it").set_input_files(photo)
        page.locator("svg.hide image").wait_for(state="attached")
        page.locator("svg.hide").scroll_into_view_if_needed()
        click(page, (100, 550), (500, 550))  # the scale: 400 pixels
        page.get_by_label("In truth they are apart by").fill("20 cm")
        click(page, (100, 100), (700, 120), (400, 300), (680, 520), (90, 500))
        expect(page.locator("[aria-live]", has_text="5 corners, corner 5")).to_be_visible()
        # A corner is undone and put again; what is drawn is not in the job yet.
        stored = job.read_text()
        page.locator("svg.hide").focus()
        for _ in range(2):
            page.keyboard.press("Control+z")
        expect(page.locator("[aria-live]", has_text="3 corners.")).to_be_visible()
        page.keyboard.press("Control+y")
        page.get_by_role("button", name="Put it again").click()
        expect(page.locator("[aria-live]", has_text="5 corners.")).to_be_visible()
        assert job.read_text() == stored
        page.locator("svg.hide").focus()
        page.keyboard.press("p")  # the last one again
        # The third one was a slip: taken in hand with the keys, and out.
        page.locator("svg.hide").focus()
        for key in ("p", "p", "Delete"):
            page.keyboard.press(key)
        expect(page.locator("[aria-live]", has_text="4 corners")).to_be_visible()
        # The first one is dragged where it belongs.
        page.mouse.move(*page.evaluate(_PICTURE, (100, 100)))
        page.mouse.down()
        page.mouse.move(*page.evaluate(_PICTURE, (120, 110)), steps=3)
        page.mouse.move(*page.evaluate(_PICTURE, (110, 105)), steps=3)
        page.mouse.up()
        page.get_by_role("button", name="Add a flaw").click()
        page.locator("#hide-called").fill("brand")
        click(page, (300, 200), (340, 200), (340, 240))
        # A zone by keys alone: the cross is moved, Enter puts a corner.
        page.get_by_role("button", name="Add a zone").press("Enter")
        page.get_by_label("grade", exact=True).select_option("B")
        page.locator("svg.hide").focus()
        for way in ("ArrowRight", "ArrowDown", "ArrowLeft"):
            page.keyboard.press("Escape")
            for _ in range(8):
                page.keyboard.press(way)
            page.keyboard.press("Enter")
        expect(page.locator("[aria-live]", has_text="3 corners")).to_be_visible()
        axe_finds_nothing(page)
        page.get_by_role("button", name="Keep the hide").click()
        expect(page.get_by_text("Its hides: 1")).to_be_visible()
        expect(page.locator("svg.hide")).to_have_count(0)
        axe_finds_nothing(page)
        (leather,) = read_job(job).materials
        (hide,) = leather.hides  # type: ignore[union-attr]
        assert hide.name == "calf 4"
        half = 0.5  # mm that a pixel of the picture is
        drawn = [(110, 105), (700, 120), (680, 520), (90, 500)]
        area = Polygon(drawn).area * half**2
        assert polygon(hide.outline).area == pytest.approx(area, rel=0.01)
        assert [zone.grade for zone in hide.zones] == ["B"]
        assert len(hide.flaws) == 1
        x0, _, _, y1 = polygon(hide.flaws[0]).bounds
        assert math.isclose(x0, (300 - 90) * half, abs_tol=1.0)
        assert math.isclose(y1, (520 - 200) * half, abs_tol=1.0)
        text = job.read_text()
        assert "# cut from what lies here" in text
        assert "# soft" in text
        # Its picture is kept: it lies under what was drawn when she changes it, and is laid on.
        assert hide.picture is not None
        assert hide.picture.size == pytest.approx((800 * half, 600 * half), rel=0.01)
        assert hide.picture.at == pytest.approx((-90 * half, (520 - 600) * half), abs=1.0)
        page.get_by_role("button", name="Change calf 4").click()
        expect(page.locator("svg.hide image")).to_have_count(1)
        expect(page.locator("[aria-live]", has_text="4 corners")).to_be_visible()
        page.get_by_label("You draw").select_option(label="flaw brand")
        page.get_by_role("button", name="Take this one out").click()
        page.get_by_role("button", name="Keep the hide").click()
        expect(page.locator("svg.hide")).to_have_count(0)
        page.get_by_role("button", name="Lay it").click()
        page.locator("svg.marker .part").first.wait_for()
        expect(page.locator("svg.marker .part")).to_have_count(3)
        expect(page.locator(".view .picture image")).to_have_count(1)
        expect(page.locator(".keep")).to_contain_text("Saved")
    (leather,) = read_job(job).materials
    assert not leather.hides[0].flaws  # type: ignore[union-attr]
    assert load_plan(tmp_path / "purse-laid" / "plan.json").entries[0].good


def test_a_hide_of_path_data_over_its_picture_is_changed_and_left_overs_are_seen(
    browser: Browser, tmp_path: Path
) -> None:
    job = tmp_path / "purse.toml"
    hide = """
[[leather.hide]]
name = "old one"
outline = "M 0,0 L 500,0 L 500,400 L 0,400 Z"
picture = { file = "hide.png", size = ["50 cm", "40 cm"] }

[[remnant]]
name = "rest"
material = "calf"
points = [[0, 0], [30, 0], [0, 20]]

[[piece]]
"""
    job.write_text(JOB.replace("\n[[piece]]\n", hide))
    Image.new("RGB", (100, 80), "peru").save(tmp_path / "hide.png")
    with (
        served("--time", "2s", "--workers", "1", job, folder=tmp_path) as server,
        opened(browser, server.address, viewport={"width": 1200, "height": 1000}) as page,
    ):
        page.get_by_role("link", name="Goods").click()
        calf = page.get_by_role("group", name="calf")
        calf.get_by_text("Left-overs and stock: 1 piece").press("Enter")
        expect(calf.get_by_text("30 × 20 cm, as it is drawn")).to_be_visible()
        expect(calf.locator("svg.left").last).to_be_visible()
        calf.get_by_text("Its hides").press("Enter")
        calf.get_by_role("button", name="Change old one").press("Enter")
        drawing = page.locator("svg.hide")
        expect(drawing.locator(".h-corner")).to_have_count(4)
        expect(drawing.locator("image")).to_have_count(1)
        drawing.evaluate("e => e.scrollIntoView()")
        axe_finds_nothing(page)
        page.mouse.move(*page.evaluate(_PICTURE, (500, -400)))
        page.mouse.down()
        page.mouse.move(*page.evaluate(_PICTURE, (450, -380)), steps=4)
        page.mouse.up()
        page.get_by_role("button", name="Keep the hide").click()
        expect(drawing).to_have_count(0)
    (leather,) = read_job(job).materials
    rest, old = leather.hides  # type: ignore[union-attr]
    assert polygon(old.outline).area == pytest.approx(
        500 * 400 - 50 * 400 / 2 - 20 * 500 / 2, rel=2e-2
    )
    assert old.picture is not None
    assert rest.remnant
