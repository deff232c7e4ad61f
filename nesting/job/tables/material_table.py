"""Cloth, sheets and leather as a job file has them."""

from __future__ import annotations

import hashlib
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field

from nesting.errors import JobError
from nesting.job.tables.fields import (
    Angle,
    Distance,
    KnownGrain,
    Listed,
    MeasuredShare,
    Name,
    Pair,
    Price,
    Share,
    Size,
    Table,
)
from nesting.job.tables.piece_table import Shape, ShapeTable

__all__ = [
    "ClothTable",
    "GoodsTable",
    "HideTable",
    "LeatherTable",
    "PrintTable",
    "RemnantTable",
    "SheetTable",
    "ShrinkageTable",
    "StockHideTable",
    "WidthTable",
    "ZoneTable",
]

_NAP_WORDS = {
    **dict.fromkeys(("two-way", "two way", "both", "both ways", "without", "no"), "none"),
    **dict.fromkeys(("directional", "one way", "with", "with nap", "yes"), "one-way"),
    **dict.fromkeys(("all", "free", "every"), "any"),
}
"""What people say instead, and the word of the file."""


def _nap(value: Any) -> Any:
    word = value.strip().lower() if isinstance(value, str) else ""
    if word in _NAP_WORDS:
        means = {
            "none": "parts may be turned by 180°",
            "one-way": "all parts point the same way",
            "any": "parts may be turned any way",
        }[_NAP_WORDS[word]]
        raise JobError(
            f'"{word}" is not a word for the nap', hint=f'write "{_NAP_WORDS[word]}": {means}'
        )
    return value


NapWord = Annotated[Literal["none", "one-way", "any"], BeforeValidator(_nap)]


class GoodsTable(Table):
    """What all materials have."""

    name: Name = Field(description="as in the cutting list, on files and labels")
    nap: NapWord | None = Field(
        None,
        description="whether the goods have a right way up. none: no, parts may be turned by "
        "180°; one-way: yes, none is turned; any: no grain either, any turn will do "
        "(default: any for leather, one-way for prints, else none)",
    )
    spacing: Distance | None = Field(
        None, description="the least room between two parts (default: 2 mm, leather 3 mm)"
    )
    turn_slack: Angle | None = Field(
        None,
        ge=0,
        le=180,
        description="how many degrees a part may be turned off the grain to save goods (default: "
        "0)",
    )
    faces_alike: bool = Field(
        False, description="both faces look the same: parts may be laid face down"
    )
    wrong_side_up: bool = Field(
        False,
        description="the goods lie with the wrong side (of leather: the flesh side) up. Parts are"
        " mirrored, so that they come out right; draw a hide as it lies",
    )
    substance: str = Field(
        "",
        max_length=80,
        description="what it is made of, for the cautions and for the question before a laser "
        'cuts it: "cotton", "pvc", …',
    )
    thickness: Size | None = Field(
        None, description="how thick it is: how many plies are as high as `height` of the table"
    )
    notes: str = Field("", description="for the reader of the file; not used")


class WidthTable(Table):
    """A width on sale."""

    booked: Size = Field(description="the width as sold, selvedges included")
    usable: Size | None = Field(None, description="how much of the width can be cut from")
    price: Price | None = Field(None, description="for a metre or yard of length (`price_per`)")


def _width(value: Any) -> Any:
    return value if isinstance(value, dict) else {"booked": value}


WidthField = Annotated[WidthTable, BeforeValidator(_width)]


class PrintTable(Table):
    """A print's repeat; a stripe has only one of the two."""

    along: Size | None = Field(
        None, description="after what length along the cloth the print repeats"
    )
    across: Size | None = Field(None, description="after what length across the cloth it repeats")
    drop: Share = Field(
        0.0,
        description="how far every other column is moved along, as a share of the repeat: 0 (all "
        "alike) or 0.5 (a half-drop)",
    )
    origin: Pair | None = Field(
        None,
        description="where the middle of a motif lies, measured from the corner where the cloth "
        "can first be cut from (default: at that corner)",
    )
    drift: Distance | None = Field(
        None,
        description="how far a motif may lie from its place, as cloth is printed and stretches "
        "(default: 0). So much room is left around parts that are centred or matched:"
        " move the template onto its motif before you cut",
    )
    off_centre: Distance = Field(
        0.0,
        description="how far a motif may lie off the middle of a part that is centred on it, to "
        "save cloth. Parts that are also matched are never off",
    )


class ShrinkageTable(Table):
    """Shares lost in washing."""

    along: MeasuredShare = Field(
        0.0,
        description='lost lengthwise: "5 %", 0.05, or two lengths measured [before, after] washing',
    )
    across: MeasuredShare = Field(0.0, description="lost across, said in the same way")
    cut_larger: bool = Field(
        False,
        description="true: you wash after cutting, so parts are cut larger. false: you wash the "
        "cloth first, so more of it is bought",
    )


def _shrinkage(value: Any) -> Any:
    return value if isinstance(value, dict) else {"along": value, "across": value}


