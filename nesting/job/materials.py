"""From the tables of a job file to cloth and sheets."""

from __future__ import annotations

import base64
from typing import Any

from nesting.bounded import bytes_of
from nesting.errors import JobError
from nesting.job.desk import Desk
from nesting.job.locate import Place
from nesting.job.shapes import outline_with_holes
from nesting.job.tables.cloth_table import ClothTable, PrintTable, ShrinkageTable, WidthTable
from nesting.job.tables.material_table import GoodsTable, SheetTable
from nesting.job.tables.picture_table import PictureTable
from nesting.job.tables.remnant_table import RemnantTable
from nesting.limits import LARGEST_GROUND, MOST_GROUND_PIXELS, SMALLEST_REPEAT
from nesting.material.material import (
    Cloth,
    Fold,
    Nap,
    Print,
    Remnant,
    SheetGoods,
    Shrinkage,
    Width,
)
from nesting.material.picture import Picture, kind_and_size
from nesting.pattern.measure import clockwise, counter_clockwise
from nesting.pattern.path import Affine, Point

__all__ = [
    "NO_ORIGIN",
    "cloth_from",
    "goods_from",
    "picture_from",
    "print_from",
    "refuse_folded",
    "remnant_from",
    "sheets_from",
]

NO_ORIGIN = (
    "where the middle of a motif lies is not given: across, one is taken to lie on the low edge"
    " of the usable cloth; each lay says where in the repeat it begins"
)
"""What is assumed of a print without `origin`."""

SELVEDGE = 10.0
"""Unusable edge on each side of cloth (mm): 6 to 13 mm is usual (common practice, no source)."""

ENDS = 10.0
"""Allowance at each end of a lay (mm): 2 to 4 cm are lost where two lays meet, half of it at
each end (Vilumsone-Nemes, Industrial Cutting of Textile Materials, p. 37)."""

SPACING = 2.0
"""Between parts on cloth and sheets (mm): what a knife needs (common practice, no source)."""

STEP = {"metric": 100.0, "yards": 114.3}
"""Shops sell cloth in steps of 10 cm (common practice) or ⅛ yd (threadsmagazine.com)."""

_PER_METRE = {"m": 1.0, "yd": 1.0 / 0.9144}


def goods_from(
    table: GoodsTable, desk: Desk, *, nap: Nap, spacing: float = SPACING
) -> dict[str, Any]:
    """Return what all materials have, as keywords; `nap` and `spacing` are the defaults."""
    if table.nap is None:
        desk.assume(_NAP[nap], of=table.name, first=True)
    if table.spacing is None:
        desk.assume(f"parts lie at least {desk.amounts.setting(spacing)} apart", of=table.name)
    return {
        "name": table.name,
        "nap": nap if table.nap is None else Nap(table.nap),
        "spacing": spacing if table.spacing is None else table.spacing,
        "turn_slack": table.turn_slack or 0.0,
        "faces_alike": table.faces_alike,
        "wrong_side_up": table.wrong_side_up,
        "substance": table.substance,
        "thickness": table.thickness,
    }


_NAP = {
    Nap.NONE: "no nap given, parts may be turned by 180°",
    Nap.ONE_WAY: "no nap given, a print is taken to have one way up",
    Nap.ANY: "no nap given, parts may lie at any turn",
}


def cloth_from(table: ClothTable, place: Place, desk: Desk, *, yards: bool) -> Cloth:
    """Return a cloth; `yards`: the job is in inches, so shops are taken to sell by the yard."""
    step = STEP["yards" if yards else "metric"]
    if table.step is None:
        desk.assume(f"sold in steps of {desk.amounts.step(step)}", of=table.name)
    if table.ends is None:
        desk.assume(
            f"{desk.amounts.setting(ENDS)} are allowed at each end of the lay", of=table.name
        )
    shrinkage = table.shrinkage or ShrinkageTable.model_validate({})
    if table.shrinkage is None:
        desk.assume("does not shrink", of=table.name, first=True)
    widths = _widths(table, place, desk)
    motif = (
        None
        if table.print is None
        else print_from(
            table.print,
            (*place, "print"),
            desk,
            name=table.name,
            widths=widths,
            longest=table.longest,
        )
    )
    if motif is not None and table.fold == "folded" and not table.fold_print:
        raise desk.error(
            "folded with the right sides together the print can't be seen, and it falls "
            "differently on the two plies",
            (*place, "fold"),
            hint="lay it single, or say fold_print = true if that does not matter",
        )
    return Cloth(
        **goods_from(table, desk, nap=Nap.NONE if motif is None else Nap.ONE_WAY),
        widths=widths,
        ends=ENDS if table.ends is None else table.ends,
        step=step if table.step is None else table.step,
        shrinkage=Shrinkage(
            along=shrinkage.along, across=shrinkage.across, cut_larger=shrinkage.cut_larger
        ),
        print=motif,
        fold=Fold(table.fold),
        fold_print=table.fold_print,
        longest=table.longest,
        rolls=tuple(table.rolls),
        remnants=_cloth_remnants(table, place, desk),
    )


