"""The pages that lie among a plan's files, in a real browser."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from nesting.planning.plan import Plan
from nesting.planning.summary import judge_plan
from nesting.writing.pages.report import report
from nesting.writing.pages.wording import entry_title
from nesting.writing.pages.work_sheet import work_sheet
from tests.journeys.page.browsing import axe_finds_nothing, opened


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
