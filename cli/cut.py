"""``thriftlay cut PLAN --machine SHOP``: files for a cutting machine or plotter."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from nesting import (
    JobError,
    MachineError,
    draw_entry,
    entry_file_stems,
    judge_plan,
    load_plan,
    read_machine,
    write_machine_file,
)

__all__ = ["add", "run"]

_SUFFIX = {"hpgl": ".plt", "svg": ".svg", "dxf": ".dxf", "dxf-r12": ".dxf"}


def add(commands: Any) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser("cut", help="write files for a cutting machine or plotter")
    parser.add_argument("plan", type=Path, metavar="plan.json")
    parser.add_argument("--machine", type=Path, required=True, metavar="SHOP.toml")
    parser.add_argument("--out", type=Path, required=True, metavar="FOLDER")
    parser.add_argument("--only", action="append", metavar="MATERIAL", help="this material only")
    parser.add_argument(
        "--safety-sheet-read",
        action="store_true",
        help="you have read the material's safety data sheet (asked for by some materials)",
    )
    parser.add_argument(
        "--common-lines", action="store_true", help="cut straight edges of two parts once"
    )
    parser.add_argument("--replace", action="store_true", help="replace files that are there")
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Write a file for every marker; nothing for a marker that is not good."""
    plan = judge_plan(load_plan(arguments.plan))
    machine = read_machine(arguments.machine)
    names = [entry.material.name for entry in plan.entries]
    for name in arguments.only or ():
        if name not in names:
            raise JobError(f"no material is named {name!r}", hint=f"there are {', '.join(names)}")
    chosen = [
        (entry, stem)
        for entry, stem in zip(plan.entries, entry_file_stems(plan), strict=True)
        if not arguments.only or entry.material.name in arguments.only
    ]
    for entry, _ in chosen:
        if not entry.good:
            raise MachineError(
                f"the marker of {entry.material.name} is not good", hint="thriftlay check says why"
            )
    arguments.out.mkdir(parents=True, exist_ok=True)
    form = machine.reads[0] if machine.reads else None
    for entry, stem in chosen:
        drawings = draw_entry(entry)
        for number, drawing in enumerate(drawings, start=1):
            name = stem if len(drawings) == 1 else f"{stem}-{number}-of-{len(drawings)}"
            made = write_machine_file(
                drawing,
                machine,
                arguments.out / f"{name}{_SUFFIX.get(str(form), '.txt')}",
                material=entry.material,
                sds_read=arguments.safety_sheet_read,
                common_line=arguments.common_lines,
                overwrite=arguments.replace,
            )
            print("\n".join(str(file) for file in made.files))
            for finding in made.findings:
                print(f"{finding.severity}: {finding.text}")
    return 0