def _cloth_remnants(table: ClothTable, place: Place, desk: Desk) -> tuple[Remnant, ...]:
    if table.remnant:
        refuse_folded(table.fold == "folded", (*place, "remnant", 0), desk)
        if table.shrinkage is not None and not table.shrinkage.cut_larger:
            desk.assume("its remnants are taken to be washed already", of=table.name)
    return tuple(
        remnant_from(remnant, (*place, "remnant", i), desk, wrong_side_up=table.wrong_side_up)
        for i, remnant in enumerate(table.remnant)
    )


def refuse_folded(folded: bool, place: Place, desk: Desk) -> None:
    """Refuse a remnant of cloth that is laid folded."""
    if folded:
        raise desk.error(
            "the cloth is laid folded, and its parts are drawn for two plies",
            place,
            hint="lay the cloth single to use its remnants, or leave them out",
        )


def _widths(table: ClothTable, place: Place, desk: Desk) -> tuple[Width, ...]:
    if (table.width is None) == (table.widths is None):
        told = "has no width" if table.width is None else "gives both width and widths"
        raise desk.error(f"the cloth {told}", place, hint='give width = "140 cm" or widths = […]')
    if table.width is not None:
        only = WidthTable(booked=table.width, usable=table.usable, price=table.price)
        return (_width(table, only, (*place, "width"), desk),)
    if table.usable is not None:
        raise desk.error(
            "usable belongs to a single width",
            (*place, "usable"),
            hint="give selvedge, or widths as tables with booked and usable",
        )
    many = table.widths or []
    if not many:
        raise desk.error("the list of widths is empty", (*place, "widths"))
    found = tuple(_width(table, width, (*place, "widths", i), desk) for i, width in enumerate(many))
    if len({width.booked for width in found}) < len(found):
        raise desk.error("a width is given twice", (*place, "widths"), hint="give each once")
    return found


def _width(table: ClothTable, width: WidthTable, place: Place, desk: Desk) -> Width:
    selvedge = table.selvedge
    if width.usable is None and selvedge is None:
        selvedge = SELVEDGE
        desk.assume(
            f"selvedges of {desk.amounts.setting(SELVEDGE)} on each side can't be used",
            of=table.name,
        )
    usable = width.booked - 2.0 * (selvedge or 0.0) if width.usable is None else width.usable
    if not 0.0 < usable <= width.booked:
        say = desk.amounts.setting
        raise desk.error(
            f"of {say(width.booked)} of width {say(usable)} would be usable",
            place,
            hint="usable width is at most the booked one; selvedge is for one side",
        )
    price = table.price if width.price is None else width.price
    factor = _PER_METRE[table.price_per]
    return Width(
        booked=width.booked, usable=usable, price=None if price is None else price * factor
    )


def print_from(
    motif: PrintTable,
    place: Place,
    desk: Desk,
    *,
    name: str,
    widths: tuple[Width, ...],
    longest: float | None,
) -> Print:
    """Return the print of the cloth that is called so, on sale in these widths."""
    if motif.along is None and motif.across is None:
        raise desk.error("the print has no repeat", place, hint="give along, across or both")
    if min(motif.along or SMALLEST_REPEAT, motif.across or SMALLEST_REPEAT) < SMALLEST_REPEAT:
        raise desk.error(
            f"a repeat is at least {desk.amounts.setting(SMALLEST_REPEAT)}",
            place,
            hint="what is finer is no print to match; leave it out",
        )
    if motif.drop and (motif.along is None or motif.across is None):
        raise desk.error(
            "a drop needs a repeat both ways", (*place, "drop"), hint="give along and across"
        )
    narrowest, say = min(width.usable for width in widths), desk.amounts.setting
    if motif.across is not None and motif.across > narrowest:
        raise desk.error(
            f"the repeat across, {say(motif.across)}, is larger than the usable cloth, "
            f"{say(narrowest)}",
            (*place, "across"),
            hint="measure it again, or leave it out for a stripe along the cloth",
        )
    if motif.along is not None and longest is not None and motif.along > longest:
        raise desk.error(
            f"the repeat along, {say(motif.along)}, is larger than the longest lay",
            (*place, "along"),
            hint="allow a longer lay, or leave it out for a stripe along the cloth",
        )
    if motif.origin is None:
        desk.assume(NO_ORIGIN, of=name, first=True)
    if motif.drift is None:
        desk.assume(
            "the print's repeat is taken to be true to size: measure it over several repeats",
            of=name,
            first=True,
        )
    elif motif.drift:
        desk.assume(
            f"its repeat may drift by {say(motif.drift)}, so parts lie {say(2.0 * motif.drift)}"
            " further apart: move each template onto its motif before you cut; seams matched"
            f" without that may miss by {say(2.0 * motif.drift)}",
            of=name,
            first=True,
        )
    return Print(
        along=motif.along,
        across=motif.across,
        drop=motif.drop,
        origin=motif.origin or (0.0, 0.0),
        placed=motif.origin is not None,
        drift=motif.drift or 0.0,
        off_centre=motif.off_centre,
        picture=picture_from(motif.picture, (*place, "picture"), desk, middle=True),
    )


