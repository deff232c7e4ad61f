"""A picture of goods as a job file has it."""

from __future__ import annotations

from pydantic import Field

from nesting.job.tables.fields import Pair, Table

__all__ = ["PictureTable"]


class PictureTable(Table):
    """A picture of goods, from straight above."""

    file: str = Field(description="a PNG or JPEG file of at most 4 MB, seen from straight above")
    size: Pair = Field(description="how long and how high what it shows is")
    at: Pair | None = Field(
        None,
        description="where its lower left corner lies on the hide, or of a print measured from the "
        "middle of a motif (default: [0, 0]; of a print so that its middle is a motif's)",
    )
