"""``thriftlay pieces FILE``: what a pattern file holds, and its pieces for a job file."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from nesting import (
    Reference,
    list_pieces,
    parse_length,
    pattern_headline,
    read_pattern,
    save_pieces,
    write_pieces_picture,
)

from .arguments import add_json, add_replace, new_command, role
from .records import PiecesResult
from .say import say
from .table import table
from .told import tell

__all__ = ["add", "run"]


def add(commands: Any) -> None:
    """Add the command to the parser."""
    parser = new_command(
        commands,
        "pieces",
        about="list the pieces of a DXF or SVG pattern file",
        example="thriftlay pieces tote.dxf --unit mm --picture tote.png",
    )
    parser.add_argument("file", type=Path, metavar="FILE")
    parser.add_argument("--unit", metavar="UNIT", help="unit of the file's numbers: mm, cm, in …")
    parser.add_argument("--size", metavar="NAME", help="which size, if the file has several")
    parser.add_argument(
        "--reference",
        metavar="[NAME=]LENGTH",
        help='true length of a line drawn in the file: "check bar=100 mm"',
    )
    parser.add_argument(
        "--role",
        action="append",
        type=role,
        default=[],
        metavar="LAYER=ROLE",
        help="what a layer, label or stroke colour is for: cut, sew, grain, notch, line, ignore …",
    )
    parser.add_argument(
        "--close",
        type=parse_length,
        metavar="LENGTH",
        help="close outlines that are open by no more than this (default 1 mm)",
    )
    parser.add_argument("--out", type=Path, metavar="FILE.toml", help="write pieces to include")
    parser.add_argument("--picture", type=Path, metavar="FILE.png", help="draw the pieces")
    add_replace(parser)
    add_json(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """List the pieces, say what was found, write what was asked for."""
    reference = None
    if arguments.reference is not None:
        name, _, length = arguments.reference.rpartition("=")
        reference = Reference(length=parse_length(length), name=name)
    close = {} if arguments.close is None else {"close": arguments.close}
    pattern = read_pattern(
        arguments.file,
        unit=arguments.unit,
        size=arguments.size,
        reference=reference,
        roles=dict(arguments.role),
        **close,
    )
    faulty = any(finding.severity == "fault" for finding in pattern.findings)
    rows = list_pieces(pattern)
    kept: tuple[str, ...] = ()
    if arguments.out:
        kept = save_pieces(pattern, arguments.out, overwrite=arguments.replace)
    if arguments.picture:
        write_pieces_picture(pattern.pieces, arguments.picture, overwrite=arguments.replace)
    if arguments.json:
        told = PiecesResult(
            kind=pattern.kind,
            unit=pattern.scale.unit,
            why=pattern.scale.why,
            pieces=tuple(rows),
            findings=tuple(pattern.findings),
        )
        tell("pieces", told)
        return int(faulty)
    say(pattern_headline(pattern))
    head = [
        "piece",
        "quantity",
        "material",
        "size (mm)",
        "grain",
        "up",
        "holes",
        "notches",
        "drills",
    ]
    say(
        table(
            head,
            [
                [
                    row.name,
                    row.quantity,
                    row.material,
                    f"{row.length:.1f} × {row.width:.1f}",
                    f"{row.grain:g}°",
                    f"{row.grain:g}°" if row.up_known else "not known",
                    str(row.holes),
                    str(row.notches),
                    str(row.drills),
                ]
                for row in rows
            ],
        )
    )
    for finding in pattern.findings:
        say(f"{finding.severity}: {finding.text}")
    for sentence in kept:
        say(sentence)
    return int(faulty)
