"""A page of a PDF that is nothing but a picture, taken at the picture's own resolution."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Sequence

from nesting.errors import PatternError
from nesting.limits import MOST_PIXELS
from nesting.reading.pdf import shot
from nesting.reading.pdf.apart import read_apart

__all__ = ["picture_of"]


def picture_of(data: bytes, wanted: Sequence[int] = ()) -> bytes:
    """Return a PNG of the one page that is a picture, of those that are wanted (from 1).

    Raises
    ------
    PatternError
        If it can't be had, or there are several.

    """
    try:
        done = read_apart(shot.__file__, data, wanted, pixels=MOST_PIXELS)
        head, _, picture = done.stdout.partition(b"\n")
        told = json.loads(head)
    except (subprocess.TimeoutExpired, ValueError):
        told, picture = {"error": "crash"}, b""
    if told.get("error") == "which":
        pages = ", ".join(str(number) for number in told["found"][:12])
        raise PatternError(
            f"several of its pages are pictures: {pages}",
            field="pages",
            hint="say which one: --pages of the command pieces; each is read by itself",
        )
    if "error" in told or not picture:
        raise PatternError(
            "the picture in the PDF can't be read",
            hint="scan it as PNG or JPEG, or save it as one",
        )
    return picture
