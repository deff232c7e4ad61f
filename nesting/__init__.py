"""Lay pattern pieces on cloth, sheets and hides.

>>> import nesting
>>> job = nesting.read_job("bag.toml")                       # doctest: +SKIP
>>> plan = nesting.make_plan(job, seconds=20, seed=1)        # doctest: +SKIP
>>> nesting.view(plan.entries[0].marker)                     # doctest: +SKIP
>>> nesting.check(plan.entries[0].marker)                    # doctest: +SKIP
>>> nesting.write_plan(plan, "out")                          # doctest: +SKIP

Names are loaded when they are first used, so that importing the package is light.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from nesting.amounts import Amounts
    from nesting.errors import (
        Finding,
        JobError,
        MachineError,
        NestingError,
        PatternError,
        PlanError,
        WriteError,
    )
    from nesting.job.file import job_schema
    from nesting.job.job import Job
    from nesting.leftover import locked
    from nesting.marker.check import check
    from nesting.marker.figures import Figures, figures
    from nesting.marker.lay import Lay, Part, Sheet, Sheets, Strip, Turns
    from nesting.marker.marker import Marker, Placement
    from nesting.material.material import Hides
    from nesting.planning.buying.instructions import instruction_lines
    from nesting.planning.buying.shopping import BagCost, Purchase, ShoppingList, shopping_list
    from nesting.planning.buying.stock import Stock, Taken, after_cutting, read_stock, write_stock
    from nesting.planning.compare import Compared, Trial, compare_widths, compared
    from nesting.planning.make import make_plan, program
    from nesting.planning.orders.bundles import faces_each_other
    from nesting.planning.orders.most_bags import MostBags, most_bags
    from nesting.planning.orders.order import make_order_plan
    from nesting.planning.plan import Entry, Plan, WidthTried
    from nesting.planning.plan_file import load_plan, save_plan
    from nesting.planning.running.cluster import cluster
    from nesting.planning.running.pool import Executor, processes, start_server
    from nesting.planning.running.store import Store
    from nesting.planning.summary import (
        OrderLine,
        Summary,
        judge_plan,
        order_lines,
        summary,
    )
    from nesting.reading.drawing_words import drawing_page
    from nesting.reading.job_file import parse_job, read_job
    from nesting.reading.listing import Row as PieceRow
    from nesting.reading.listing import headline as pattern_headline
    from nesting.reading.listing import list_pieces
    from nesting.reading.pieces_file import save_pieces
    from nesting.reading.read import Reference, read_pattern
    from nesting.search.result import Limits, Progress, Result
    from nesting.search.solve import search as lay_parts
    from nesting.search.warm import warm
    from nesting.units import length as parse_length
    from nesting.whole import whole_folder
    from nesting.writing.folder import UNFINISHED, ready_folder
    from nesting.writing.machines.files import cut_plan, write_machine_file
    from nesting.writing.machines.machine import Format as MachineFormat
    from nesting.writing.machines.machine import read_machine
    from nesting.writing.neutral.draw import draw_entry
    from nesting.writing.neutral.naming import job_keys
    from nesting.writing.order_files import write_order
    from nesting.writing.pages.chart import write_width_chart
    from nesting.writing.pages.notebook import view
    from nesting.writing.pages.pieces_picture import write_pieces_picture
    from nesting.writing.pages.wording import laid_on, stock_said
    from nesting.writing.paper.labels import part_labels, print_labels
    from nesting.writing.paper.print_pdf import print_drawings
    from nesting.writing.paper.templates import templates
    from nesting.writing.paper.tiles import PAPERS, roll
    from nesting.writing.write import entry_file_stems, write_plan

# Where each public name lives: module, and its name there if it differs.
_HOMES = {
    "Amounts": "amounts",
    "Hides": "material.material",
    "BagCost": "planning.buying.shopping",
    "Compared": "planning.compare",
    "Entry": "planning.plan",
    "Executor": "planning.running.pool",
    "Figures": "marker.figures",
    "Finding": "errors",
    "Job": "job.job",
    "JobError": "errors",
    "Lay": "marker.lay",
    "Limits": "search.result",
    "MachineError": "errors",
    "MachineFormat": "writing.machines.machine:Format",
    "Marker": "marker.marker",
    "MostBags": "planning.orders.most_bags",
    "NestingError": "errors",
    "OrderLine": "planning.summary",
    "PAPERS": "writing.paper.tiles",
    "Part": "marker.lay",
    "PatternError": "errors",
    "PieceRow": "reading.listing:Row",
    "Placement": "marker.marker",
    "Plan": "planning.plan",
    "PlanError": "errors",
    "Progress": "search.result",
    "Purchase": "planning.buying.shopping",
    "Reference": "reading.read",
    "Result": "search.result",
    "Sheet": "marker.lay",
    "Sheets": "marker.lay",
    "ShoppingList": "planning.buying.shopping",
    "Stock": "planning.buying.stock",
    "Strip": "marker.lay",
    "Summary": "planning.summary",
    "Taken": "planning.buying.stock",
    "Store": "planning.running.store",
    "Trial": "planning.compare",
    "WidthTried": "planning.plan",
    "Turns": "marker.lay",
    "UNFINISHED": "writing.folder",
    "WriteError": "errors",
    "after_cutting": "planning.buying.stock",
    "check": "marker.check",
    "cluster": "planning.running.cluster",
    "compare_widths": "planning.compare",
    "compared": "planning.compare",
    "cut_plan": "writing.machines.files",
    "draw_entry": "writing.neutral.draw",
    "drawing_page": "reading.drawing_words",
    "job_keys": "writing.neutral.naming",
    "entry_file_stems": "writing.write",
    "faces_each_other": "planning.orders.bundles",
    "figures": "marker.figures",
    "instruction_lines": "planning.buying.instructions",
    "job_schema": "job.file",
    "judge_plan": "planning.summary",
    "laid_on": "writing.pages.wording",
    "lay_parts": "search.solve:search",
    "list_pieces": "reading.listing",
    "load_plan": "planning.plan_file",
    "locked": "leftover",
    "make_order_plan": "planning.orders.order",
    "make_plan": "planning.make",
    "order_lines": "planning.summary",
    "most_bags": "planning.orders.most_bags",
    "parse_job": "reading.job_file",
    "parse_length": "units:length",
    "part_labels": "writing.paper.labels",
    "pattern_headline": "reading.listing:headline",
    "print_drawings": "writing.paper.print_pdf",
    "print_labels": "writing.paper.labels",
    "processes": "planning.running.pool",
    "program": "planning.make",
    "read_job": "reading.job_file",
    "read_machine": "writing.machines.machine",
    "read_pattern": "reading.read",
    "read_stock": "planning.buying.stock",
    "ready_folder": "writing.folder",
    "roll": "writing.paper.tiles",
    "save_pieces": "reading.pieces_file",
    "save_plan": "planning.plan_file",
    "shopping_list": "planning.buying.shopping",
    "start_server": "planning.running.pool",
    "stock_said": "writing.pages.wording",
    "summary": "planning.summary",
    "templates": "writing.paper.templates",
    "view": "writing.pages.notebook",
    "warm": "search.warm",
    "whole_folder": "whole",
    "write_machine_file": "writing.machines.files",
    "write_order": "writing.order_files",
    "write_pieces_picture": "writing.pages.pieces_picture",
    "write_plan": "writing.write",
    "write_stock": "planning.buying.stock",
    "write_width_chart": "writing.pages.chart",
}

__all__ = [
    "PAPERS",
    "UNFINISHED",
    "Amounts",
    "BagCost",
    "Compared",
    "Entry",
    "Executor",
    "Figures",
    "Finding",
    "Hides",
    "Job",
    "JobError",
    "Lay",
    "Limits",
    "MachineError",
    "MachineFormat",
    "Marker",
    "MostBags",
    "NestingError",
    "OrderLine",
    "Part",
    "PatternError",
    "PieceRow",
    "Placement",
    "Plan",
    "PlanError",
    "Progress",
    "Purchase",
    "Reference",
    "Result",
    "Sheet",
    "Sheets",
    "ShoppingList",
    "Stock",
    "Store",
    "Strip",
    "Summary",
    "Taken",
    "Trial",
    "Turns",
    "WidthTried",
    "WriteError",
    "after_cutting",
    "check",
    "cluster",
    "compare_widths",
    "compared",
    "cut_plan",
    "draw_entry",
    "drawing_page",
    "entry_file_stems",
    "faces_each_other",
    "figures",
    "instruction_lines",
    "job_keys",
    "job_schema",
    "judge_plan",
    "laid_on",
    "lay_parts",
    "list_pieces",
    "load_plan",
    "locked",
    "make_order_plan",
    "make_plan",
    "most_bags",
    "order_lines",
    "parse_job",
    "parse_length",
    "part_labels",
    "pattern_headline",
    "print_drawings",
    "print_labels",
    "processes",
    "program",
    "read_job",
    "read_machine",
    "read_pattern",
    "read_stock",
    "ready_folder",
    "roll",
    "save_pieces",
    "save_plan",
    "shopping_list",
    "start_server",
    "stock_said",
    "summary",
    "templates",
    "view",
    "warm",
    "whole_folder",
    "write_machine_file",
    "write_order",
    "write_pieces_picture",
    "write_plan",
    "write_stock",
    "write_width_chart",
]


def __getattr__(name: str) -> Any:
    """Load a public name from its room."""
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    module, _, other = _HOMES[name].partition(":")
    value = getattr(import_module(f"{__name__}.{module}"), other or name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted(__all__)
