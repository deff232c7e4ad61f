"""Pages of a PDF that are nothing but pictures, taken at the pictures' own resolution."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Sequence
from typing import Any

from nesting.errors import PatternError
from nesting.limits import MOST_PIXELS
from nesting.reading.pdf import shot
from nesting.reading.pdf.apart import read_apart

__all__ = ["pictures_of"]

_MOST = 24
"""Pages that are taken: each may be as large as a photograph."""


def pictures_of(data: bytes, wanted: Sequence[int] = ()) -> dict[int, bytes]:
    """Return a PNG of each page that is a picture, of those that are wanted (from 1).

    Raises
    ------
    PatternError
        If one can't be had, or there are too many.

    """
    told, picture = _asked(data, wanted)
    if told.get("error") != "which":
        return {told.get("page", 1): _whole(told, picture)}
    found = told["found"]
    if len(found) > _MOST:
        raise PatternError(
            f"{len(found)} of its pages are pictures, and at most {_MOST} are read",
            field="pages",
            hint="say which: --pages of the command pieces",
        )
    return {number: _whole(*_asked(data, [number])) for number in found} or {
        1: _whole({"error": "none"}, b"")
    }


def _asked(data: bytes, wanted: Sequence[int]) -> tuple[dict[str, Any], bytes]:
    """Return what the other process says of the pages that are wanted."""
    try:
        done = read_apart(shot.__file__, data, wanted, pixels=MOST_PIXELS)
        head, _, picture = done.stdout.partition(b"\n")
        told = json.loads(head)
    except (subprocess.TimeoutExpired, ValueError):
        told, picture = {"error": "crash"}, b""
    return told, picture


def _whole(told: dict[str, Any], picture: bytes) -> bytes:
    """Return the picture, refuse if there is none."""
    if "error" in told or not picture:
        raise PatternError(
            "the picture in the PDF can't be read",
            hint="scan it as PNG or JPEG, or save it as one",
        )
    return picture
