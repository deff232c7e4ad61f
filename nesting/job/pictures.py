"""Pictures of goods that a job names: read within bounds, and only if they are what they say."""

from __future__ import annotations

import base64
import struct

from nesting.bounded import bytes_of
from nesting.errors import JobError
from nesting.job.desk import Desk
from nesting.job.locate import Place
from nesting.job.tables.picture_table import PictureTable
from nesting.limits import LARGEST_GROUND, MOST_GROUND_PIXELS
from nesting.material.picture import Picture
from nesting.pattern.path import Point

__all__ = ["picture_from"]

_PNG, _JPEG = b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff"


def picture_from(
    table: PictureTable | None, place: Place, desk: Desk, *, middle: bool = False
) -> Picture | None:
    """Return a picture of goods; `middle`: it lies about a point, unless it says where."""
    if table is None:
        return None
    path = desk.path(table.file, (*place, "file"))
    with desk.at((*place, "file")):
        data = bytes_of(path, most=LARGEST_GROUND, what="a picture", error=JobError)
        kind, (wide, high) = _known(data)
        if not 0 < wide * high <= MOST_GROUND_PIXELS:
            raise JobError(
                f"the picture has {wide} × {high} pixels", hint="make it smaller: 2000 are plenty"
            )
    length, width = table.size
    if not (length > 0.0 and width > 0.0):
        raise desk.error("a picture of no size shows nothing", (*place, "size"))
    at: Point = (-0.5 * length, -0.5 * width) if middle else (0.0, 0.0)
    return Picture(
        kind=kind,
        data=base64.b64encode(data).decode("ascii"),
        size=(length, width),
        at=at if table.at is None else table.at,
    )


def _known(data: bytes) -> tuple[str, tuple[int, int]]:
    """Return the kind of picture, and how many pixels it has along and across."""
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