def sheets_from(table: SheetTable, place: Place, desk: Desk) -> SheetGoods:
    """Return sheets, with the remnants that stand in their own table."""
    remnants = tuple(
        remnant_from(remnant, (*place, "remnant", i), desk, wrong_side_up=table.wrong_side_up)
        for i, remnant in enumerate(table.remnant)
    )
    margin = table.margin or 0.0
    if table.size is None and not (remnants or table.count == 0):
        raise desk.error("the sheet has no size", place, hint='give size = ["60 cm", "90 cm"]')
    length, width = table.size or (0.0, 0.0)
    if table.size is not None and not min(length, width) > 2.0 * margin:
        raise desk.error(
            "nothing of the sheet is left",
            (*place, "size"),
            hint="sizes are more than 0 and more than two margins",
        )
    if table.margin is None:
        desk.assume("parts may reach the sheet's edges", of=table.name)
    if table.size is not None and table.count is None:
        desk.assume("as many sheets as needed can be had", of=table.name)
    return SheetGoods(
        **goods_from(table, desk, nap=Nap.NONE),
        length=length,
        width=width,
        count=0 if table.size is None else table.count,
        price=table.price,
        margin=margin,
        remnants=remnants,
    )


def remnant_from(
    table: RemnantTable,
    place: Place,
    desk: Desk,
    *,
    wrong_side_up: bool = False,
    leather: bool = False,
) -> Remnant:
    """Return a left-over as it is laid: its grain along x, the face up that the goods have up."""
    for key in ("grade", "zone"):
        if getattr(table, key) and not leather:
            raise desk.error("only leather has grades", (*place, key), hint="leave it out")
    outline, holes = outline_with_holes(table, table.hole, place, desk)
    known = table.grain != "unknown"
    if not known:
        desk.assume(
            "its grain is not known: only pieces without one are cut from it",
            of=table.name,
            first=True,
        )
    lay = Affine.turn(0.0 if table.grain == "unknown" else -(table.grain or 0.0))
    if table.face is not None and (table.face == "wrong") != wrong_side_up:
        lay = Affine.mirror().after(lay)
    if lay == Affine():
        return Remnant(name=table.name, outline=outline, holes=holes, grain_known=known)
    return Remnant(
        name=table.name,
        outline=counter_clockwise(outline.transformed(lay)),
        holes=tuple(clockwise(hole.transformed(lay)) for hole in holes),
        grain_known=known,
    )


def picture_from(
    table: PictureTable | None, place: Place, desk: Desk, *, middle: bool = False
) -> Picture | None:
    """Return a picture of goods; `middle`: it lies about a point, unless it says where."""
    if table is None:
        return None
    path = desk.path(table.file, (*place, "file"))
    with desk.at((*place, "file")):
        data = bytes_of(path, most=LARGEST_GROUND, what="a picture", error=JobError)
        kind, (wide, high) = kind_and_size(data)
        if not 0 < wide * high <= MOST_GROUND_PIXELS:
            raise JobError(
                f"the picture has {wide} × {high} pixels", hint="make it smaller: 2000 are plenty"
            )
    length, width = table.size
    if not (length > 0.0 and width > 0.0):
        raise desk.error("a picture of no size shows nothing", (*place, "size"))
    at: Point = (-0.5 * length, -0.5 * width) if middle else (0.0, 0.0)
    return Picture(
        kind=kind,
        data=base64.b64encode(data).decode("ascii"),
        size=(length, width),
        at=at if table.at is None else table.at,
    )
