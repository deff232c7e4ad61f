"""The page as it is used: the command serves it, a real Chromium shows it."""

from __future__ import annotations

import atexit
import os
import re
import shutil
import signal
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, FloatRect, Locator, Page, expect, sync_playwright

from tests.journeys.page.warmed import Forked, Warmed

__all__ = ["SLOW", "Served", "axe_finds_nothing", "box_of", "chromium", "opened", "served"]

SLOW = 120_000
"""Milliseconds that anything may take: the machine may be busy."""

_AXE = {
    "runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    "resultTypes": ["violations"],  # of what passes one element for each rule is told
}


@contextmanager
def chromium() -> Iterator[Browser]:
    """Give Debian's Chromium; say loudly where it is missing, and fail where it has to be."""
    found = shutil.which("chromium")
    if found is None:
        said = "chromium is not on this machine: the page is NOT TRIED (apt-get install chromium)"
        if os.environ.get("CI"):
            pytest.fail(said)
        pytest.skip(said)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=found, args=["--no-sandbox"])
        expect.set_options(timeout=SLOW)
        yield browser
        browser.close()


@dataclass(slots=True)
class Served:
    """A running command, and its address with the key."""

    address: str
    command: Forked

    def interrupt(self) -> tuple[int, str]:
        """Press Ctrl-C; return its exit status and what it said at last."""
        self.command.send(signal.SIGINT)
        said = self.command.said.read()
        return self.command.wait(), said

    def kill(self) -> None:
        """End it without a warning."""
        self.command.send(signal.SIGKILL)


@cache
def _warmed() -> Warmed:
    warmed = Warmed()
    atexit.register(warmed.close)
    return warmed


@contextmanager
def served(*arguments: object, folder: Path) -> Iterator[Served]:
    """Run the command in a folder, without opening a browser."""
    command = _warmed().begin(["page", "--no-open", *map(str, arguments)], folder)
    try:
        line = command.said.readline()
        address = re.search(r"http://\S+", line)
        assert address, line
        yield Served(address[0], command)
    finally:
        command.close()


def box_of(one: Locator) -> FloatRect:
    """Return where something is on the screen, though it be drawn anew just now."""
    for _ in range(SLOW // 50):
        if (box := one.bounding_box()) is not None:
            return box
        one.page.wait_for_timeout(50)
    raise AssertionError("it is not on the screen")


@contextmanager
def opened(browser: Browser, address: str, **how: object) -> Iterator[Page]:
    """Open the address in a window of its own; whatever the page complains of is a failure."""
    context = browser.new_context(**how)  # type: ignore[arg-type]
    context.set_default_timeout(SLOW)
    page = context.new_page()
    wrong: list[str] = []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.on("console", lambda told: wrong.append(told.text) if told.type == "error" else None)
    page.goto(address)
    yield page
    page.unroute_all(behavior="ignoreErrors")  # what is still fetched for a test isn't waited for
    context.close()
    left = [w for w in wrong if "status of 4" not in w and "net::ERR" not in w]
    assert left == [], left


def axe_finds_nothing(page: Page) -> None:
    """Look for what keeps people out of what is shown (axe, WCAG 2.2 AA)."""
    found = Axe().run(page, options=_AXE).response
    assert found["passes"], "axe looked at nothing"
    said = [(v["id"], [node["html"][:200] for node in v["nodes"]]) for v in found["violations"]]
    assert said == [], said
