"""The pages that lie among a plan's files, and the page's picture, in a real browser."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from nesting.planning.plan import Plan
from nesting.planning.summary import judge_plan
from nesting.writing.pages.report import report
from nesting.writing.pages.wording import entry_title
from nesting.writing.pages.work_sheet import work_sheet
from tests.journeys.page.browsing import axe_finds_nothing, opened, served

SAMPLES = Path(__file__).resolve().parents[3] / "sample_markers"
PICTURE = SAMPLES / "page.png"
"""The README's; drawn anew by ``THRIFTLAY_PICTURE=1 pytest tests/journeys/page/test_files.py``."""


def _work_sheet(plan: Plan) -> str:
    return work_sheet(plan, files={entry_title(e): f"{n}.hpgl" for n, e in enumerate(plan.entries)})


@pytest.mark.parametrize("text", [report, _work_sheet])
@pytest.mark.parametrize("wide", [390, 1280])
def test_report_and_work_sheet_keep_nobody_out(
    browser: Browser,
    hand_laid_plan: Plan,
    tmp_path: Path,
    text: Callable[[Plan], str],
    wide: int,
) -> None:
    file = tmp_path / "page.html"
    file.write_text(text(judge_plan(hand_laid_plan)), encoding="utf-8")
    size = {"width": wide, "height": 800}
    with opened(browser, file.as_uri(), viewport=size) as page:
        expect(page.locator("h1")).to_be_visible()
        axe_finds_nothing(page)


def test_the_picture_in_the_readme(browser: Browser, tmp_path: Path) -> None:
    folder = tmp_path / "tool roll"
    folder.mkdir()
    shutil.copy(SAMPLES / "tool_roll" / "laid" / "plan.json", folder)
    with (
        served("tool roll/plan.json", folder=tmp_path) as server,
        opened(browser, server.address, viewport={"width": 1100, "height": 860}) as page,
    ):
        page.locator("svg.marker .part").first.wait_for()
        page.get_by_label("Part in hand").select_option(label="side facing R")
        page.locator("svg.marker").focus()
        for _ in range(4):
            page.keyboard.press("Shift+ArrowRight")
            page.keyboard.press("Shift+ArrowDown")
        expect(page.locator(".ring").first).to_be_visible()
        expect(page.locator(".keep")).to_contain_text("Saved")
        page.evaluate("document.activeElement.blur()")
        drawn = tmp_path / "page.png"
        page.screenshot(path=drawn)
    if os.environ.get("THRIFTLAY_PICTURE"):
        shutil.copy(drawn, PICTURE)
    assert 20_000 < drawn.stat().st_size < 200_000
    assert PICTURE.stat().st_size < 200_000
