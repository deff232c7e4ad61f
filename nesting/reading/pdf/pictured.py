"""A page of a PDF that is nothing but a picture, taken at the picture's own resolution."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path as FilePath

from nesting.errors import PatternError
from nesting.limits import LONGEST_PDF, MOST_PDF_MEMORY, MOST_PDF_PAGES, MOST_PIXELS
from nesting.reading.pdf import shot

__all__ = ["picture_of"]


def picture_of(data: bytes, wanted: Sequence[int] = ()) -> bytes:
    """Return a PNG of the one page that is a picture, of those that are wanted (from 1).

    Raises
    ------
    PatternError
        If it can't be had, or there are several.

    """
    limits = {
        "wanted": list(wanted),
        "pages": MOST_PDF_PAGES,
        "pixels": MOST_PIXELS,
        "memory": MOST_PDF_MEMORY,
        "cpu": LONGEST_PDF,
    }
    try:
        done = subprocess.run(
            [sys.executable, "-P", str(FilePath(shot.__file__)), json.dumps(limits)],
            input=data,
            capture_output=True,
            timeout=4 * LONGEST_PDF,
            check=False,
        )
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
