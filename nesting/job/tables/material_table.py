"""What all materials have in a job file, and sheets."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field

from nesting.errors import JobError
from nesting.job.tables.fields import Angle, Distance, Name, Pair, Price, Size, Table
from nesting.job.tables.remnant_table import RemnantTable

__all__ = ["GoodsTable", "SheetTable"]

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
