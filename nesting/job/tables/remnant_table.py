"""Left-overs as a job file has them, and the graded areas of leather."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from nesting.job.tables.fields import Angle, KnownGrain, Name
from nesting.job.tables.piece_table import Shape, ShapeTable

__all__ = ["RemnantTable", "ZoneTable"]


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
