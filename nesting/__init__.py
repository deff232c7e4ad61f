"""Lay pattern pieces on cloth, sheets and hides.

Lengths are in mm, areas in mm², angles in degrees counter-clockwise. x runs along the goods, as
the grain of a piece does when it is laid, y across. All objects are frozen: to change one,
make another with ``dataclasses.replace``.

**A job without a file.** Pieces have an outline and the direction of their grain; the cutting
list says of what a bag's pieces are cut, and how often:

>>> from nesting import Bag, Cloth, Cut, Job, Piece, Width, rectangle
>>> front = Piece(name="front", cut=rectangle(220, 160, radius=20), grain=90)
>>> strap = Piece(name="strap", cut=rectangle(400, 40))
>>> canvas = Cloth(
...     name="canvas", widths=(Width(booked=480, usable=460, price=18.5),), spacing=4, step=100
... )
>>> pouch = Bag(
...     name="pouch",
...     pieces=(front, strap),
...     cuts=(
...         Cut(piece="front", material="canvas", copies=2),
...         Cut(piece="strap", material="canvas"),
...     ),
... )
>>> job = Job(name="Pouch", bags=(pouch,), materials=(canvas,), currency="EUR")

**Laying it.** With rounds instead of seconds the markers are the same on any machine. Searches
run in processes of their own: in a script, put this under ``if __name__ == "__main__":``.

>>> from nesting import make_plan
>>> plan = make_plan(job, seconds=None, rounds=1, workers=1)
>>> (entry,) = plan.entries
>>> entry.good
True

**Checking it.** The judge knows the outlines, the placements and the rules, and nothing of the
search. What it finds is data:

>>> from dataclasses import replace
>>> from nesting import check
>>> marker = entry.marker
>>> check(marker)
()
>>> first, *others = marker.placements
>>> spoilt = replace(marker, placements=(replace(first, x=first.x - 1), *others))
>>> [finding.kind for finding in check(spoilt)]
['outside']

**Looking at it.** A notebook draws plans and markers; elsewhere they are one line.

>>> marker
Marker(lay=<Lay 'canvas'>, placements=<3>)
>>> from nesting import figures, shopping_list
>>> f"{figures(marker).length:.0f} mm long, {figures(marker).efficiency:.0%} of it is parts"
'400 mm long, 47% of it is parts'
>>> [(line.name, line.to_buy.value) for line in shopping_list(plan).lines]
[('canvas', 400)]

**Writing it.** All files are written, or none:

>>> from nesting import write_plan
>>> [file.name for file in write_plan(plan, "laid", kinds=["svg", "report"])]
['plan.json', 'canvas.svg', 'report.html']

**A lay without a job.** Under every plan lie lays: parts, what they are laid on, and rules as
plain data, without cloth or leather in them:

>>> from nesting import Lay, Limits, Part, Strip, Turns, lay_parts
>>> tab = Piece(name="tab", cut=rectangle(90, 30, radius=15))
>>> way = Turns(angles=(0, 90))
>>> tabs = tuple(Part(name=f"tab {i}", piece=tab, turns=way) for i in range(4))
>>> lay = Lay(name="tabs", parts=tabs, stock=Strip(width=100), spacing=2)
>>> result = lay_parts(lay, limits=Limits(seconds=None, rounds=5), workers=1)
>>> len(result.marker.placements), result.unplaced
(4, ())

Jobs and lays are checked when they are laid; what can't be used is told in a sentence:

>>> make_plan(replace(job, materials=()), seconds=1)
Traceback (most recent call last):
    ...
nesting.errors.JobError: no material is named "canvas"

Every public name has an example of its own, which goes on from these. Names are loaded when they
are first used, so that importing the package is light.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from nesting.errors import (
        Finding,
        JobError,
        MachineError,
        NestingError,
        PatternError,
        PlanError,
        WriteError,
    )
    from nesting.job.job import Bag, Cut, CuttingTable, HeldPart, Job, Notion, Spreading
    from nesting.marker.check import check
    from nesting.marker.figures import Figures, figures
    from nesting.marker.holding import hold, release
    from nesting.marker.judge import Judge
    from nesting.marker.lay import (
        Binding,
        Edge,
        Held,
        Lattice,
        Lay,
        Part,
        Region,
        Sheet,
        Sheets,
        Strip,
        Turns,
    )
    from nesting.marker.marker import Marker, Placement
    from nesting.marker.slide import slide
    from nesting.material.material import (
        Cloth,
        Fold,
        Grade,
        Hide,
        Hides,
        Nap,
        Print,
        Remnant,
        SheetGoods,
        Shrinkage,
        Width,
        Zone,
    )
    from nesting.pattern.parallel.allowance import add_allowance
    from nesting.pattern.path import Arc, Bezier, Line, Path
    from nesting.pattern.piece import Hand, Mark, MarkKind, NotchStyle, Piece
    from nesting.pattern.shapes import circle, ellipse, rectangle
    from nesting.pattern.svg_path import parse_path
    from nesting.planning.buying.shopping import ShoppingList, shopping_list
    from nesting.planning.compare import Trial, compare_widths
    from nesting.planning.make import make_plan
    from nesting.planning.orders.order import make_order_plan
    from nesting.planning.plan import Entry, Plan
    from nesting.planning.plan_file import load_plan, save_plan
    from nesting.planning.running.cluster import cluster
    from nesting.planning.running.pool import processes
    from nesting.reading.job_file import parse_job, read_job
    from nesting.reading.read import read_pattern
    from nesting.search.result import Limits, Progress, Result
    from nesting.search.solve import search as lay_parts
    from nesting.search.squeezing.push import push_together
    from nesting.writing.machines.files import cut_plan
    from nesting.writing.machines.machine import read_machine
    from nesting.writing.order_files import write_order
    from nesting.writing.write import write_plan

    __version__: str

# Where each public name lives: module, and its name there if it differs.
_HOMES = {
    "Arc": "pattern.path",
    "Bag": "job.job",
    "Bezier": "pattern.path",
    "Binding": "marker.lay",
    "Cloth": "material.material",
    "Cut": "job.job",
    "CuttingTable": "job.job",
    "Edge": "marker.lay",
    "Entry": "planning.plan",
    "Figures": "marker.figures",
    "Finding": "errors",
    "Fold": "material.material",
    "Grade": "material.material",
    "Hand": "pattern.piece",
    "Held": "marker.lay",
    "HeldPart": "job.job",
    "Hide": "material.material",
    "Hides": "material.material",
    "Job": "job.job",
    "JobError": "errors",
    "Judge": "marker.judge",
    "Lattice": "marker.lay",
    "Lay": "marker.lay",
    "Limits": "search.result",
    "Line": "pattern.path",
    "MachineError": "errors",
    "Mark": "pattern.piece",
    "MarkKind": "pattern.piece",
    "Marker": "marker.marker",
    "Nap": "material.material",
    "NestingError": "errors",
    "NotchStyle": "pattern.piece",
    "Notion": "job.job",
    "Part": "marker.lay",
    "Path": "pattern.path",
    "PatternError": "errors",
    "Piece": "pattern.piece",
    "Placement": "marker.marker",
    "Plan": "planning.plan",
    "PlanError": "errors",
    "Print": "material.material",
    "Progress": "search.result",
    "Region": "marker.lay",
    "Remnant": "material.material",
    "Result": "search.result",
    "Sheet": "marker.lay",
    "SheetGoods": "material.material",
    "Sheets": "marker.lay",
    "ShoppingList": "planning.buying.shopping",
    "Shrinkage": "material.material",
    "Spreading": "job.job",
    "Strip": "marker.lay",
    "Trial": "planning.compare",
    "Turns": "marker.lay",
    "Width": "material.material",
    "WriteError": "errors",
    "Zone": "material.material",
    "add_allowance": "pattern.parallel.allowance",
    "check": "marker.check",
    "circle": "pattern.shapes",
    "cluster": "planning.running.cluster",
    "compare_widths": "planning.compare",
    "cut_plan": "writing.machines.files",
    "ellipse": "pattern.shapes",
    "figures": "marker.figures",
    "hold": "marker.holding",
    "lay_parts": "search.solve:search",
    "load_plan": "planning.plan_file",
    "make_order_plan": "planning.orders.order",
    "make_plan": "planning.make",
    "parse_job": "reading.job_file",
    "parse_path": "pattern.svg_path",
    "processes": "planning.running.pool",
    "push_together": "search.squeezing.push",
    "read_job": "reading.job_file",
    "read_machine": "writing.machines.machine",
    "read_pattern": "reading.read",
    "rectangle": "pattern.shapes",
    "release": "marker.holding",
    "save_plan": "planning.plan_file",
    "shopping_list": "planning.buying.shopping",
    "slide": "marker.slide",
    "write_order": "writing.order_files",
    "write_plan": "writing.write",
}

__all__ = [
    "Arc",
    "Bag",
    "Bezier",
    "Binding",
    "Cloth",
    "Cut",
    "CuttingTable",
    "Edge",
    "Entry",
    "Figures",
    "Finding",
    "Fold",
    "Grade",
    "Hand",
    "Held",
    "HeldPart",
    "Hide",
    "Hides",
    "Job",
    "JobError",
    "Judge",
    "Lattice",
    "Lay",
    "Limits",
    "Line",
    "MachineError",
    "Mark",
    "MarkKind",
    "Marker",
    "Nap",
    "NestingError",
    "NotchStyle",
    "Notion",
    "Part",
    "Path",
    "PatternError",
    "Piece",
    "Placement",
    "Plan",
    "PlanError",
    "Print",
    "Progress",
    "Region",
    "Remnant",
    "Result",
    "Sheet",
    "SheetGoods",
    "Sheets",
    "ShoppingList",
    "Shrinkage",
    "Spreading",
    "Strip",
    "Trial",
    "Turns",
    "Width",
    "WriteError",
    "Zone",
    "__version__",
    "add_allowance",
    "check",
    "circle",
    "cluster",
    "compare_widths",
    "cut_plan",
    "ellipse",
    "figures",
    "hold",
    "lay_parts",
    "load_plan",
    "make_order_plan",
    "make_plan",
    "parse_job",
    "parse_path",
    "processes",
    "push_together",
    "read_job",
    "read_machine",
    "read_pattern",
    "rectangle",
    "release",
    "save_plan",
    "shopping_list",
    "slide",
    "write_order",
    "write_plan",
]


def __getattr__(name: str) -> Any:
    """Load a public name from its room."""
    if name == "__version__":
        from importlib.metadata import version

        value: Any = version("thriftlay")
    elif name in _HOMES:
        module, _, other = _HOMES[name].partition(":")
        value = getattr(import_module(f"{__name__}.{module}"), other or name)
    else:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted(__all__)
