"""``thriftlay compare JOB``: the same parts on each width of cloth."""

from __future__ import annotations

import argparse
import dataclasses
import json
import sys
from pathlib import Path
from typing import Any

from nesting import Trial, compare_widths, read_job, summary, warm, write_width_chart

from .arguments import add_search, seconds, widths
from .interrupt import stopping
from .table import table

__all__ = ["add", "run"]


def add(commands: Any) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser("compare", help="compare widths of cloth, single or folded: length, cost, waste")
    parser.add_argument("job", type=Path, metavar="JOB.toml")
    parser.add_argument("--material", metavar="NAME", help="this cloth only")
    parser.add_argument(
        "--widths", type=widths, metavar="LIST", help='booked widths, such as "110 cm, 54 in"'
    )
    parser.add_argument(
        "--folds", action="store_true", help="lay each cloth both single and folded lengthwise"
    )
    parser.add_argument("--chart", type=Path, metavar="FILE.png", help="draw a chart")
    parser.add_argument("--replace", action="store_true", help="replace an existing chart")
    add_search(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Compare and print the table."""
    job = read_job(arguments.job)
    warm(lambda text: print(text, file=sys.stderr))
    with stopping() as stop:
        trials = compare_widths(
            job,
            material=arguments.material,
            widths=arguments.widths,
            folds=arguments.folds,
            seconds=seconds(arguments),
            rounds=arguments.rounds,
            seed=arguments.seed,
            workers=arguments.workers,
            stop=stop,
        )
    if arguments.chart:
        write_width_chart(trials, arguments.chart, overwrite=arguments.replace)
    if arguments.json:
        print(json.dumps([_record(trial) for trial in trials], ensure_ascii=False))
    else:
        print(_table(trials, job.currency))
    return 0 if all(trial.entry is None or trial.entry.good for trial in trials) else 1


def _record(trial: Trial) -> dict[str, Any]:
    return {
        "material": trial.material,
        "width": trial.width.booked,
        "fold": trial.fold,
        "why_not": trial.why,
        "area": trial.area,
        "cheapest": trial.cheapest,
        "least": trial.least,
        "summary": None if trial.entry is None else dataclasses.asdict(summary(trial.entry)),
    }


def _table(trials: tuple[Trial, ...], currency: str) -> str:
    head = ["material", "width", "needed", "buy", "area", "cost", "efficiency", ""]
    return table(head, [_row(trial, currency) for trial in trials])


def _row(trial: Trial, currency: str) -> list[str]:
    width = f"{trial.width.booked / 10:g} cm"
    if trial.fold == "folded":
        width += " folded"
    if trial.entry is None or trial.area is None:
        return [trial.material, width, "", "", "", "", "", f"does not fit: {trial.why}"]
    s = summary(trial.entry)
    words = ["cheapest"] if trial.cheapest else []
    words += ["least cloth"] if trial.least else []
    words += [] if s.good else ["NOT GOOD"]
    return [
        trial.material,
        width,
        f"{s.needed / 10:.1f} cm",
        f"{s.to_buy / 10:g} cm",
        f"{trial.area / 1e6:.3f} m²",
        "" if s.cost is None else f"{s.cost:.2f} {currency}".rstrip(),
        f"{100 * s.efficiency:.1f} %",
        ", ".join(words),
    ]
