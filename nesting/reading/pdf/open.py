"""A PDF opened by a process of its own, within bounds of time and memory."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Sequence
from typing import Any

from nesting.errors import PatternError
from nesting.limits import (
    LONGEST_PDF,
    MOST_PDF_MEMORY,
    MOST_PDF_PAGES,
    MOST_PDF_POINTS,
    MOST_PDF_THINGS,
)
from nesting.reading.pdf import child
from nesting.reading.pdf.apart import read_apart
from nesting.reading.pdf.page import Page, page_of

__all__ = ["is_pdf", "pages_of"]

_HEAD = 1024
"""How far behind its beginning a file may say that it is PDF (ISO 32000-1, annex H, 3.4.1)."""
_PRINT = "print it from its program as a new PDF, or ask its seller for another file"


def is_pdf(data: bytes) -> bool:
    """Tell whether a file says that it is PDF."""
    return b"%PDF-" in data[:_HEAD]


def pages_of(data: bytes, wanted: Sequence[int] = ()) -> list[Page]:
    """Return the pages of a file, or those that are wanted (from 1).

    Raises
    ------
    PatternError
        If the file is locked, broken, or beyond the limits.

    """
    answer = _asked(data, wanted)
    trouble = answer.get("error")
    if trouble:
        raise _refusal(trouble, answer, wanted)
    return [page_of(page) for page in answer["pages"]]


def _asked(data: bytes, wanted: Sequence[int]) -> dict[str, Any]:
    try:
        done = read_apart(
            child.__file__, data, wanted, things=MOST_PDF_THINGS, points=MOST_PDF_POINTS
        )
    except subprocess.TimeoutExpired:
        return {"error": "endless"}
    try:
        answer = json.loads(done.stdout)
    except ValueError:
        slow = done.returncode in (-9, -24)  # how a process ends that used up its time
        return {"error": "endless" if slow else "crash"}
    return answer if isinstance(answer, dict) else {"error": "crash"}


def _refusal(trouble: str, answer: dict[str, Any], wanted: Sequence[int]) -> PatternError:
    where = f"page {answer['page']}" if "page" in answer else None
    if trouble == "locked":
        return PatternError(
            "the file is locked with a password",
            hint="open it with the password and save it without one",
        )
    if trouble == "page":
        count = answer["pages"]
        return PatternError(
            f"the file has {count} page{'s' if count != 1 else ''}, and no page {max(wanted)}",
            field="pages",
            hint="name pages that it has",
        )
    if trouble == "pages":
        return PatternError(
            f"the file has {answer['pages']:,} pages, and at most {MOST_PDF_PAGES} are read",
            hint="say which, such as 3-14 (--pages of the command pieces)",
        )
    if trouble == "much":
        return PatternError(
            f"the file draws more than {MOST_PDF_THINGS:,} things, or {MOST_PDF_POINTS:,} points",
            field=where,
            hint="leave pages out (--pages of the command pieces), and pictures made of lines",
        )
    if trouble == "endless":
        return PatternError(
            f"reading it takes more than {LONGEST_PDF} s: no pattern does", hint=_PRINT
        )
    if trouble == "memory":
        return PatternError(
            f"reading it takes more than {MOST_PDF_MEMORY // 10**9} GB: no pattern does",
            hint=_PRINT,
        )
    if trouble == "crash":
        return PatternError("the PDF is so broken that its reader gave up", hint=_PRINT)
    return PatternError("the PDF is broken", field=where, hint=_PRINT)
