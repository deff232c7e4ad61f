"""``thriftlay repeat FILE``: the repeat of a print or of stripes from a photograph or a scan."""

from __future__ import annotations

import argparse
from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Any

from nesting.amounts import METRIC, Amounts

from ..arguments import add_json, add_replace, new_command, place
from ..interrupt import no_more, unwinding
from ..say import say
from ..told import tell

if TYPE_CHECKING:
    from nesting.reading.pictures.flat import Flat
    from nesting.reading.pictures.prints.repeat import Repeat

__all__ = ["add", "run"]


def add(commands: Any) -> None:
    """Add the command to the parser."""
    parser = new_command(
        commands,
        "repeat",
        about="measure the repeat of a print or of stripes in a photograph or a scan",
        example="thriftlay repeat cloth.jpg --reference A4 --cloth canvas --out print.toml",
    )
    parser.add_argument("file", type=Path, metavar="FILE")
    parser.add_argument(
        "--reference",
        action="append",
        default=[],
        metavar="WHAT",
        help='what gives the scale: A4, Letter, "150 dpi", our printed marks, "60 x 40 cm at'
        ' 120,80 …" with four corners in pixels',
    )
    parser.add_argument(
        "--cloth",
        default="cloth",
        metavar="NAME",
        help='the [[cloth]] of the job that it is on (default "cloth")',
    )
    parser.add_argument(
        "--up",
        choices=["top", "right", "bottom", "left"],
        default="top",
        help="where the print's top is in the picture: it points along the cloth (default top)",
    )
    parser.add_argument(
        "--corner",
        type=place,
        metavar="X,Y",
        help="where in the photograph (pixels from its upper left) the corner is from which the"
        " cloth can first be cut, on the right as one looks up along the print: the print is then"
        " laid to it",
    )
    parser.add_argument("--out", type=Path, metavar="FILE.toml", help="write the print to include")
    add_replace(parser)
    add_json(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Measure the repeat, say what was found, write what was asked for."""
    from nesting.reading.pictures.opened import flat_of
    from nesting.reading.pictures.prints.measure import measure_repeat
    from nesting.reading.pictures.prints.said import said

    flat, found, findings = measure_repeat(
        flat_of(arguments.file, arguments.reference),
        up=arguments.up,
        corner=arguments.corner,
        file=arguments.file,
    )
    picture = _written(flat, found, arguments)
    if arguments.json:
        from ..records import RepeatResult

        result = RepeatResult(
            along=found.up,
            across=found.right,
            drop=found.drop,
            uncertainty=found.error,
            two_way=found.two_way,
            turn=found.turn,
            sure=found.sure,
            seen=found.seen,
            middle=found.middle,
            middle_clear=found.clear,
            origin=found.origin,
            scale=flat.said,
            file=None if arguments.out is None else str(arguments.out),
            picture=None if picture is None else str(picture),
            findings=findings,
        )
        tell("repeat", result)
        return 0
    inches = any("in" in told.split() or told == "Letter" for told in arguments.reference)
    for line in said(found, Amounts("in") if inches else METRIC):
        say(line)
    say(f"scale: {flat.said}")
    for finding in findings:
        say(f"{finding.severity}: {finding.text}")
    return 0


def _written(flat: Flat, found: Repeat, arguments: argparse.Namespace) -> Path | None:
    from nesting.reading.pictures.prints.print_file import save_print

    if not arguments.out:
        return None
    with unwinding() if arguments.out else nullcontext():
        picture = save_print(
            flat,
            found,
            arguments.out,
            material=arguments.cloth,
            source=arguments.file.name,
            overwrite=arguments.replace,
        )
        no_more()  # an interrupt says that nothing was written
    return picture
