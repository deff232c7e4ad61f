"""A marker is looked at from near and far: it moves as one picture, and names can be read."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from tests.journeys.page.browsing import opened, served

SAMPLES = Path(__file__).resolve().parents[3] / "sample_markers"
_WATCH = """() => {
  window.moves = [];
  const svg = document.querySelector('.view svg');
  new MutationObserver(() => {
    const box = svg.querySelector('.part').getBoundingClientRect();
    if (svg.style.transform) window.moves.push(box.toJSON());
  }).observe(svg, { attributes: true });
}"""
ALL = "e => e.getBoundingClientRect().toJSON()"


def test_a_hide_is_shown_whole_its_zones_are_read_and_the_view_rests_where_it_was(
    browser: Browser, tmp_path: Path
) -> None:
    shutil.copytree(SAMPLES / "pouch" / "laid", tmp_path / "laid")
    plan = tmp_path / "laid" / "plan.json"
    with served(plan, folder=tmp_path) as server, opened(browser, server.address) as page:
        svg, view = page.locator(".view svg"), page.locator(".view")
        names = page.locator(".view .over text")
        names.first.wait_for()
        frame, hide = view.evaluate(ALL), page.locator(".view .l-sheet").evaluate(ALL)
        assert frame["left"] <= hide["left"] <= hide["right"] <= frame["right"]
        assert frame["top"] <= hide["top"] <= hide["bottom"] <= frame["bottom"]
        large = max(hide[side] / frame[side] for side in ("width", "height"))
        assert large > 0.85, "shown whole, but small"
        for name in names.all():
            box = name.evaluate(ALL)
            assert min(box["width"], box["height"]) > 8.0, name.text_content()
        # Closer and aside: while it moves it is one picture, which rests where it is.
        page.evaluate(_WATCH)
        drawn = svg.get_attribute("viewBox")
        svg.focus()
        for key in ("+", "+", "ArrowRight", "ArrowDown"):
            page.keyboard.press(key)
        expect(svg).not_to_have_attribute("viewBox", drawn or "")
        expect(svg).not_to_have_attribute("style", re.compile("transform"))
        moving = page.evaluate("window.moves.at(-1)")
        assert moving is not None, "drawn anew for each step"
        rested = page.locator(".view .part").first.evaluate(ALL)
        for side in ("left", "top", "width", "height"):
            assert moving[side] == pytest.approx(rested[side], abs=2.0), side
        svg.press("0")
        expect(svg).to_have_attribute("viewBox", drawn or "")
