"""Who reaches the page over a network, and what a page of ours can be made to do."""

from __future__ import annotations

import ipaddress
import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import httpx
import pytest
from playwright.sync_api import Browser, Error, expect
from thriftlay.page.server import _own

from tests.journeys.page.browsing import served

SAMPLES = Path(__file__).resolve().parents[3] / "sample_markers"


@pytest.fixture
def own() -> str:
    """Return this machine's address in its network; say loudly where it has none."""
    host = _own()
    if ipaddress.ip_address(host).is_loopback:
        said = "this machine is in no network: --host is NOT TRIED"
        if os.environ.get("CI"):
            pytest.fail(said)
        pytest.skip(said)
    return host


@contextmanager
def started(*arguments: str, folder: Path) -> Iterator[tuple[str, str]]:
    """Run the command; give the address it printed, and the line said beside it."""
    process = subprocess.Popen(
        [sys.executable, "-m", "thriftlay", "page", "--no-open", *arguments],
        cwd=folder,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )
    try:
        assert process.stdout is not None
        assert process.stderr is not None
        address = process.stdout.readline().rpartition(" ")[2].strip()
        yield address, process.stderr.readline()
    finally:
        process.kill()
        process.communicate()


def test_for_a_tablet_it_says_what_it_opens_and_needs_the_secret(tmp_path: Path, own: str) -> None:
    with started("--host", own, folder=tmp_path) as (address, said):
        assert f"whoever has this address and reaches {own}" in said
        assert "can see this job, change it and write files" in said
        assert "can be read by others in that network" in said
        url = httpx.URL(address)
        here = f"http://{own}:{url.port}"
        with httpx.Client() as stranger:
            for path in ("/", "/?key=" + "x" * 43, "/state", "/static/main.js"):
                answer = stranger.get(here + path)
                assert answer.status_code == 403, path
                assert "it has this page's key in it" in answer.text
        with httpx.Client() as tablet:
            assert tablet.get(address).status_code == 200
            assert tablet.get(f"{here}/state").status_code == 200
            for name in (f"127.0.0.1:{url.port}", f"workshop.example:{url.port}"):
                assert tablet.get(f"{here}/state", headers={"Host": name}).status_code == 421
            with pytest.raises(httpx.ConnectError):  # nor at any other address
                tablet.get(f"http://127.0.0.1:{url.port}/state")


def test_unasked_it_is_this_machines_alone(tmp_path: Path, own: str) -> None:
    with started(folder=tmp_path) as (address, said):
        assert said.startswith("Ctrl-C ends it")
        url = httpx.URL(address)
        assert url.host == "127.0.0.1"
        with pytest.raises(httpx.ConnectError):
            httpx.get(f"http://{own}:{url.port}/")
    with started(folder=tmp_path) as (again, _):  # with a secret of its own
        answer = httpx.get(again, params={"key": url.params["key"]})
        assert answer.status_code == 403


_HARM = (
    "document.body.innerHTML = '<p>'",
    "document.createElement('script').text = 'document.title = 1'",
    "fetch('https://example.org')",
    "document.body.setAttribute('onclick', 'document.title = 1')",
)


def test_the_browser_runs_nothing_that_is_not_ours_whatever_files_are_called(
    browser: Browser, tmp_path: Path
) -> None:
    name = "<img src=x onerror=document.title='harmed'>.svg"
    drawn = (SAMPLES / "starters" / "starter_a4_mm.svg").read_bytes()
    with served(folder=tmp_path) as server:
        page = browser.new_page()
        page.goto(server.address)
        page.locator("#files").set_input_files(
            {"name": name, "mimeType": "image/svg+xml", "buffer": drawn}
        )
        expect(page.locator(".pieces li")).to_have_count(2)
        expect(page.locator("main h2").first).to_contain_text("img-src-x")
        assert page.locator("img").count() == 0
        for harm in _HARM:
            with pytest.raises(Error, match=r"Trusted|Content Security Policy|Failed to fetch"):
                page.evaluate(harm)
        assert page.title() not in ("1", "harmed")
        page.close()
    assert {path.suffix for path in tmp_path.iterdir()} == {".svg", ".toml"}
