from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from nesting.planning.plan import Plan
from nesting.planning.plan_file import save_plan
from nesting.planning.summary import judge_plan
from tests.journeys.page.browsing import chromium


@pytest.fixture(scope="module")  # its loop runs on in this thread while it is open
def browser() -> Iterator[Browser]:
    with chromium() as found:
        yield found


@pytest.fixture
def laid(tmp_path: Path, hand_laid_plan: Plan) -> Path:
    """Return a folder's plan of cloth, printed cloth, sheets and a hide, without a search."""
    folder = tmp_path / "market bag"
    folder.mkdir()
    save_plan(judge_plan(hand_laid_plan), folder / "plan.json")
    return folder / "plan.json"
