"""The sizes of a job: which there are, which one is made, which pieces a file holds in each."""

from __future__ import annotations

from typing import Any

from tomlkit import TOMLDocument

from .job_edits import put
from .piece_edits import piece_table

__all__ = ["EDITS", "made", "sizes"]

Json = dict[str, Any]


def made(document: TOMLDocument) -> str:
    """Return the size that is made; "" if the job has none."""
    head = document.get("job", {})
    names = [str(name) for name in head.get("sizes", [])]
    return str(head.get("size", names[0] if names else ""))


def sizes(document: TOMLDocument, asked: Json) -> None:
    """Say which sizes there are, smallest first, and which of them is made."""
    told = asked.get("sizes")
    names = told if isinstance(told, list) else str(told or "").split(",")
    names = [name for name in (str(one).strip() for one in names) if name]
    head, size = document["job"], str(asked.get("size") or "").strip()
    if list(head.get("sizes", [])) != names:
        put(head, "sizes", names or None)
    if size not in names:
        put(head, "size", None)
    elif size != made(document):
        put(head, "size", size)


def sized(document: TOMLDocument, asked: Json) -> None:
    """Say whether a piece's file holds it in each size of the job."""
    table = piece_table(document, asked)
    put(table, "sized", asked.get("sized") is True)
    if asked.get("sized") is True:
        put(table, "size", None)


EDITS = {"sizes": sizes, "sized": sized}
"""What can be changed, and who does it."""
