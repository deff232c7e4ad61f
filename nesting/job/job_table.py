"""The cutting list, the bags and the whole job file."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AfterValidator, Field

from nesting.errors import JobError
from nesting.job.fields import (
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
)
from nesting.job.material_table import ClothTable, LeatherTable, NapWord, RemnantTable, SheetTable
from nesting.job.piece_table import PieceTable
from nesting.job.stock_table import AtHandField, BookTable

__all__ = [
    "BagTable",
    "CutTable",
    "HeadTable",
    "IncludeTable",
    "JobTable",
    "MatchTable",
    "NotionTable",
    "TableTable",
    "UnitWord",
]

UnitWord = Literal["mm", "cm", "m", "in", "ft", "yd"]


class MatchTable(Table):
    """The print runs on from this piece to another across a seam."""

    point: str = Field(description="this piece's named point, on its sewing line")
    piece: str = Field(description="the other piece")
    to: str = Field(description="the other piece's named point, which is sewn to it")
    left: str | None = Field(
        None,
        description="the other piece's named point that the left one of a pair is sewn to, if "
        "that is another",
    )


class CutTable(Table):
    """One line of the cutting list."""

    piece: str = Field(description="which piece")
    material: Listed[str] = Field(description="from which material, or materials")
    copies: int = Field(1, ge=1, le=100_000, description="how many per bag")
    pairs: bool = Field(
        False, description="each copy is a mirrored pair: one right (as drawn), one left"
    )
    reversed: bool = Field(
        False,
        description="each copy is the mirror image of the piece, its left one: one lining of an "
        "uneven flap, say",
    )
    trimmed: bool = Field(False, description="cut on the sewing line, without seam allowance")
    gap: Distance = Field(0.0, description="trimmed by this much more")
    rough_margin: Distance = Field(
        0.0, description="cut roughly, with this much more all round, for block fusing"
    )
    folded_back: bool = Field(False, description="the shorter variant")
    nap: NapWord | None = Field(None, description="overrides the material's")
    turn_slack: Angle | None = Field(
        None,
        ge=0,
        le=180,
        description="overrides the material's; on leather without a nap it overrides how far the "
        "zones let the piece turn from their direction of tightness",
    )
    grain: Grain = Field(
        0.0, description="turns the piece against the grain: across, bias or degrees"
    )
    centred: bool = Field(False, description="the print's motif is centred in it")
    matches: MatchTable | None = Field(None, description="the print runs on across a seam")
    grade: Literal["A", "B", "C", "D"] | None = Field(
        None, description="the poorest zone of a hide it accepts"
    )
    mates: Mates = Field(
        False,
        description="its copies are cut close together; or the piece that it is cut close to",
    )
    pieced: Distance | None = Field(
        None,
        description="it may be joined from several pieces, where it does not fit or where that "
        "saves cloth; how far each piece goes beyond the join: its seam allowance, or half the "
        "overlap",
    )
    joins: int = Field(
        1,
        ge=0,
        le=100,
        description="of what may be joined and would fit whole: most joins to save cloth, each of "
        "which has to save a step of it (0: only where it does not fit)",
    )


class NotionTable(Table):
    """Hardware and notions per bag."""

    name: str = Field(min_length=1, max_length=120, description="what")
    quantity: float = Field(1.0, gt=0, lt=1e9, description="how much of it per bag")
    unit: str = Field("", max_length=20, description="of what the quantity counts")
    price: Price | None = Field(None, description="for one")


class BagTable(Table):
    """One of several bags of an order."""

    name: Name = Field(description="as on labels and lists")
    count: int = Field(1, ge=1, le=1_000_000, description="how many are ordered")
    file: str | None = Field(
        None, description="its own job file; without one and without pieces, this file's own"
    )
    materials: dict[str, str] = Field(
        {}, description="colourway: which material plays the role of which"
    )
    piece: list[PieceTable] = Field([], description="its pieces")
    cut: list[CutTable] = Field([], description="its cutting list")
    notion: list[NotionTable] = Field([], description="its hardware and notions")


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
    """The table that an order is spread and cut on, and what counts besides cloth."""

    length: Size | None = Field(None, description="longest lay with its ends")
    bed: Bed | None = Field(
        None,
        description="the machine's, [along, across]: larger cloth, sheets and hides are cut in "
        "loads, no part across a border; in an order no marker is longer, no cloth wider",
    )
    plies: int = Field(1, ge=1, le=10_000, description="most plies of a spread")
    height: Size | None = Field(
        None, description="highest spread, for cloths whose thickness is known"
    )
    bags: int = Field(6, ge=1, le=1000, description="most bags in one marker")
    over: int = Field(0, ge=0, le=10_000, description="how many more than ordered may be made")
    spreading: Literal["face one way", "face to face"] = Field(
        "face one way",
        description="face to face: every other ply turned over, a right and a left at once",
    )
    spread_cost: Distance = Field(0.0, description="what setting up a spread is worth, in cloth")
    marker_cost: Distance = Field(0.0, description="what making a marker is worth, in cloth")
    cutting_cost: float = Field(
        0.0,
        ge=0,
        le=1000,
        description="what cutting is worth: cloth per length of a marker",
    )
    splice: Size | None = Field(
        None, description="longest overlap where cloth may be spliced; none if not given"
    )


class HeadTable(Table):
    """What holds for the whole job."""

    name: Name = Field(description="the job's name")
    unit: UnitWord = Field("mm", description="of lengths without one")
    currency: str = Field("", max_length=8, description="of all prices")
    bags: int | None = Field(None, ge=1, le=1_000_000, description="how many are made (default: 1)")
    notes: str = Field("", description="for the reader of the file; not used")


class JobTable(Table):
    """A Thriftlay job: what is made, of what, how often."""

    job: HeadTable = Field(description="the job itself")
    table: TableTable | None = Field(None, description="the table an order is spread and cut on")
    include: Listed[str] = Field([], description="files with more pieces and remnants")
    piece: list[PieceTable] = Field([], description="the pattern pieces")
    cloth: list[ClothTable] = Field([], description="materials by the length")
    sheet: list[SheetTable] = Field([], description="materials in sheets")
    leather: list[LeatherTable] = Field([], description="hides")
    remnant: list[RemnantTable] = Field([], description="left-overs, used first")
    cut: list[CutTable] = Field([], description="the cutting list")
    notion: list[NotionTable] = Field([], description="hardware and notions per bag")
    bag: list[BagTable] = Field([], description="several bags in one order")


class IncludeTable(Table):
    """A file that a job includes: pieces read from a pattern file, or a stock file."""

    unit: UnitWord = Field("mm", description="of lengths without one")
    piece: list[PieceTable] = Field([], description="pattern pieces")
    remnant: list[RemnantTable] = Field([], description="left-overs, used first")
    at_hand: dict[str, AtHandField] = Field(
        {},
        description="what there is, by the name of the material or notion: lengths of cloth (of "
        "the first width on sale, or with their width), numbers of sheets and notions",
    )
    book: BookTable = Field(
        BookTable.model_validate({}), description="plans taken off, written by `thriftlay done`"
    )

    @property
    def said_unit(self) -> str | None:
        """The unit of lengths without one, if the file says it."""
        return self.unit if "unit" in self.model_fields_set else None
