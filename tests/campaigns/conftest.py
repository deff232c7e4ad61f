"""A small job, laid from a stock file, for what is made of it and judged."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from benchmarks.campaigns.jobs import Here
from benchmarks.campaigns.more_files import command
from benchmarks.campaigns.trade.asked.cutting_list import read
from benchmarks.campaigns.trade.rules.answer import entries_of
from benchmarks.campaigns.trade.shown.shopping import lines_of
from nesting import make_plan, read_job, write_plan

JOB = """
[job]
name = "Pouch"
currency = "EUR"
bags = 2

[[piece]]
name = "flap"
points = [[0, 0], [200, 0], [160, 120], [0, 120]]
line = "sewing"
seam_allowance = 10
hole = [{ circle = 30, at = [60, 50] }]

[[piece.mark]]
kind = "drill"
at = [110, 60]
size = 4

[[piece.mark]]
kind = "line"
points = [[20, 90], [120, 90]]

[[piece.mark]]
kind = "notch"
at = [100, -10]

[[piece]]
name = "base"
rectangle = [250, 180]
corner_radius = 15

[[cloth]]
name = "canvas"
widths = [{ booked = 700, price = 20 }]
step = 50
ends = 10
spacing = 4

[[sheet]]
name = "felt"
size = [500, 400]
price = 4
spacing = 4

[[notion]]
name = "zip"
price = 1.5

[[cut]]
piece = "flap"
material = "canvas"
pairs = true

[[cut]]
piece = "base"
material = "felt"
"""

STOCK = """
unit = "cm"

[at_hand]  # counted in spring
canvas = [{ length = 90, width = 70 }, "41 cm"]
felt = 1
zip = 1
thread = 7

[[remnant]]
name = "felt rest"
material = "felt"
rectangle = ["280 mm", "200 mm"]

[[remnant]]
name = "felt bit"
material = "felt"
rectangle = ["90 mm", "90 mm"]
"""

MACHINE = """
name = "Invented"
kind = "laser"
reads = ["svg", "dxf", "dxf-r12", "hpgl"]
kerf = 0.2
long_coordinates = true
bed = { length = 2000.0, width = 1000.0 }
tools.mark = { tool = "laser", layer = "marks", pen = 1 }
tools.drill = { tool = "laser", layer = "drill", pen = 2 }
tools.notch = { tool = "laser", layer = "notch", pen = 4 }
tools.cut = { tool = "laser", layer = "cut", pen = 3 }
"""


class Made:
    """A job that is laid, with and without its stock, and its files."""

    def __init__(self, folder: Path) -> None:
        self.text = JOB
        self.folder, self.laid = folder, folder / "laid"
        self.file, self.stock, self.after = (folder / n for n in ("j.toml", "s.toml", "after.toml"))
        self.machine = folder / "machine.toml"
        for file, text in ((self.file, JOB), (self.stock, STOCK), (self.machine, MACHINE)):
            file.write_text(text, encoding="utf-8")
        self.after.write_text(STOCK, encoding="utf-8")
        job = read_job(self.file, stock=self.stock)
        self.plan = make_plan(job, seconds=None, rounds=0, executor=Here())
        write_plan(self.plan, self.laid, kinds=("report",))
        self.entries = self.changed(lambda plan: None)
        self.job = self.asked()
        self.lines = lines_of(self.entries, self.job)

    def changed(self, change):
        """Return the markers of the plan once something in it is changed."""
        plan = json.loads((self.laid / "plan.json").read_text(encoding="utf-8"))
        change(plan)
        return entries_of(plan)

    def asked(self, *swaps):
        """Return the job as the second statement reads it, some words swapped."""
        text = JOB
        for was, now in swaps:
            assert was in text
            text = text.replace(was, now)
        other = self.folder / "asked.toml"
        other.write_text(text, encoding="utf-8")
        return read(other, stock=self.stock)

    def command(self, *words):
        status, said = command(words)
        assert status == 0, said

    def moved(self):
        """Return the markers with a part moved a little."""

        def change(plan):
            plan["plan"]["entries"][0]["marker"]["placements"][0]["x"] += 0.5

        return self.changed(change)

    def lost(self):
        """Return the markers without one of their parts."""

        def change(plan):
            del plan["plan"]["entries"][0]["marker"]["placements"][0]

        return self.changed(change)


@pytest.fixture(scope="session")
def made(tmp_path_factory) -> Made:
    return Made(tmp_path_factory.mktemp("made"))


@pytest.fixture(scope="session")
def seen():
    """Whether words are in any of some lines."""
    return lambda said, lines: any(said in line for line in lines)
