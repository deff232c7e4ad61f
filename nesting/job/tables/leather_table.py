"""Leather as a job file has it: its hides, with flaws and zones."""

from __future__ import annotations

import hashlib
from typing import Literal

from pydantic import Field

from nesting.job.tables.fields import Angle, Distance, Name, Price
from nesting.job.tables.material_table import GoodsTable
from nesting.job.tables.picture_table import PictureTable
from nesting.job.tables.piece_table import Shape, ShapeTable
from nesting.job.tables.remnant_table import RemnantTable, ZoneTable

__all__ = ["HideTable", "LeatherTable", "StockHideTable", "stock_id"]


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
    picture: PictureTable | None = Field(
        None, description="a picture of it, drawn under the marker; `thriftlay hide` makes one"
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

    What a job calls it, and what else is written about it meanwhile, is no part of that, nor
    what it doesn't say: a field that shapes get some day makes no other remnant of it.
    """
    said = {"name", "material", *Shape.model_fields}
    drawn = table.model_dump_json(include=said, exclude_none=True)
    return hashlib.sha256(drawn.encode()).hexdigest()[:16]
