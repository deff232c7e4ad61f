"""The cutting list on the page: what the drawing says is cut, and how it is taken over."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from tomlkit import TOMLDocument

from nesting.errors import JobError
from nesting.reading.wanted import Wanted, wanted

from .job_edits import added, cutting, listed, tables

if TYPE_CHECKING:
    from collections.abc import Callable

    from nesting.reading.pattern_file import Pattern

__all__ = ["EDITS", "drawing_says"]

Json = dict[str, Any]

_GOODS = ("cloth", "sheet", "leather")


def drawing_says(document: TOMLDocument, read: Callable[[Any], Pattern | None]) -> list[Json]:
    """Return what pattern files say is cut of pieces of which nothing is cut yet.

    `read`: gives the pattern that a piece's table comes from. ``goods``: the name of the job's
    goods that are called so, "" if none are.
    """
    cut = {str(table.get("piece")) for table in tables(document, "cut")}
    goods = {name.casefold(): name for name in _goods(document)}
    said: list[Json] = []
    for table in tables(document, "piece"):
        name = str(table.get("name"))
        pattern = None if name in cut else read(table)
        if pattern is None:
            continue
        called = str(table.get("piece", name))
        for found in pattern.found:
            if found.piece.name == called:
                said += [_row(name, line, goods) for line in wanted(found)]
    return said


def _row(name: str, line: Wanted, goods: dict[str, str]) -> Json:
    return {
        "piece": name,
        "copies": line.copies,
        "hand": "pairs" if line.pairs else "reversed" if line.reversed else "",
        "material": line.material,
        "goods": goods.get(line.material.casefold(), ""),
    }


def _goods(document: TOMLDocument) -> list[str]:
    return [str(one.get("name")) for kind in _GOODS for one in tables(document, kind)]


def taken_over(document: TOMLDocument, asked: Json) -> None:
    """Put lines into the cutting list; unknown goods become a cloth, to be filled in."""
    rows = asked.get("rows")
    if not isinstance(rows, list) or not rows:
        raise JobError("nothing was chosen to be taken over", hint="say from which goods")
    pieces = {str(table.get("name")) for table in tables(document, "piece")}
    for row in rows:
        piece, material = str(row["piece"]), str(row["material"]).strip()
        if piece not in pieces or not material:
            raise JobError("there is no such piece, or no goods are named for it")
        if material not in _goods(document):
            added(document, "cloth", {"name": material})
        same = [c for c in tables(document, "cut") if c.get("piece") == piece]
        if any(material in listed(c.get("material")) for c in same):
            added(document, "cut", _line(row, piece, material))  # another hand of the same goods
        else:
            cutting(document, {**row, "piece": piece, "material": material})


def _line(row: Json, piece: str, material: str) -> Json:
    line: Json = {"piece": piece, "material": material, "copies": int(row["copies"])}
    hand = row.get("hand")
    return line | ({hand: True} if hand in ("pairs", "reversed") else {})


EDITS = {"take over": taken_over}
"""What can be changed, and who does it."""
