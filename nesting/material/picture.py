"""A picture of goods, which lies under the marker."""

from __future__ import annotations

import struct
from dataclasses import dataclass

from nesting.errors import JobError
from nesting.pattern.path import Affine, Point
from nesting.shown import Brief

__all__ = ["Picture", "kind_and_size"]


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Picture(Brief):
    """What goods look like from above, at true scale.

    `kind`: "png" or "jpeg". `data`: the file in base64, so that a stored plan has all of it.
    `size`: how long and how high it is (mm). `at`: where its lower left corner lies (mm), as the
    goods are drawn; of a print from the middle of a motif.
    """

    kind: str
    data: str
    size: Point
    at: Point = (0.0, 0.0)

    @property
    def uri(self) -> str:
        """The picture as an address that holds it."""
        return f"data:image/{self.kind};base64,{self.data}"

    @property
    def place(self) -> Affine:
        """The map from its own axes (mm, y downwards from its upper left corner) to the goods'."""
        return Affine(d=-1.0, e=self.at[0], f=self.at[1] + self.size[1])


_PNG, _JPEG = b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff"


def kind_and_size(data: bytes) -> tuple[str, tuple[int, int]]:
    """Return the kind of picture a file is, and how many pixels it has along and across.

    Raises
    ------
    JobError
        It is neither PNG nor JPEG.

    """
    if data.startswith(_PNG) and data[12:16] == b"IHDR" and len(data) > 24:
        wide, high = struct.unpack(">II", data[16:24])
        return "png", (wide, high)
    if data.startswith(_JPEG) and (size := _jpeg_size(data)) is not None:
        return "jpeg", size
    raise JobError("this is no picture in PNG or JPEG", hint="save it as one of these")


def _jpeg_size(data: bytes) -> tuple[int, int] | None:
    """Return the size that the start-of-frame segment says (ITU-T T.81, B.2.2)."""
    at = 2
    while at + 9 <= len(data) and data[at] == 0xFF:
        marker, length = data[at + 1], int.from_bytes(data[at + 2 : at + 4])
        if 0xC0 <= marker <= 0xCF and marker not in (0xC4, 0xC8, 0xCC):
            high, wide = struct.unpack(">HH", data[at + 5 : at + 9])
            return wide, high
        at += 2 + length
    return None
