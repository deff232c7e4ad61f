"""A job that is made on the page: patterns dropped, goods named, pieces cut from them."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pydantic import TypeAdapter

import nesting
from nesting.amounts import Amounts
from nesting.errors import JobError, NestingError, PatternError
from nesting.job.tables.fields import Grain
from nesting.reading.listing import headline, list_pieces
from nesting.whole import whole_file
from nesting.writing.files import file_name, one_line
from nesting.writing.pages.live_pieces import live_piece

from .job_edits import EDITS, GOODS, added, listed, put, tables
from .job_file import JobFile
from .keeping import mark_of

if TYPE_CHECKING:
    from nesting.reading.pattern_file import Pattern

__all__ = ["PATTERNS", "dropped", "edited", "kept_file", "making"]

Json = dict[str, Any]

PATTERNS = (".dxf", ".svg", ".pdf")
_MOST = 300
"""Files of one folder that are taken."""


def kept_file(folder: Path, name: str, data: bytes) -> Path:
    """Keep a file that was dropped, under its own name as far as that is safe and free.

    Raises
    ------
    JobError
        It is of no kind that is read, or there are too many.

    """
    stem, dot, suffix = name.rpartition(".")
    kind = f".{suffix.lower()}" if dot else ""
    if kind not in (*PATTERNS, ".toml"):
        raise JobError(
            f"{one_line(name)[:80]} is neither a pattern nor a job",
            hint=f"drop {', '.join(PATTERNS)} or a job file (.toml)",
        )
    if not data:
        raise JobError(f"{one_line(name)[:80]} is empty", hint="save it again")
    there = [path for path in folder.iterdir() if path.is_file()]
    if len(there) > _MOST:
        raise JobError("so many files lie in the folder already", hint="start in another one")
    for path in there:
        alike = path.suffix.lower() == kind and path.stat().st_size == len(data)
        if alike and path.read_bytes() == data:
            return path  # the same one again
    taken = [path.stem for path in there if path.suffix.lower() == kind]
    path = folder / f"{file_name(stem, taken=taken)}{kind}"
    with whole_file(path) as temporary:
        temporary.write_bytes(data)
    return path


def dropped(file: JobFile, path: Path, *, unit: str | None, begun: bool = False) -> Json:
    """Take the pieces of a pattern file into a job; says how the file was understood.

    `begun`: the job begins with this file, so it is in inches if the file is.
    Where the unit is not sure nothing is taken, and the page is told to ask for it.
    """
    try:
        pattern = nesting.read_pattern(path, unit=unit)
    except PatternError as error:
        return {"file": path.name, "trouble": str(error), "units": ["mm", "cm", "in", "px", "pt"]}
    faults = [f.text for f in pattern.findings if f.severity == "fault"]
    if not faults:
        inches = begun and pattern.amounts.inches
        file.change(lambda document: _taken(document, path, pattern, unit, inches=inches))
    return {
        "file": path.name,
        "said": headline(pattern, pattern.amounts),
        "largest": pattern.amounts.sizes(*pattern.largest),
        "notes": [f.text for f in pattern.findings if f.severity != "fault"],
        "trouble": "; ".join(faults),
        "units": [],
    }


def _taken(document: Any, path: Path, pattern: Pattern, unit: str | None, *, inches: bool) -> None:
    if inches:
        document["job"]["unit"] = "in"
    held = {str(table.get("name")) for table in tables(document, "piece")}
    for row in list_pieces(pattern):
        name, number = row.name, 2
        mine = [t for t in tables(document, "piece") if t.get("from") == path.name]
        same = [table for table in mine if table.get("piece", table.get("name")) == row.name]
        for table in same:
            put(table, "file_unit", unit)
        if same:
            continue
        while name in held:
            name, number = f"{row.name} {number}", number + 1
        held.add(name)
        values: Json = {"name": name, "from": path.name}
        if name != row.name:
            values["piece"] = row.name
        if unit is not None:
            values["file_unit"] = unit
        added(document, "piece", values)


def edited(file: JobFile, asked: Json) -> None:
    """Change a job file as a page asks."""
    edit = EDITS.get(str(asked.get("what")))
    if edit is None:
        raise JobError("that can't be changed here")
    file.change(lambda document: edit(document, asked))


def making(file: JobFile) -> Json:
    """Return all that the page shows of a job file: pieces, materials, what is cut of what."""
    document = file.document
    head = document.get("job", {})
    pieces = _pieces(file)
    return {
        "name": str(head.get("name", "")),
        "unit": str(head.get("unit", "mm")),
        "currency": str(head.get("currency", "")),
        "bags": int(head.get("bags", 1)),
        "file": file.path.name,
        "ready": file.ready,
        "trouble": file.trouble,
        "pieces": pieces,
        "goods": [
            {
                "kind": kind,
                "index": index,
                **{key: _plain(table.get(key)) for key in keys},
                "widths": "widths" in table,
            }
            for kind, keys in GOODS.items()
            for index, table in enumerate(tables(document, kind))
        ],
        "others": [str(table.get("name")) for table in tables(document, "leather")],
        "cuts": [
            {
                "piece": str(cut.get("piece")),
                "material": material,
                "copies": int(cut.get("copies", 1)),
                "hand": "pairs" if cut.get("pairs") else "reversed" if cut.get("reversed") else "",
                "more": sorted(set(cut) - {"piece", "material", "copies", "pairs", "reversed"}),
            }
            for cut in tables(document, "cut")
            for material in listed(cut.get("material"))
        ],
    }


def _plain(value: Any) -> str:
    if isinstance(value, list):
        return " x ".join(map(_plain, value))
    return "" if value is None else str(value)


def _pieces(file: JobFile) -> list[Json]:
    """Return the pieces, drawn where they can be read."""
    document = file.document
    rows = []
    drawn = {} if file.job is None else {p.name: p for bag in file.job.bags for p in bag.pieces}
    mine = {str(table.get("name")): table for table in tables(document, "piece")}
    for name in dict.fromkeys([*mine, *drawn]):
        table = mine.get(name)
        piece = drawn.get(name)
        if piece is None and table is not None:
            piece = _read(file.path.parent, table)
        picture: Json | None = None if piece is None else live_piece(piece)
        row: Json = {
            "name": name,
            "from": "" if table is None else str(table.get("from", "")),
            "mine": table is not None,
            "drawn": picture,
            "size": "" if picture is None else _size(document, picture),
            "grain": "" if piece is None else f"{piece.grain % 360.0:g}",
            "up": piece is not None and piece.up_known,
        }
        rows.append(row)
    return rows


def _size(document: Any, drawn: Json) -> str:
    """Return how large a piece is as it is drawn, in the job's units."""
    _, _, wide, high = drawn["box"]
    return Amounts(str(document.get("job", {}).get("unit", "mm"))).sizes(wide, high)


def _read(folder: Path, table: Any) -> Any:
    """Return a piece of a pattern file; None if it can't be read, which the job says."""
    name = table.get("from")
    if not isinstance(name, str) or "/" in name or "\\" in name:
        return None
    try:
        path = folder / name
        unit = table.get("file_unit")
        pattern = _pattern(path, mark_of(path), None if unit is None else str(unit))
        piece = pattern.piece(str(table.get("piece", table.get("name"))))
        if "grain" not in table:
            return piece
        grain = TypeAdapter(Grain).validate_python(table["grain"])
        return replace(piece, grain=grain, up_known=table.get("up_known", True) is True)
    except (NestingError, ValueError):
        return None


@lru_cache(maxsize=32)
def _pattern(path: Path, mark: str, unit: str | None) -> Pattern:
    return nesting.read_pattern(path, unit=unit)
