"""A picture of a cloth, dropped on the page: its repeat found, taken, and seen under the marker."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Browser, expect

from nesting import read_job
from nesting.material.material import Cloth
from tests.journeys.page.browsing import axe_finds_nothing, opened, served
from tests.unit.cli.page.test_prints import JOB, halves, scan


def test_a_picture_of_the_cloth_is_its_print_and_lies_under_the_marker(
    browser: Browser, tmp_path: Path
) -> None:
    job, photo = tmp_path / "bag.toml", tmp_path / "flowers.png"
    job.write_text(JOB.format("cm").partition("[[cut]]")[0])
    photo.write_bytes(scan("flowers with stalks"))
    with (
        served("--time", "2s", "--workers", "1", job, folder=tmp_path) as server,
        opened(browser, server.address, viewport={"width": 390, "height": 900}) as page,
    ):
        page.get_by_role("link", name="Goods").click()
        canvas = page.get_by_role("group", name="canvas", exact=True)
        canvas.get_by_text("Its print: none").press("Enter")
        canvas.get_by_label("A picture of the cloth").set_input_files(photo)
        # What can't be used is said, with what to do.
        canvas.get_by_role("button", name="Look at it").click()
        expect(page.locator("[role=alert]")).to_contain_text("A4, Letter")
        canvas.get_by_label("What gives its scale").fill("50.8 dpi")
        canvas.get_by_role("button", name="Look at it").click()
        expect(canvas.get_by_text("% sure")).to_be_visible()
        expect(canvas.get_by_text("direction: one way up")).to_be_visible()
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
        axe_finds_nothing(page)
        assert "picture" not in job.read_text()
        canvas.get_by_role("button", name="Take it for this cloth").click()
        expect(canvas.get_by_text("Its picture:")).to_be_visible()
        expect(canvas.get_by_label("repeats along after")).not_to_have_value("")
        expect(canvas.locator("img.motif")).to_have_count(1)
        axe_finds_nothing(page)
        page.get_by_label("How many of side from canvas").fill("2")
        page.keyboard.press("Tab")
        page.get_by_role("button", name="Lay it").click()
        expect(page.locator(".view .picture image").first).to_be_attached()
    cloth = read_job(job).material("canvas")
    assert isinstance(cloth, Cloth)
    assert cloth.print is not None
    assert cloth.print.picture is not None


def test_a_picture_of_one_repeat_has_the_size_that_is_said(
    browser: Browser, tmp_path: Path
) -> None:
    job, photo = tmp_path / "bag.toml", tmp_path / "half.png"
    job.write_text(JOB.format("cm"))
    photo.write_bytes(halves())
    with (
        served("--time", "2s", "--workers", "1", job, folder=tmp_path) as server,
        opened(browser, server.address, color_scheme="dark") as page,
    ):
        page.get_by_role("link", name="Goods").click()
        canvas = page.get_by_role("group", name="canvas", exact=True)
        canvas.get_by_text("Its print: none").press("Enter")
        canvas.get_by_label("A picture of the cloth").set_input_files(photo)
        canvas.get_by_label("how large it is").select_option(
            label="it shows one repeat, whose size I know"
        )
        canvas.get_by_label("what points along the cloth").select_option("left")
        canvas.get_by_role("button", name="Look at it").click()
        canvas.get_by_label("one repeat goes along by").fill("8")
        # What another tab or program changes meanwhile takes nothing away.
        job.write_text(job.read_text().replace("140 cm", "150 cm"))
        expect(canvas.get_by_label("width as sold")).to_have_value("150 cm")
        canvas.get_by_label("one repeat goes across by").fill("16")
        axe_finds_nothing(page)
        canvas.get_by_role("button", name="Take it for this cloth").click()
        expect(canvas.get_by_text("Its picture: 8 x 16")).to_be_visible()
        canvas.get_by_role("button", name="Take the picture out").click()
        expect(canvas.get_by_text("Its picture:")).to_have_count(0)
        assert "picture" not in job.read_text()
