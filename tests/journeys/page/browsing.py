"""The page as it is used: the command serves it, a real Chromium shows it."""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect, sync_playwright

__all__ = ["SLOW", "Served", "axe_finds_nothing", "chromium", "opened", "served"]

SLOW = 120_000
"""Milliseconds that anything may take: the machine may be busy."""

_AXE = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}


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
    """A running command: its address with the key, and the process."""

    address: str
    process: subprocess.Popen[str]

    def interrupt(self) -> tuple[int, str]:
        """Press Ctrl-C; return its exit status and what it said at last."""
        self.process.send_signal(signal.SIGINT)
        said, _ = self.process.communicate(timeout=120)
        return self.process.returncode, said


@contextmanager
def served(*arguments: object, folder: Path) -> Iterator[Served]:
    """Run the command in a folder, without opening a browser."""
    process = subprocess.Popen(
        [sys.executable, "-m", "thriftlay", "page", "--no-open", *map(str, arguments)],
        cwd=folder,
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )
    try:
        assert process.stdout is not None
        line = process.stdout.readline()
        address = re.search(r"http://\S+", line)
        assert address, line
        yield Served(address[0], process)
    finally:
        process.kill()
        process.wait()
        assert process.stdout is not None
        process.stdout.close()


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
    context.close()
    left = [w for w in wrong if "status of 4" not in w and "net::ERR" not in w]
    assert left == [], left


def axe_finds_nothing(page: Page) -> None:
    """Look for what keeps people out of what is shown (axe, WCAG 2.2 AA)."""
    found = Axe().run(page, options=_AXE).response
    assert found["passes"], "axe looked at nothing"
    said = [(v["id"], [node["html"][:200] for node in v["nodes"]]) for v in found["violations"]]
    assert said == [], said
