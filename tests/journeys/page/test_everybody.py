"""Every view of a job, all that is rolled up in it opened: narrow and dark, wide and light."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from tests.journeys.page.browsing import axe_finds_nothing, opened, served

SAMPLES = Path(__file__).resolve().parents[3] / "sample_markers"


@pytest.mark.parametrize(("wide", "scheme"), [(390, "dark"), (1440, "light")])
def test_every_view_keeps_nobody_out(
    browser: Browser, tmp_path: Path, wide: int, scheme: str
) -> None:
    shutil.copytree(SAMPLES / "tool_roll", tmp_path / "bags")
    shutil.move(tmp_path / "bags" / "laid", tmp_path / "bags" / "tool_roll-laid")
    how = {"viewport": {"width": wide, "height": 900}, "color_scheme": scheme}
    with (
        served("tool_roll.toml", folder=tmp_path / "bags") as server,
        opened(browser, server.address, reduced_motion="reduce", **how) as page,
    ):
        page.locator("svg.marker .part").first.wait_for()
        for name in ("Pattern", "Goods", "Lay", "Buy", "Cut"):
            page.get_by_role("link", name=name, exact=True).click()
            expect(page.locator("nav [aria-current]")).to_have_text(name)
            page.wait_for_timeout(1500)
            page.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
            page.wait_for_timeout(300)
            axe_finds_nothing(page)
            assert page.evaluate("document.documentElement.scrollWidth") <= wide, name
            small = page.evaluate(_SMALL)
            assert small == [], (name, small)


_SMALL = """() => [...document.querySelectorAll("button, select, input, summary, nav a")]
  .filter((e) => e.checkVisibility())
  .map((e) => [e.textContent || e.id, e.getBoundingClientRect()])
  .filter(([, box]) => box.height < 24 || box.width < 24)
  .map(([said, box]) => `${said}: ${box.width} x ${box.height}`)"""
"""Targets under 24 px (WCAG 2.2, 2.5.8)."""
