"""The page in the browser, measured: ``python -m benchmarks.page``.

Chromium shows a page of this machine: from a dropped drawing of 25 pieces to its first marker,
and what a drag costs with many parts. Figures go to standard
output and, with --results, into RESULTS.md.
"""

from __future__ import annotations

import argparse
import os
import re
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

from benchmarks.results import Section
from nesting import Lay, Marker, Part, Piece, Placement, Plan, Strip, Turns, load_plan, save_plan
from nesting.pattern.shapes import circle, rectangle
from nesting.planning.by_hand import with_marker

if TYPE_CHECKING:
    from playwright.sync_api import Page

_SAMPLE = Path(__file__).resolve().parents[1] / "sample_markers" / "tool_roll" / "laid"


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--parts", type=int, nargs="*", default=[300])
    parser.add_argument("--drags", type=int, default=40)
    parser.add_argument("--results", type=Path, help="put the table into this file")
    asked = parser.parse_args()
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path="/usr/bin/chromium", args=["--no-sandbox"]
        )
        told = Section(
            "The page in the browser",
            f"Chromium {browser.version.split('.')[0]} and the server on the same cores, one run.",
        )
        told.say("| measured | figure |\n|---|---|")
        with tempfile.TemporaryDirectory() as folder:
            waited, worked = _drop(browser, Path(folder))
        told.say(f"| drop of 25 pieces to its first marker (wanted: 2 s) | {waited:.1f} s |")
        told.say(f"| the same, processor time of the server | {worked:.2f} s |")
        for parts in asked.parts:
            with tempfile.TemporaryDirectory() as folder:
                for line in _drag(browser, Path(folder), parts, asked.drags):
                    told.say(line)
        browser.close()
    told.put(asked.results)


def drawing(pieces: int) -> str:
    """Return an SVG of so many panels and discs, invented."""
    shapes = [
        f'<path id="panel {i}" d="M {260 * (i % 5)} {200 * (i // 5)} h {120 + 5 * i} v 90 h -40'
        f' l -{60 + 5 * i} 30 h -20 z"/>'
        for i in range(pieces)
    ]
    head = (
        'xmlns="http://www.w3.org/2000/svg" width="1400mm" height="1100mm" viewBox="0 0 1400 1100"'
    )
    return f"<svg {head}>{''.join(shapes)}</svg>"


_OPENS = 4.0
"""Seconds that the page is open before anything is dropped: in them the kernels are loaded."""


def _drop(browser: object, folder: Path) -> tuple[float, float]:
    """Return the seconds from dropping a drawing to a drawn marker, as fast as one can click.

    And, which the load doesn't change, the processor time that the server takes for it (s),
    beside its searches.
    """
    (folder / "bag.svg").write_text(drawing(25), encoding="utf-8")
    with _served(folder) as (address, process):
        page = browser.new_page()  # type: ignore[attr-defined]
        page.set_default_timeout(120_000)
        page.goto(address)
        page.locator("#files").wait_for()
        time.sleep(_OPENS)
        began, worked = time.monotonic(), _processor(process)
        page.locator("#files").set_input_files(folder / "bag.svg")
        page.locator(".pieces li").first.wait_for()
        read, readied = time.monotonic() - began, _processor(process) - worked
        page.evaluate(_FILL)
        time.sleep(1.0)  # nobody clicks before the page has shown what she filled in
        began, worked = time.monotonic(), _processor(process)
        page.evaluate("fetch('/making/lay', {method: 'POST', body: '{}'})")
        page.evaluate("location.hash = '#lay'")
        page.locator("svg.marker .part").first.wait_for()
        laid = time.monotonic() - began
        return read + laid, readied + _processor(process) - worked


_FILL = """async () => {
  const edit = (body) => fetch('/making/edit', {method: 'POST', body: JSON.stringify(body)});
  await edit({what: 'goods', kind: 'cloth', name: 'canvas', width: '145 cm'});
  const made = await (await fetch('/making')).json();
  for (const p of made.pieces) {
    await edit({what: "cut", piece: p.name, material: "canvas", copies: 1});
  }
}"""


