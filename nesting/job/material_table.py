"""Cloth, sheets and leather as a job file has them."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field

from nesting.errors import JobError
from nesting.job.fields import (
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
from nesting.job.piece_table import Shape, ShapeTable

__all__ = [
    "ClothTable",
    "GoodsTable",
    "HideTable",
    "LeatherTable",
    "PrintTable",
    "RemnantTable",
    "SheetTable",
    "ShrinkageTable",
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
        description="none: parts may be turned by 180°; one-way: not at all; any: goods without "
        "grain, any turn (default: any for leather, one-way for prints, else none)",
    )
    spacing: Distance | None = Field(
        None, description="least distance between parts (default: 2 mm, leather 3 mm)"
    )
    turn_slack: Angle | None = Field(
        None, ge=0, le=180, description="how many degrees off the grain a part may lie (default: 0)"
    )
    faces_alike: bool = Field(
        False, description="both faces look the same: parts may be laid face down"
    )
    wrong_side_up: bool = Field(
        False,
        description="laid with the wrong (flesh) side up: parts are mirrored; hides are drawn as "
        "they lie",
    )
    substance: str = Field(
        "", max_length=80, description='what it is made of, for the cautions: "pvc", "cotton", …'
    )
    thickness: Size | None = Field(None, description="for the height of spreads")
    notes: str = Field("", description="for the reader of the file; not used")


class WidthTable(Table):
    """A width on sale."""

    booked: Size = Field(description="as sold")
    usable: Size | None = Field(None, description="what can be cut from")
    price: Price | None = Field(None, description="per metre or yard of length")


def _width(value: Any) -> Any:
    return value if isinstance(value, dict) else {"booked": value}


WidthField = Annotated[WidthTable, BeforeValidator(_width)]


class PrintTable(Table):
    """A print's repeat; a stripe has only one of the two."""

    along: Size | None = Field(None, description="repeat along the cloth")
    across: Size | None = Field(None, description="repeat across the cloth")
    drop: Share = Field(
        0.0, description="shift of every other column, as a share of the repeat: 0 or 0.5"
    )
    origin: Pair | None = Field(
        None,
        description="where a motif's middle lies, from the corner of the usable cloth "
        "(default: at the corner)",
    )
    drift: Distance | None = Field(
        None,
        description="how far a motif may lie from where the repeat says, as cloth is printed and "
        "stretches (default: 0): so much room is left about what is centred or matched, to move "
        "the template onto its motif before cutting",
    )
    off_centre: Distance = Field(
        0.0,
        description="how far a motif may lie off the middle of a piece that is centred on it, to "
        "save cloth; what is also matched to another piece is never off",
    )


class ShrinkageTable(Table):
    """Shares lost in washing."""

    along: MeasuredShare = Field(
        0.0, description='lengthwise: "5 %", 0.05, or lengths measured [before, after] washing'
    )
    across: MeasuredShare = Field(0.0, description="across")
    cut_larger: bool = Field(
        False,
        description="parts are cut larger and shrink to size; otherwise the cloth is washed "
        "before cutting and more of it is bought",
    )


def _shrinkage(value: Any) -> Any:
    return value if isinstance(value, dict) else {"along": value, "across": value}


class ClothTable(GoodsTable):
    """Cloth by the length."""

    width: Size | None = Field(None, description="as sold")
    usable: Size | None = Field(None, description="what can be cut from (default: less selvedges)")
    widths: Listed[WidthField] | None = Field(
        None, description="several widths on sale, to compare: lengths, or tables"
    )
    selvedge: Distance | None = Field(
        None, description="unusable edge on each side (default: 10 mm)"
    )
    price: Price | None = Field(None, description="per metre or yard of length")
    price_per: Literal["m", "yd"] = Field("m", description="what the price is for")
    ends: Distance | None = Field(
        None, description="allowance at each end of a lay (default: 10 mm)"
    )
    step: Size | None = Field(
        None,
        description="sold in steps of (default: 10 cm, or ⅛ yd if the job's unit is in, ft or yd)",
    )
    longest: Size | None = Field(None, description="longest lay: the table, or the piece to be had")
    shrinkage: Annotated[ShrinkageTable, BeforeValidator(_shrinkage)] | None = Field(
        None, description="share lost in washing: one for both ways, or a table (default: none)"
    )
    rolls: list[Size] = Field([], description="the lengths at hand; plies are laid from them")
    print: PrintTable | None = Field(None, description="a print to be matched or centred")
    fold: Literal["single", "folded"] = Field(
        "single", description="folded: lengthwise, right sides together; half the width is laid"
    )
    fold_print: bool = Field(
        False,
        description="fold a printed cloth although the print can't be seen between the plies and "
        "does not fall alike on both",
    )
    remnant: list[RemnantTable] = Field(
        [],
        description="left-overs, used first: all but what is centred or matched may be cut from "
        "them, and nothing while the cloth is folded",
    )


