"""The cutting list, the bags and the whole job file."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AfterValidator, ConfigDict, Field

from nesting.errors import JobError
from nesting.job.tables.cloth_table import ClothTable, StockPrintTable
from nesting.job.tables.fields import (
    Angle,
    Distance,
    Grain,
    Listed,
    Mates,
    Name,
    Pair,
    Price,
    Size,
    Table,
    UnitWord,
)
from nesting.job.tables.leather_table import LeatherTable, StockHideTable
from nesting.job.tables.material_table import NapWord, SheetTable
from nesting.job.tables.piece_table import PieceTable
from nesting.job.tables.remnant_table import RemnantTable
from nesting.job.tables.stock_table import AtHandField, BookTable

__all__ = [
    "BagTable",
    "CutTable",
    "HeadTable",
    "HeldTable",
    "IncludeTable",
    "JobTable",
    "MatchTable",
    "NotionTable",
    "PiecesTable",
    "SizesTable",
    "TableTable",
]


class MatchTable(Table):
    """Where the print runs on from this piece to another across a seam."""

    point: str = Field(description="a named point of this piece, on its sewing line")
    piece: str = Field(description="the piece on the other side of the seam")
    to: str = Field(description="the named point of that piece that is sewn onto `point`")
    left: str | None = Field(
        None,
        description="for the left piece of a mirrored pair: the named point that is sewn onto its"
        " `point`, if it is another than `to`",
    )


class CutTable(Table):
    """One line of the cutting list."""

    piece: str = Field(description="which piece is cut")
    material: Listed[str] = Field(
        description="from what; several materials get the same copies each"
    )
    copies: int = Field(1, ge=1, le=100_000, description="how many for one bag")
    pairs: bool = Field(
        False,
        description="each copy is a pair: one right (as drawn) and one left (its mirror image)",
    )
    reversed: bool = Field(
        False,
        description="only the mirror image is cut: the lining of an uneven flap, say",
    )
    trimmed: bool = Field(
        False,
        description="cut along the sewing line, without seam allowance: foam or stiffener that is"
        " not sewn in",
    )
    gap: Distance = Field(0.0, description="with `trimmed`: smaller still by this much all round")
    rough_margin: Distance = Field(
        0.0,
        description="larger by this much all round: cut roughly, fused with interfacing, then cut"
        " to shape",
    )
    folded_back: bool = Field(
        False, description="the shorter version of the piece (its `fold_back`)"
    )
    nap: NapWord | None = Field(None, description="for this line instead of what the material says")
    turn_slack: Angle | None = Field(
        None,
        ge=0,
        le=180,
        description="for this line instead of what the material says. On leather without a nap: "
        "instead of what the zones say about their direction of tightness",
    )
    grain: Grain = Field(
        0.0,
        description="turns the piece on the goods, for a bias-cut binding, say: across, bias or "
        "degrees. On the bias either diagonal of the piece may lie along the grain (not with a "
        "one-way nap), and along a hide's direction of tightness",
    )
    centred: bool = Field(False, description="each copy has the print's motif in its middle")
    matches: MatchTable | None = Field(
        None, description="the print runs on from this piece to another across a seam"
    )
    grade: Literal["A", "B", "C", "D"] | None = Field(
        None, description="leather: the poorest grade that will do"
    )
    mates: Mates = Field(
        False,
        description="true: its copies are cut from neighbouring places of the goods, so that they"
        " look and stretch alike; or the name of the piece whose copies they are cut "
        "beside",
    )
    pieced: Distance | None = Field(
        None,
        description="it may be sewn together from shorter pieces, if it doesn't fit whole or if "
        "that saves cloth. So much is added at each side of a join: the seam "
        "allowance there, or half of an overlap",
    )
    joins: int = Field(
        1,
        ge=0,
        le=100,
        description="if it would fit whole: how many joins you will sew to save cloth. Each has "
        "to save at least one `step` of it (0: it is joined only where it does not "
        "fit)",
    )


class SizesTable(Table):
    """What the head of a job file says of sizes, whatever else is in it."""

    model_config = ConfigDict(extra="ignore")

    sizes: list[str] = Field([])
    size: str | None = Field(None)


class PiecesTable(Table):
    """The pieces of a job file alone, whatever else is in it."""

    model_config = ConfigDict(extra="ignore")

    job: SizesTable = Field(SizesTable.model_validate({}))
    include: Listed[str] = Field([])
    piece: list[PieceTable] = Field([])


class NotionTable(Table):
    """What else one bag takes: buckles, thread, a zip."""

    name: str = Field(min_length=1, max_length=120, description="what it is")
    quantity: float = Field(1.0, gt=0, lt=1e9, description="how much of it one bag takes")
    unit: str = Field(
        "", max_length=20, description='what is counted: "m", "spool"; nothing for single things'
    )
    price: Price | None = Field(None, description="for one")


class BagTable(Table):
    """One of several bags of an order."""

    name: Name = Field(description="as on labels and lists")
    count: int = Field(1, ge=1, le=1_000_000, description="how many are ordered")
    file: str | None = Field(
        None,
        description="its own job file. Without one, and without pieces of its own, it is the bag "
        "of this file",
    )
    materials: dict[str, str] = Field(
        {},
        description='colourway: `{ "outer canvas" = "canvas, rust" }` cuts from canvas, rust what'
        " its file cuts from outer canvas",
    )
    piece: list[PieceTable] = Field(
        [], description="its pieces, if they are not in a file of their own"
    )
    cut: list[CutTable] = Field([], description="its cutting list")
    notion: list[NotionTable] = Field([], description="what else it takes")


def _large_enough(bed: tuple[float, float]) -> tuple[float, float]:
    if min(bed) < SMALLEST_BED:
        raise JobError(
            f"a bed measures at least {SMALLEST_BED:g} mm each way", hint="give [along, across]"
        )
    return bed


SMALLEST_BED = 50.0
"""Below this (mm) it is no bed, but a slip of the pen."""

Bed = Annotated[Pair, AfterValidator(_large_enough)]


class TableTable(Table):
    """The table on which cloth is spread in plies and cut, and what work is worth beside cloth."""

    length: Size | None = Field(
        None, description="how long the table is: no marker with its ends is longer"
    )
    bed: Bed | None = Field(
        None,
        description="how much your cutting machine can reach, [along, across]. What is larger is "
        "cut in loads, one after another, and no part lies across the border of two. "
        "In an order no marker is longer than the bed and no cloth wider",
    )
    plies: int = Field(
        1, ge=1, le=10_000, description="how many layers of cloth you cut through at once, at most"
    )
    height: Size | None = Field(
        None,
        description="how high the layers may lie together, for cloths whose thickness is known",
    )
    bags: int = Field(6, ge=1, le=1000, description="how many bags share a marker, at most")
    over: int = Field(
        0, ge=0, le=10_000, description="how many bags of a kind may be made more than were ordered"
    )
    spreading: Literal["face one way", "face to face"] = Field(
        "face one way",
        description="face one way: the right side of every ply is up. face to face: every other "
        "ply is turned over, so that a right and a left piece are cut at once",
    )
    spread_cost: Distance = Field(
        0.0, description="how much cloth you would give to save spreading once more"
    )
    marker_cost: Distance = Field(
        0.0, description="how much cloth you would give to save making another marker"
    )
    cutting_cost: float = Field(
        0.0,
        ge=0,
        le=1000,
        description="how much cloth cutting counts for, as a share of the marker's length, "
        "however many plies are cut at once: 0.1 counts 20 cm for a marker of 2 m",
    )
    splice: Size | None = Field(
        None,
        description="where a roll ends within a ply, the next may begin if the two overlap by no "
        "more than this (default: a ply is always of one roll)",
    )


class HeadTable(Table):
    """What holds for the whole job."""

    name: Name = Field(description="what the job is called")
    unit: UnitWord = Field(
        "mm", description="the unit of numbers without one; the report answers in it too"
    )
    currency: str = Field(
        "", max_length=8, description="of all prices, as it is written beside them"
    )
    bags: int | None = Field(
        None, ge=1, le=1_000_000, description="how many bags are made (default: 1)"
    )
    sizes: list[Annotated[str, Field(min_length=1, max_length=20)]] = Field(
        [],
        max_length=30,
        description='the sizes that the pattern is handed out in, smallest first: `["S", "M"]`. A'
        " piece says with `sized` and `in_size` what it is in each",
    )
    size: str | None = Field(
        None, description="which of these sizes is made and laid (default: the first)"
    )
    notes: str = Field("", description="for the reader of the file; not used")


class HeldTable(Table):
    """A part that stays where you put it; all else is laid round it."""

    material: str = Field(description="on the marker of which material")
    piece: str = Field(description="of which piece it is")
    at: Pair = Field(
        description="where the lower left corner of the part is, as it lies: along and across the"
        " goods, as the rulers of the marker show it"
    )
    turn: Angle | None = Field(
        None,
        description="by how much it is turned, counter-clockwise, from lying with its grain along"
        " the goods, top to the right (default: as its rules have it first)",
    )
    mirrored: bool = Field(False, description="it lies face down")
    copy_: int = Field(1, ge=1, alias="copy", description="which copy of it")
    hand: Literal["left", "right"] | None = Field(None, description="which one of a pair")
    variant: str = Field(
        "",
        max_length=200,
        description='where the piece is cut in several ways from it: "trimmed", say, as the report'
        ' has it, or "plain"',
    )
    bag: str | None = Field(None, description="of which bag, if there are several kinds")
    number: int = Field(1, ge=1, description="of which of these bags, if several are made")
    on: str = Field(
        "",
        max_length=120,
        description="of sheets and leather: the left-over or the hide it lies on",
    )
    sheet: int = Field(1, ge=1, le=100_000, description="which of the sheets that are alike")


class JobTable(Table):
    """A Thriftlay job: what is made, of what, how often."""

    job: HeadTable = Field(description="what the job is called, its unit, how many bags")
    table: TableTable | None = Field(None, description="your cutting table or machine")
    include: Listed[str] = Field([], description="other files whose pieces and left-overs are used")
    piece: list[PieceTable] = Field([], description="the pattern pieces")
    cloth: list[ClothTable] = Field([], description="what is sold by the length")
    sheet: list[SheetTable] = Field([], description="what is sold in sheets: foam, cork, stiffener")
    leather: list[LeatherTable] = Field([], description="what comes in hides")
    remnant: list[RemnantTable] = Field([], description="left-overs, used before new goods")
    cut: list[CutTable] = Field([], description="which piece is cut from which material, how often")
    notion: list[NotionTable] = Field(
        [], description="what else one bag takes: buckles, thread, a zip"
    )
    bag: list[BagTable] = Field([], description="the bags of an order, if there are several kinds")
    held: list[HeldTable] = Field([], description="parts that stay where you put them")


class IncludeTable(Table):
    """A file that a job includes: pieces read from a pattern file, or a stock file."""

    unit: UnitWord = Field("mm", description="the unit of numbers without one")
    piece: list[PieceTable] = Field([], description="pattern pieces")
    remnant: list[RemnantTable] = Field([], description="left-overs, used before new goods")
    hide: list[StockHideTable] = Field(
        [], description="hides on the shelf, used before others; keys as of [[leather.hide]]"
    )
    print: list[StockPrintTable] = Field(
        [],
        description="prints of cloths that have none in the job: keys as of `print` of a cloth, the"
        " `material` it is on, and its `nap`; written by `thriftlay repeat`",
    )
    at_hand: dict[str, AtHandField] = Field(
        {},
        description="what lies on your shelf, by the name of the material or notion: lengths of "
        "cloth (of the first width on sale, unless a width is given), how many "
        "sheets, how many of a notion",
    )
    book: BookTable = Field(
        BookTable.model_validate({}),
        description="plans that were taken off this stock already; written by `thriftlay done`",
    )

    @property
    def said_unit(self) -> str | None:
        """The unit of lengths without one, if the file says it."""
        return self.unit if "unit" in self.model_fields_set else None
