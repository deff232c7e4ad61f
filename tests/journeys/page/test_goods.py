"""Goods as she has them: widths on sale, a print, left-overs, stock; widths compared."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

from playwright.sync_api import Browser, expect

from nesting import read_job
from nesting.material.material import Cloth
from tests.journeys.page.browsing import axe_finds_nothing, opened, served

SAMPLES = Path(__file__).resolve().parents[3] / "sample_markers"


def lining_of(job: Path) -> Cloth:
    cloth = read_job(job).material("lining")
    assert isinstance(cloth, Cloth)
    return cloth


def test_widths_a_print_left_overs_and_stock_are_said_and_widths_compared(
    browser: Browser, tmp_path: Path
) -> None:
    for file in (SAMPLES / "tool_roll").glob("*.toml"):
        shutil.copy(file, tmp_path)
    laid = tmp_path / "tool_roll-laid"
    laid.mkdir()
    shutil.copy(SAMPLES / "tool_roll" / "laid" / "plan.json", laid)
    job = tmp_path / "tool_roll.toml"
    with (
        served("--time", "3s", "--workers", "1", job, folder=tmp_path) as server,
        opened(browser, server.address) as page,
    ):
        page.get_by_role("link", name="Goods").click()
        lining = page.get_by_role("group", name="lining")
        expect(lining.get_by_label("width as sold")).to_have_count(2)
        lining.get_by_label("another width on sale").fill("120 cm")
        page.keyboard.press("Tab")
        expect(lining.get_by_label("width as sold")).to_have_count(3)
        lining.get_by_label("price", exact=True).nth(2).fill("11,20")
        page.keyboard.press("Tab")
        expect(lining.get_by_label("price", exact=True).nth(2)).to_have_value("11.2")
        lining.get_by_label("which way up").select_option("one-way")
        lining.get_by_text("Its print").press("Enter")
        for label, value in (
            ("repeats along after", "32 cm"),
            ("across after", "24 cm"),
            ("every other column", "0.5"),
        ):
            lining.get_by_label(label).fill(value)
            page.keyboard.press("Tab")
        expect(lining.get_by_text("32 cm along, 24 cm across")).to_be_visible()
        axe_finds_nothing(page)
        # What is refused stands there as it was.
        lining.get_by_label("repeats along after").fill("far")
        page.keyboard.press("Tab")
        expect(page.locator("[role=alert]")).to_contain_text("far")
        expect(lining.get_by_label("repeats along after")).to_have_value("32 cm")
        lining.get_by_text("Left-overs and stock").press("Enter")
        lining.get_by_label("left-over called").fill("rest of May")
        lining.get_by_label("length x width").fill("60 cm x 50 cm")
        lining.get_by_role("button", name="Add the left-over").press("Enter")
        expect(lining.get_by_text("Left-overs and stock: 1 piece")).to_be_visible()
        lining.get_by_label("Lengths at hand").fill("0.5 m x 112 cm")
        page.keyboard.press("Tab")
        expect(page.locator(".keep")).to_contain_text("Saved")
        axe_finds_nothing(page)
        # Of one more width: the same table as the command's.
        page.get_by_role("link", name="Buy").click()
        page.get_by_label("Cloth", exact=True).select_option("lining")
        page.get_by_label("widths as sold").fill("112 cm, 54 in")
        page.get_by_role("button", name="Compare").press("Enter")
        compared = page.get_by_role("table", name="Compare widths")
        expect(compared.locator("tbody tr")).to_have_count(2)
        expect(compared).to_contain_text("137.16 cm")
        page.get_by_text("As a chart").press("Enter")
        chart = page.get_by_role("img", name="A chart of the widths")
        expect(chart).to_be_visible()
        page.wait_for_function("() => document.querySelector('img.chart').naturalWidth > 500")
        page.get_by_text("Lengths for your instructions").press("Enter")
        expect(page.get_by_text(re.compile(r"^lining: .* m at 112 cm"))).to_be_visible()
        axe_finds_nothing(page)
    cloth = lining_of(job)
    assert [(w.booked, w.price) for w in cloth.widths] == [
        (1120.0, 9.8),
        (1500.0, 13.2),
        (1200.0, 11.2),
    ]
    assert cloth.print is not None
    assert (cloth.print.along, cloth.print.across, cloth.print.drop) == (320.0, 240.0, 0.5)
    assert cloth.nap == "one-way"
    assert [left.name for left in cloth.remnants] == ["rest of May"]
    assert cloth.rolls == (500.0,)
    assert "# washed before cutting" in job.read_text()


def test_whole_bags_that_there_is_enough_for_are_counted(browser: Browser, tmp_path: Path) -> None:
    job = tmp_path / "case.toml"
    job.write_text(
        """
        [job]
        name = "Case"
        unit = "cm"
        [[sheet]]
        name = "foam"
        size = [30, 20]
        count = 2
        [[piece]]
        name = "side"
        rectangle = [14, 19]
        [[cut]]
        piece = "side"
        material = "foam"
        """
    )
    with (
        served("--time", "2s", "--workers", "1", job, folder=tmp_path) as server,
        opened(browser, server.address) as page,
    ):
        expect(page.locator(".keep")).to_contain_text("Saved")
        expect(page.get_by_role("button", name="Stop with the best")).to_have_count(0)
        page.get_by_role("link", name="Buy").click()
        page.get_by_role("button", name="Find how many").press("Enter")
        expect(page.get_by_text("At hand is enough for 4 whole bags; the area")).to_be_visible()
        axe_finds_nothing(page)
        # When it is cut what is left comes to the stock, once.
        page.get_by_role("link", name="Cut", exact=True).click()
        page.get_by_role("button", name="All is cut: bring the stock").press("Enter")
        expect(page.get_by_text("The stock is up to date, in case-stock.toml")).to_be_visible()
        axe_finds_nothing(page)
        page.get_by_role("button", name="All is cut: bring the stock").press("Enter")
        expect(page.locator("main [role=alert]")).to_contain_text("taken off the stock before")
        page.get_by_role("link", name="Goods").click()
        page.get_by_role("group", name="foam").get_by_text("Left-overs and stock: 1").click()
        expect(page.get_by_text("it stands in a stock file")).to_be_visible()
        axe_finds_nothing(page)
    assert 'include = ["case-stock.toml"]' in job.read_text()