def _drag(browser: object, folder: Path, parts: int, drags: int) -> Iterator[str]:
    """Yield what answers take while a part is dragged, and the server's memory."""
    save_plan(many(parts), folder / "plan.json")
    with _served(folder, folder / "plan.json") as (address, process):
        page = browser.new_page()  # type: ignore[attr-defined]
        page.set_default_timeout(240_000)
        began = time.monotonic()
        page.goto(address)
        page.locator("svg.marker .part").nth(parts - 1).wait_for(state="attached")
        yield f"| {parts} parts, address to drawn marker | {time.monotonic() - began:.1f} s |"
        took = page.evaluate(_TRY, drags)
        wanted = f"median (wanted: {50 if parts <= 300 else 200} ms)"
        yield f"| {parts} parts, a drag's answer, {wanted} | {statistics.median(took):.0f} ms |"
        yield f"| {parts} parts, a drag's answer, slowest of {drags} | {max(took):.0f} ms |"
        for what, keys in _LOOKING.items():
            frames = page.evaluate(_FRAMES, keys)
            yield f"| {parts} parts, a frame while {what}, median | {frames:.0f} ms |"
        frames = _dragged(page)
        yield f"| {parts} parts, a frame while a part is dragged, median | {frames:.0f} ms |"
        yield f"| {parts} parts, the server's memory beside its searches | {_memory(process)} MB |"
        page.close()


def _dragged(page: Page) -> float:
    """Return what a frame takes (ms, median) while the mouse drags a part."""
    box = page.locator("svg.marker .part").first.bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 6, y)
    page.evaluate(_RECORD)
    for i in range(40):
        page.mouse.move(x + 6 + i, y + i % 7)
    times: list[float] = page.evaluate("window.frames_seen")
    page.mouse.up()
    return statistics.median(b - a for a, b in pairwise(times))


_RECORD = """() => {
  window.frames_seen = [];
  const next = (at) => { window.frames_seen.push(at); requestAnimationFrame(next); };
  requestAnimationFrame(next);
}"""

_TRY = """async (drags) => {
  const m = await (await fetch('/marker?marker=0')).json();
  const took = [];
  for (let i = 0; i < drags; i += 1) {
    const body = JSON.stringify({marker: 0, version: m.version, part: m.parts[i].part,
      along: 3 + i % 5, across: 2});
    const began = performance.now();
    await (await fetch('/hand/try', {method: 'POST', body})).json();
    took.push(performance.now() - began);
  }
  return took;
}"""

_LOOKING = {
    "the view moves": ["ArrowLeft", "ArrowRight"],
    "one comes closer and goes back": ["+", "-"],
}
_FRAMES = """async (keys) => {
  const svg = document.querySelector('svg.marker');
  svg.focus();
  const times = [];
  for (let i = 0; i < 40; i += 1) {
    svg.dispatchEvent(new KeyboardEvent('keydown', {key: keys[i % 2]}));
    const began = performance.now();
    await new Promise((done) => requestAnimationFrame(() => setTimeout(done)));
    times.push(performance.now() - began);
  }
  return times.sort((a, b) => a - b)[20];
}"""


def many(parts: int) -> Plan:
    """Return a plan whose first marker has so many parts, in rows."""
    plan = load_plan(_SAMPLE / "plan.json")
    tab = Piece(name="tab", cut=rectangle(90, 30, radius=10))
    coin = Piece(name="coin", cut=circle(40, centre=(20, 20)))
    made = tuple(
        Part(name=f"part {i}", piece=coin if i % 3 else tab, turns=Turns(angles=(0, 180)))
        for i in range(parts)
    )
    places = tuple(
        Placement(part=i, x=100.0 * (i // 12) + 5, y=50.0 * (i % 12) + 5) for i in range(parts)
    )
    lay = Lay(name=plan.entries[0].marker.lay.name, parts=made, stock=Strip(width=700), spacing=3)
    return with_marker(plan, 0, Marker(lay=lay, placements=places))


@contextmanager
def _served(folder: Path, *arguments: Path) -> Iterator[tuple[str, subprocess.Popen[str]]]:
    command = [sys.executable, "-m", "thriftlay", "page", "--no-open", "--time", "5s"]
    process = subprocess.Popen(
        [*command, *map(str, arguments)],
        cwd=folder,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )
    try:
        assert process.stdout is not None
        found = re.search(r"http://\S+", process.stdout.readline())
        assert found
        yield found[0], process
    finally:
        process.terminate()
        process.communicate(timeout=120)


def _processor(process: subprocess.Popen[str]) -> float:
    """Return the processor time that a process has taken (s)."""
    stat = Path(f"/proc/{process.pid}/stat").read_text(encoding="utf-8")
    user, system = stat.rpartition(")")[2].split()[11:13]
    return (int(user) + int(system)) / os.sysconf("SC_CLK_TCK")


def _memory(process: subprocess.Popen[str]) -> int:
    """Return the memory that a process has to itself and shares (MB)."""
    status = Path(f"/proc/{process.pid}/status").read_text(encoding="utf-8")
    found = re.search(r"VmRSS:\s+(\d+) kB", status)
    return int(found[1]) // 1000 if found else 0


if __name__ == "__main__":
    main()
