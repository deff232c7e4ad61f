"""``thriftlay hide FILE``: a hide's outline, flaws and backbone from a photograph."""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Any

from nesting.amounts import METRIC, Amounts

from ..arguments import add_json, add_replace, new_command
from ..interrupt import no_more, unwinding
from ..say import say
from ..told import tell

if TYPE_CHECKING:
    from shapely import Polygon

    from nesting.reading.pictures.flat import Flat
    from nesting.reading.pictures.hides.hide import FoundHide

    from ..records import FlawRecord

__all__ = ["add", "run"]


def add(commands: Any) -> None:
    """Add the command to the parser."""
    parser = new_command(
        commands,
        "hide",
        about="measure a hide, its flaws and its backbone in a photograph",
        example="thriftlay hide floor.jpg --reference A4 --name 'side 17' --flaws chalk"
        " --zones side --out side-17.toml",
    )
    parser.add_argument("file", type=Path, metavar="FILE")
    parser.add_argument(
        "--reference",
        action="append",
        default=[],
        metavar="WHAT",
        help='what gives the scale: A4, Letter, our printed marks, "60 x 40 cm at 120,80 …" with'
        " four corners in pixels; all sheets of one size that lie there are used",
    )
    parser.add_argument("--name", default="hide", metavar="NAME", help="what the hide is called")
    parser.add_argument(
        "--leather",
        default="leather",
        metavar="NAME",
        help='the [[leather]] of the job that it is of (default "leather")',
    )
    parser.add_argument(
        "--flaws",
        action="append",
        metavar="WHAT",
        help="what flaws are marked with: chalk (rings), yellow chalk, red stickers, … or none;"
        " may be repeated (default chalk)",
    )
    parser.add_argument(
        "--backbone",
        metavar="WHAT",
        help="what the backbone is drawn with: yellow tape, …, or guess (default: a long line like"
        " those of flaws; a guess where there is none)",
    )
    parser.add_argument(
        "--zones",
        choices=["hide", "side"],
        help="guess zones and tightness: of a whole hide, or of a side",
    )
    parser.add_argument("--out", type=Path, metavar="FILE.toml", help="write the hide to include")
    parser.add_argument(
        "--picture", type=Path, metavar="FILE.jpg", help="draw what was found over the photograph"
    )
    add_replace(parser)
    add_json(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Measure the hide, say what was found, write what was asked for."""
    from nesting.reading.pictures.hides.chalk import parse_ink
    from nesting.reading.pictures.hides.hide import measure_hide
    from nesting.reading.pictures.opened import flat_of

    marks = [said for said in arguments.flaws or ["chalk"] if said != "none"]
    line = arguments.backbone
    flat = flat_of(arguments.file, arguments.reference)
    found = measure_hide(
        flat,
        inks=[parse_ink(said) for said in marks],
        line=None if line in (None, "guess") else parse_ink(line),
        guess=line == "guess",
    )
    picture = _written(flat, found, arguments)
    inches = any("in" in said.split() or said == "Letter" for said in arguments.reference)
    if arguments.json:
        _tell(arguments, found, picture)
    else:
        _say(arguments, found, Amounts("in") if inches else METRIC)
    return 0


def _written(flat: Flat, found: FoundHide, arguments: argparse.Namespace) -> Path | None:
    """Write what is asked for; return the picture that lies beside the hide's file."""
    from nesting.reading.pictures.hides.hide_file import save_hide
    from nesting.reading.pictures.hides.overlay import write_found

    beside = None
    with unwinding() if arguments.out or arguments.picture else nullcontext():
        if arguments.picture:
            write_found(flat, found, arguments.picture, overwrite=arguments.replace)
        if arguments.out:
            beside = save_hide(
                flat,
                found,
                arguments.out,
                name=arguments.name,
                material=arguments.leather,
                source=arguments.file.name,
                zones=arguments.zones,
                overwrite=arguments.replace,
            )
        no_more()  # an interrupt says that nothing was written
    return beside


def _say(arguments: argparse.Namespace, found: FoundHide, amounts: Amounts) -> None:
    x0, y0, x1, y1 = found.outline.bounds
    say(f"{arguments.name}: {amounts.sizes(x1 - x0, y1 - y0)}, {amounts.area(found.area)}")
    say(f"scale: {found.said}")
    say(f"its outline lies inside the edge and is off by at most {found.off:.1f} mm")
    for flaw in found.flaws:
        a, b, c, d = flaw.bounds
        say(f"flaw: {amounts.sizes(c - a, d - b)} at {amounts.sizes(a, b)}")
    for patch in found.unsaid:
        a, b, c, d = patch.bounds
        say(f"no flaw: {amounts.sizes(c - a, d - b)} at {amounts.sizes(a, b)}, of another colour")
    back = found.backbone
    say(f"backbone: at {back.angle:.1f}°, {back.why}; it is taken to point to the neck")
    for finding in found.findings:
        say(f"{finding.severity}: {finding.text}")


def _tell(arguments: argparse.Namespace, found: FoundHide, picture: Path | None) -> None:
    from ..records import HideResult

    x0, y0, x1, y1 = found.outline.bounds
    result = HideResult(
        name=arguments.name,
        length=x1 - x0,
        width=y1 - y0,
        area=found.area,
        uncertainty=found.off,
        scale=found.said,
        flaws=_records(found.flaws),
        unsaid=_records(found.unsaid),
        backbone=found.backbone.angle,
        backbone_guessed=found.backbone.guess,
        backbone_why=found.backbone.why,
        file=None if arguments.out is None else str(arguments.out),
        picture=None if picture is None else str(picture),
        findings=found.findings,
    )
    tell("hide", result)


def _records(patches: Iterable[Polygon]) -> tuple[FlawRecord, ...]:
    from ..records import FlawRecord

    return tuple(
        FlawRecord(x=a, y=b, length=c - a, width=d - b, area=patch.area)
        for patch in patches
        for a, b, c, d in [patch.bounds]
    )
