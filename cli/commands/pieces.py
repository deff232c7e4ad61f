"""``thriftlay pieces FILE``: what a pattern file holds, and its pieces for a job file."""

from __future__ import annotations

import argparse
import re
from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Any

import nesting
from nesting.amounts import Amounts
from nesting.errors import PatternError
from nesting.units import length as parse_length

from ..arguments import add_json, add_replace, grid, new_command, pages, role
from ..interrupt import no_more, unwinding
from ..say import say
from ..table import table
from ..told import tell

if TYPE_CHECKING:
    from nesting.reading.listing import Row
    from nesting.reading.pattern_file import Pattern
    from nesting.reading.read import Tiling

__all__ = ["add", "run"]


def add(commands: Any) -> None:
    """Add the command to the parser."""
    parser = new_command(
        commands,
        "pieces",
        about="list the pieces of a DXF, SVG or PDF pattern file, of a scan or a photograph",
        example="thriftlay pieces table.jpg --reference A4 --picture found.png --out pieces.toml",
    )
    parser.add_argument("file", type=Path, metavar="FILE", nargs="?")
    parser.add_argument(
        "--words",
        action="store_true",
        help="say with which layers, names and lines to draw a pattern file, and end",
    )
    parser.add_argument("--unit", metavar="UNIT", help="unit of the file's numbers: mm, cm, in …")
    parser.add_argument("--size", metavar="NAME", help="which size, if the file has several")
    parser.add_argument(
        "--reference",
        metavar="[NAME=]LENGTH",
        help='true length of a line drawn in the file: "check bar=100 mm"; a number without a unit'
        ' is in mm. Of a picture, what gives its scale: A4, Letter, "5 cm square", "30 x 20 cm",'
        ' "60 x 40 cm at 120,80 2010,95 1990,1400 100,1380" (corners in pixels), marks, "150 dpi"',
    )
    parser.add_argument(
        "--line",
        choices=["middle", "outside"],
        help="the pieces of a picture are drawn: the middle of the line is the outline, or its"
        " outside",
    )
    parser.add_argument(
        "--role",
        action="append",
        type=role,
        default=[],
        metavar="LAYER=ROLE",
        help="what a layer, label, colour or dash is for: cut, sew, grain, notch, line, ignore …",
    )
    parser.add_argument(
        "--close",
        type=parse_length,
        metavar="LENGTH",
        help="close outlines that are open by no more than this: 2 mm, 1/16 in (default 1 mm)",
    )
    parser.add_argument(
        "--pages", type=pages, metavar="PAGES", help="pages of a PDF that are pattern: 3-14, 3,5-8"
    )
    parser.add_argument(
        "--grid",
        type=grid,
        metavar="COLUMNSxROWS",
        help='how the pages of a PDF lie: 4x3, or "4x3 by columns" if they go on downwards',
    )
    parser.add_argument(
        "--overlap", type=parse_length, metavar="LENGTH", help="how far pages of a PDF overlap"
    )
    parser.add_argument("--out", type=Path, metavar="FILE.toml", help="write pieces to include")
    parser.add_argument("--picture", type=Path, metavar="FILE.png", help="draw the pieces")
    add_replace(parser)
    add_json(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """List the pieces, say what was found, write what was asked for."""
    if arguments.words:
        from nesting.reading.drawing_words import drawing_page

        say(drawing_page().rstrip("\n"))
        return 0
    if arguments.file is None:
        raise PatternError("no pattern file is named", hint="thriftlay pieces FILE, or --words")
    from nesting.reading.listing import headline, list_pieces

    pattern = _read(arguments)
    kept = _written(pattern, arguments)
    faulty = any(finding.severity == "fault" for finding in pattern.findings)
    rows = list_pieces(pattern)
    if arguments.json:
        from ..records import PiecesResult

        told = PiecesResult(
            kind=pattern.kind,
            unit=pattern.scale.unit,
            why=pattern.scale.why,
            pieces=tuple(rows),
            kept=kept,
            findings=tuple(pattern.findings),
        )
        tell("pieces", told)
        return int(faulty)
    say(headline(pattern, pattern.amounts))
    pictured = pattern.shown is not None
    head = [*_HEAD, "off by up to"] if pictured else _HEAD
    say(table(head, [_cells(row, pattern.amounts, pictured) for row in rows]))
    if any(row.allowance is None for row in rows):
        say(_ONE_LINE)
    for finding in pattern.findings:
        say(f"{finding.severity}: {finding.text}")
    for sentence in kept:
        say(sentence)
    return int(faulty)


def _read(arguments: argparse.Namespace) -> Pattern:
    """Read the pattern as the options say."""
    from nesting.job.tables.fields import reference_of
    from nesting.reading.read import Reference

    reference = None
    if arguments.reference is not None:
        name, length = reference_of(arguments.reference, unit="mm")
        reference = Reference(length=length, name=name)
    inches = arguments.reference is not None and _INCHES.search(arguments.reference)
    close = {} if arguments.close is None else {"close": arguments.close}
    return nesting.read_pattern(
        arguments.file,
        unit=arguments.unit,
        size=arguments.size,
        reference=reference,
        roles=dict(arguments.role),
        amounts=Amounts("in") if inches else None,
        tiling=_tiling(arguments),
        line=arguments.line,
        **close,
    )


def _written(pattern: Pattern, arguments: argparse.Namespace) -> tuple[str, ...]:
    """Write what is asked for; return what was kept of the file that was there."""
    kept: tuple[str, ...] = ()
    with unwinding() if arguments.out or arguments.picture else nullcontext():
        if arguments.out:
            from nesting.reading.pieces_file import save_pieces

            kept = save_pieces(pattern, arguments.out, overwrite=arguments.replace)
            no_more()  # an interrupt says that nothing was written
        if arguments.picture:
            _draw(pattern, arguments)
    return kept


def _draw(pattern: Pattern, arguments: argparse.Namespace) -> None:
    """Draw the pieces, over what was photographed if the file is a picture."""
    if pattern.shown is not None:
        from nesting.reading.pictures.overlay import write_overlay

        write_overlay(pattern.shown, pattern.found, arguments.picture, overwrite=arguments.replace)
        return
    from nesting.writing.pages.pieces_picture import write_pieces_picture

    write_pieces_picture(
        pattern.pieces,
        arguments.picture,
        amounts=pattern.amounts,
        overwrite=arguments.replace,
    )


def _tiling(arguments: argparse.Namespace) -> Tiling | None:
    """Return what is said of the pages of a PDF, None if nothing is."""
    if arguments.pages is None and arguments.grid is None and arguments.overlap is None:
        return None
    from nesting.reading.read import Tiling

    columns, rows, by_columns = arguments.grid or (0, 0, False)
    return Tiling(
        pages=arguments.pages or (),
        grid=(columns, rows) if arguments.grid else None,
        by_columns=by_columns,
        overlap=arguments.overlap,
    )


_INCHES = re.compile(r"""(?:in|inch|inches|["″”]|ft|yd)\s*$""", re.IGNORECASE)
_HEAD = [
    *("piece", "quantity", "material", "size", "grain", "up points"),
    *("allowance", "holes", "notches", "drills"),
]
_ONE_LINE = (
    'without an allowance the outline is taken as the cutting line; if you sew on it, say line = "'
    'sewing" with the piece in the job'
)
_ALIKE = 0.3
"""Allowances (mm) that differ by less are one, a round one: curves are drawn as chords."""

_SIDES = {0.0: "right", 90.0: "up", 180.0: "left", 270.0: "down"}


def _cells(row: Row, amounts: Amounts, pictured: bool) -> list[str]:
    """Return what the table says of a piece."""
    turn = round(row.grain % 360.0, 2) % 360.0
    if row.allowance is None:
        allowance = "not drawn"
    else:
        least, most = row.allowance
        step = 25.4 / 16.0 if amounts.inches else 0.5
        round_one = round(0.5 * (least + most) / step) * step
        if least - _ALIKE < round_one < most + _ALIKE and most - least < _ALIKE:
            least = most = round_one
        said = dict.fromkeys(map(amounts.setting, (least, most)))
        allowance = " to ".join(said)
    return [
        row.name,
        row.quantity,
        row.material,
        amounts.sizes(row.length, row.width),
        f"{turn:g}°",
        _SIDES.get(turn, f"{turn:g}°") if row.up_known else "not known",
        allowance,
        str(row.holes),
        str(row.notches),
        str(row.drills),
        *([f"{row.uncertainty or 0.0:.2f} mm"] if pictured else []),
    ]
