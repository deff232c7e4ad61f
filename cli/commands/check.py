"""``thriftlay check PLAN``: the judge again, on what is stored."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

import nesting

from ..arguments import add_json, new_command
from ..say import say
from ..told import tell

__all__ = ["add", "run"]


def add(commands: Any) -> None:
    """Add the command to the parser."""
    parser = new_command(
        commands,
        "check",
        about="judge the markers of a stored plan again",
        example="thriftlay check tote/plan.json",
    )
    parser.add_argument("plan", type=Path, metavar="plan.json")
    add_json(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Print the findings of each marker; 0 only if every marker is good."""
    from nesting.planning.summary import judge_plan

    judged = judge_plan(nesting.load_plan(arguments.plan))
    if arguments.json:
        from ..records import CheckResult, marker_record

        found = CheckResult(markers=tuple(map(marker_record, judged.entries)))
        tell("check", found, currency=judged.job.currency)
    else:
        for entry in judged.entries:
            verdict = "good" if entry.good else "NOT GOOD"
            say(f"{entry.material.name}: {verdict}, {len(entry.marker.placements)} parts")
            for name, why in entry.unplaced:
                say(f"  not laid: {name}: {why}")
            for finding in entry.findings:
                say(f"  {finding.severity}: {finding.text}")
    return 0 if all(entry.good for entry in judged.entries) else 1