class ZoneTable(Shape):
    """A graded area of a hide."""

    name: str = Field("", max_length=60, description="butt, shoulder, neck, flank, belly…")
    grade: Literal["A", "B", "C", "D"] = Field(description="A best")
    tight: Angle | None = Field(None, description="direction of tightness (least stretch), degrees")
    slack: Angle | None = Field(
        None,
        ge=0,
        le=180,
        description="how far a part may turn from the direction of tightness (default: 15°)",
    )


class RemnantTable(Shape):
    """A left-over, used before new goods."""

    name: Name = Field(description="as on its label")
    material: str | None = Field(
        None, description="the [[cloth]], [[sheet]] or [[leather]] it belongs to"
    )
    hole: list[ShapeTable] = Field([], description="holes in it")
    grain: KnownGrain | None = Field(
        None,
        description="direction of the lengthwise grain in the drawing (default: along); from a "
        "left-over of unknown grain only pieces without one are cut (nap any)",
    )
    face: Literal["right", "wrong"] | None = Field(
        None, description="the face that is seen in the drawing (default: as the goods are laid)"
    )
    grade: Literal["A", "B", "C", "D"] | None = Field(
        None, description="of leather: the poorest grade on it, where no zones are drawn"
    )
    zone: list[ZoneTable] = Field([], description="of leather: graded areas, as of a hide")
    notes: str = Field("", description="for the reader of the file; not used")


class SheetTable(GoodsTable):
    """Sheets of one size."""

    size: Pair | None = Field(None, description="[along the grain, across]")
    count: int | None = Field(
        None, ge=0, le=100_000, description="how many at most (default: as many as needed)"
    )
    price: Price | None = Field(None, description="per sheet")
    margin: Distance | None = Field(
        None, description="how far parts stay off the edges (default: 0)"
    )
    remnant: list[RemnantTable] = Field([], description="left-overs, used first")


class HideTable(Shape):
    """One hide."""

    name: Name = Field(description="as on its tag")
    from_: str | None = Field(
        None,
        alias="from",
        description="a DXF or SVG file with the outline; flaws and zones are measured from its "
        "lower left corner",
    )
    piece: str | None = Field(None, description="the outline's name in that file")
    file_unit: str | None = Field(None, description="the unit of that file's numbers")
    hole: list[ShapeTable] = Field([], description="holes in it")
    flaw: list[ShapeTable] = Field([], description="scars, brands, holes: parts stay out of them")
    zone: list[ZoneTable] = Field([], description="graded areas; the rest has the poorest grade")
    guess_zones: Literal["hide", "side"] | None = Field(
        None,
        description="guess the zones and their tightness (along the backbone) from the outline, "
        "where none are drawn: of a whole hide, or of a side, cut along the backbone",
    )
    backbone: Angle = Field(0.0, description="direction of the backbone from tail to neck, degrees")


class LeatherTable(GoodsTable):
    """The hides at hand of one leather."""

    price: Price | None = Field(None, description="per area")
    price_per: Literal["m²", "dm²", "ft²"] = Field("m²", description="what the price is for")
    margin: Distance | None = Field(
        None, description="how far parts stay off edges and flaws (default: 5 mm)"
    )
    hide: list[HideTable] = Field(min_length=1, description="the hides")
