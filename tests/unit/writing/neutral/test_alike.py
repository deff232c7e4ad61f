"""Sheets that are cut alike are shown once."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from nesting import make_plan, parse_job
from nesting.marker.marker import Marker
from nesting.planning.plan import Entry, Plan
from nesting.writing.neutral.alike import alike, alike_words
from nesting.writing.pages.picture import write_picture
from nesting.writing.pages.report import report

JOB = """
[job]
name = "Boards"
[[sheet]]
name = "board"
size = [500, 300]
spacing = 2
[[piece]]
name = "base"
rectangle = [240, 140]
[[bag]]
name = "a"
count = 9
  [[bag.cut]]
  piece = "base"
  material = "board"
"""


def plan_of(sheets: int) -> Plan:
    """Return a plan of so many sheets with a base each, the last one a little aside."""
    plan = make_plan(parse_job(JOB), seconds=None, rounds=0, workers=1)
    (entry,) = plan.entries
    lay = entry.marker.lay
    first = entry.marker.placements[0]
    parts = tuple(replace(lay.parts[0], name=f"base {n}") for n in range(sheets))
    placements = tuple(
        replace(first, part=n, sheet=n, x=first.x + (1.0 if n == sheets - 1 else 0.0))
        for n in range(sheets)
    )
    marker = Marker(lay=replace(lay, parts=parts), placements=placements, sheets=(0,) * sheets)
    return replace(plan, entries=(replace(entry, marker=marker),))


def entry_of(plan: Plan) -> Entry:
    (entry,) = plan.entries
    return entry


def test_alike_are_sheets_with_the_same_pieces_in_the_same_places() -> None:
    assert alike(entry_of(plan_of(4)).marker) == ((0, 1, 2), (3,))
    assert alike_words((0, 1, 2)) == "3 alike: 1 to 3"
    assert alike_words((0, 2, 3, 6)) == "4 alike: 1, 3 to 4, 7"
    assert alike_words((3,)) == ""


def test_hundreds_of_sheets_have_a_picture_and_two_figures(tmp_path: Path) -> None:
    plan = plan_of(400)
    write_picture(entry_of(plan), tmp_path / "board.png")
    assert (tmp_path / "board.png").stat().st_size > 1000
    text = report(plan)
    assert text.count("<figure>") == 2
    assert "399 alike: 1 to 399" in text


def test_hundreds_of_sheets_each_of_its_own_have_a_picture_of_some(tmp_path: Path) -> None:
    (entry,) = plan_of(300).entries
    own = tuple(replace(p, y=p.y + 0.01 * n) for n, p in enumerate(entry.marker.placements))
    marker = replace(entry.marker, placements=own)
    write_picture(replace(entry, marker=marker), tmp_path / "board.png")
    assert (tmp_path / "board.png").exists()
