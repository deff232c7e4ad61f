"""Cloth as a job file has it: widths, folds, prints, shrinkage."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field

from nesting.job.tables.fields import (
    Distance,
    Listed,
    MeasuredShare,
    Pair,
    Price,
    Share,
    Size,
    Table,
)
from nesting.job.tables.material_table import GoodsTable, NapWord
from nesting.job.tables.picture_table import PictureTable
from nesting.job.tables.remnant_table import RemnantTable

__all__ = ["ClothTable", "PrintTable", "ShrinkageTable", "WidthTable"]


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
        "can first be cut from. Without it a lay begins wherever in the repeat saves most cloth, "
        "and says where; across, a motif is taken to lie on the low edge",
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
    picture: PictureTable | None = Field(
        None,
        description="a picture of one repeat, drawn under the marker over and over; of stripes it "
        "may be as wide or high as you like. `thriftlay repeat` makes one",
    )


class StockPrintTable(PrintTable):
    """A print that was measured."""

    material: str = Field(description="the [[cloth]] it is on")
    nap: NapWord | None = Field(
        None, description="whether the print has a right way up: one-way or none"
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