class ClothTable(GoodsTable):
    """Cloth by the length."""

    width: Size | None = Field(None, description="the width as sold, selvedges included")
    usable: Size | None = Field(
        None,
        description="how much of the width can be cut from (default: the width without its "
        "selvedges)",
    )
    widths: Listed[WidthField] | None = Field(
        None,
        description="instead of `width`: several widths on sale. The cheapest is taken, the "
        "others are compared",
    )
    selvedge: Distance | None = Field(
        None, description="the firm edge on each side that nothing is cut from (default: 10 mm)"
    )
    price: Price | None = Field(None, description="for a metre or yard of length")
    price_per: Literal["m", "yd"] = Field(
        "m", description="what the price is for: a metre or a yard"
    )
    ends: Distance | None = Field(None, description="spare cloth at each end (default: 10 mm)")
    step: Size | None = Field(
        None,
        description="the shop cuts it in steps of so much (default: 10 cm, or ⅛ yd if the job's "
        "unit is in, ft or yd)",
    )
    longest: Size | None = Field(
        None,
        description="the longest piece of this cloth that you can get, or that your table takes",
    )
    shrinkage: Annotated[ShrinkageTable, BeforeValidator(_shrinkage)] | None = Field(
        None, description='what washing takes off: "5 %" both ways, or a section (default: nothing)'
    )
    rolls: list[Size] = Field(
        [], description="the lengths that are at hand, for an order: they are cut up into plies"
    )
    print: PrintTable | None = Field(
        None, description="the print, where parts are centred on it or matched across a seam"
    )
    fold: Literal["single", "folded"] = Field(
        "single",
        description="folded: the cloth is folded lengthwise, right sides together, and cut "
        "through both halves at once",
    )
    fold_print: bool = Field(
        False,
        description="true: fold it although it is printed. The print can't be seen between the "
        "halves and does not fall alike on both",
    )
    remnant: list[RemnantTable] = Field(
        [],
        description="left-overs of this cloth, used first. What is centred or matched is not cut "
        "from them, and nothing is if the cloth is folded",
    )


class ZoneTable(Shape):
    """A graded area of a hide."""

    name: str = Field(
        "", max_length=60, description="what it is called: butt, shoulder, neck, flank, belly…"
    )
    grade: Literal["A", "B", "C", "D"] = Field(description="how good it is: A is the best")
    tight: Angle | None = Field(
        None, description="the direction in which the leather stretches least, in degrees"
    )
    slack: Angle | None = Field(
        None,
        ge=0,
        le=180,
        description="by how many degrees a part may be turned from that direction (default: 15°)",
    )


class RemnantTable(Shape):
    """A left-over, used before new goods."""

    name: Name = Field(description="as you wrote it on the left-over")
    material: str | None = Field(
        None, description="the [[cloth]], [[sheet]] or [[leather]] it belongs to"
    )
    hole: list[ShapeTable] = Field([], description="holes in it")
    grain: KnownGrain | None = Field(
        None,
        description="which way its lengthwise grain runs in the drawing (default: along). "
        "unknown: only parts that need no grain are cut from it (nap any)",
    )
    face: Literal["right", "wrong"] | None = Field(
        None,
        description="which face you see in the drawing (default: the one that lies up when this "
        "material is cut)",
    )
    grade: Literal["A", "B", "C", "D"] | None = Field(
        None, description="of leather: the poorest grade on it, if you draw no zones"
    )
    zone: list[ZoneTable] = Field([], description="of leather: graded areas, as on a hide")
    notes: str = Field("", description="for the reader of the file; not used")


class SheetTable(GoodsTable):
    """Sheets of one size."""

    size: Pair | None = Field(None, description="how long along the grain, how wide across it")
    count: int | None = Field(
        None,
        ge=0,
        le=100_000,
        description="how many there are at most (default: as many as are needed)",
    )
    price: Price | None = Field(None, description="for one sheet")
    margin: Distance | None = Field(
        None, description="how far parts stay off the edges of a sheet (default: 0)"
    )
    remnant: list[RemnantTable] = Field([], description="left-overs, used first")


class HideTable(Shape):
    """One hide."""

    name: Name = Field(description="as on its tag")
    from_: str | None = Field(
        None,
        alias="from",
        description="a DXF, SVG or PDF file with the outline. Measure flaws and zones from the "
        "lower left corner of that outline",
    )
    piece: str | None = Field(None, description="the outline's name in that file")
    file_unit: str | None = Field(
        None, description="the unit the file is drawn in, if it doesn't say so, or says it wrongly"
    )
    hole: list[ShapeTable] = Field([], description="holes in it")
    flaw: list[ShapeTable] = Field([], description="scars, brands, holes: parts stay out of them")
    zone: list[ZoneTable] = Field(
        [], description="areas of one grade; the rest counts as the poorest grade"
    )
    guess_zones: Literal["hide", "side"] | None = Field(
        None,
        description="zones and tightness are guessed from the outline, if you draw none. hide: a "
        "whole hide; side: half a hide, cut along the backbone",
    )
    backbone: Angle = Field(
        0.0, description="which way the backbone runs from tail to neck, in degrees"
    )


class StockHideTable(HideTable):
    """A hide on the shelf."""

    material: str = Field(description="the [[leather]] it is of")


class LeatherTable(GoodsTable):
    """The hides at hand of one leather."""

    price: Price | None = Field(None, description="for an area (`price_per`)")
    price_per: Literal["m²", "dm²", "ft²"] = Field("m²", description="what the price is for")
    margin: Distance | None = Field(
        None, description="how far parts stay off edges and flaws (default: 5 mm)"
    )
    hide: list[HideTable] = Field([], description="the hides")


def stock_id(table: RemnantTable | StockHideTable) -> str:
    """Return by what a stock file knows a remnant or a hide again: its name, goods and outline.

    What a job calls it, and what else is written about it meanwhile, is no part of that.
    """
    drawn = table.model_dump_json(include={"name", "material", *Shape.model_fields})
    return hashlib.sha256(drawn.encode()).hexdigest()[:16]
