"""What else is made of a random job: lists, prints, files for a machine, a plan with a stock file.

All of it is drawn from a stream of its own, so that the jobs are the same with and without it.
The command makes the files; `trade` reads them.
"""

from __future__ import annotations

import io
import json
import tomllib
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from random import Random
from typing import Any

from nesting import Plan, shopping_list
from nesting.writing.buying_csv import write_buying_csv
from nesting.writing.pages.report import write_report

from .made.shelf import made_stock
from .made.shop import made_machine
from .trade.asked.cutting_list import Job
from .trade.asked.shelf import Shelf
from .trade.rules.answer import Entry, entries_of
from .trade.rules.judge import Matched, matched
from .trade.shown.left import left_wrong
from .trade.shown.machines import cut_wrong
from .trade.shown.paper import PAPERS, Paper, markers_wrong
from .trade.shown.shopping import csv_wrong, lines_of, report_wrong, told_wrong
from .trade.shown.templates import templates_wrong

__all__ = ["Asked", "asked_more", "command", "cut_off", "further_wrong", "told_of_plan"]


@dataclass(frozen=True, slots=True)
class Asked:
    """What is made of a job besides its markers."""

    report: bool
    print: str
    paper: Paper
    rectangles: bool
    machine: str
    stock: str

    @property
    def paper_words(self) -> list[str]:
        """How the command is asked for the paper."""
        size, overlap = self.paper.size, f"{self.paper.overlap:g} mm"
        on = ["--roll", f"{size} mm"] if isinstance(size, float) else ["--paper", size]
        return [*on, "--overlap", overlap]


def asked_more(name: str, files: dict[str, str]) -> Asked:
    """Return what is made of the job of a name besides its markers."""
    rng = Random(f"more of {name}")
    chance = [rng.random() for _ in range(4)]
    roll = float(rng.choice((610, 914, 1600)))
    sizes: list[str | float] = [*PAPERS, roll, roll]
    machine = made_machine(Random(f"machine of {name}"))
    stock = made_stock(Random(f"stock of {name}"), tomllib.loads(files["job.toml"]))
    return Asked(
        report=chance[0] < 0.3,
        print=rng.choice(("markers", "templates")) if chance[1] < 0.3 else "",
        paper=Paper(rng.choice(sizes), rng.choice((0.0, 10.0, 15.0))),
        rectangles=rng.random() < 0.5,
        machine=machine if chance[2] < 0.4 else "",
        stock=stock if chance[3] < 0.35 else "",
    )


def further_wrong(
    plan: Plan, folder: Path, job: Job, asked: Asked, counts: Counter[str]
) -> Iterator[str]:
    """Yield what is wrong in further files of a plan; `folder`: where its files are."""
    entries = entries_of(json.loads((folder / "plan.json").read_text(encoding="utf-8")))
    every = matched(entries, job)
    yield from _lists(plan, folder, entries, job, report=asked.report)
    if asked.print and any(entry.lying for entry in entries):
        yield from _printed(folder, every, job, asked, counts)
    if asked.machine:
        yield from _cut(folder, every, asked, counts)


def _lists(
    plan: Plan, folder: Path, entries: Sequence[Entry], job: Job, *, report: bool
) -> Iterator[str]:
    """Yield what is wrong in the buying list, wherever it is."""
    lines, bought = lines_of(entries, job), shopping_list(plan)
    yield from told_wrong(told_of_plan(plan, bought), lines, job)
    write_buying_csv(bought, folder / "buying.csv", amounts=plan.job.amounts)
    yield from csv_wrong(folder / "buying.csv", lines, job)
    if report:
        write_report(plan, folder / "report.html", bought=bought)
        yield from report_wrong(folder / "report.html", lines, job)


def told_of_plan(plan: Plan, bought: Any) -> dict[str, Any]:
    """Return what `lay` tells machines."""
    tell: Callable[..., None] = import_module("thriftlay.told").tell
    result = import_module("thriftlay.records").plan_result(plan, bought, folder="")
    out = io.StringIO()
    with redirect_stdout(out):
        tell("lay", result, currency=plan.job.currency)
    told: dict[str, Any] = json.loads(out.getvalue())["result"]
    return told


def _printed(
    folder: Path, every: Matched, job: Job, asked: Asked, counts: Counter[str]
) -> Iterator[str]:
    file = folder / f"{asked.print}.pdf"
    words = ["print", folder / "plan.json", "--out", file, "--what", asked.print]
    words += ["--rectangles"] if asked.rectangles else []
    status, said = command([*words, *asked.paper_words])
    if status:
        yield from _refused(f"print {asked.print}", said, counts)
        return
    counts[f"prints of {asked.print}"] += 1
    if asked.print == "markers":
        yield from markers_wrong(file, every, asked.paper)
    else:
        yield from templates_wrong(file, job, asked.paper, rectangles=asked.rectangles)


def _cut(folder: Path, every: Matched, asked: Asked, counts: Counter[str]) -> Iterator[str]:
    machine = folder / "machine.toml"
    machine.write_text(asked.machine, encoding="utf-8")
    words = ["cut", folder / "plan.json", "--machine", machine, "--out", folder / "to cut"]
    status, said = command([*words, "--safety-sheet-read"])
    if status:
        yield from _refused("cut", said, counts)
        return
    counts["plans cut"] += 1
    yield from cut_wrong(folder / "to cut", machine, every)


def cut_off(folder: Path, job: Job, counts: Counter[str]) -> Iterator[str]:
    """Yield what is wrong once a plan is taken off the stock file beside the job.

    `folder`: where the plan's files are.
    """
    stock = folder.parent / "stock.toml"
    before, text = Shelf.read(stock), stock.read_text(encoding="utf-8")
    entries = entries_of(json.loads((folder / "plan.json").read_text(encoding="utf-8")))
    words = ["done", folder / "plan.json", "--stock", stock]
    status, said = command(words)
    if status:
        yield f"done ends with {status}: {said}"
        return
    counts["plans taken off"] += 1
    if "counted in spring" in text and "counted in spring" not in stock.read_text(encoding="utf-8"):
        yield "a comment of the stock file is gone"
    yield from left_wrong(before, Shelf.read(stock), entries, job, lines_of(entries, job))
    after = stock.read_bytes()
    status, said = command(words)
    if status != 2 or stock.read_bytes() != after:
        yield f"done a second time ends with {status}: {said}"


def _refused(what: str, said: str, counts: Counter[str]) -> Iterator[str]:
    """Count what was refused; yield a refusal that is not one line."""
    counts[f"refused: {what}"] += 1
    if "\n" in said.strip() or not said.strip():
        yield f"{what} is refused otherwise than in one line: {said}"


def command(words: Sequence[object]) -> tuple[int, str]:
    """Run the command here; return its exit status and what it says of trouble."""
    main: Callable[[Sequence[str]], int] = import_module("thriftlay.main").main
    err = io.StringIO()
    with redirect_stdout(io.StringIO()), redirect_stderr(err):
        try:
            status = main([str(word) for word in words])
        except SystemExit as error:
            status = error.code if isinstance(error.code, int) else 1
    return status, err.getvalue()
