"""What the page changes of a piece of a job file: edges, marks; pieces drawn by their sizes."""

from __future__ import annotations

from typing import Any

import tomlkit
from tomlkit import TOMLDocument
from tomlkit.items import AoT, Item, Table

from nesting.errors import JobError
from nesting.job.by_hand.own_drawing import OF_A_FILE
from nesting.job.by_hand.reshaping import SHAPES
from nesting.units import length

from .job_edits import added, comment_of, put, tables

__all__ = ["EDITS", "MARK_KEYS", "marks_of", "piece_table", "plain_value"]

Json = dict[str, Any]

PLACES = ("at", "from_centre", "edge", "along", "in")
MARK_KEYS = (
    *(
        "kind",
        "name",
        *PLACES,
        "points",
        "outline",
        "rectangle",
        "size",
        "width",
        "style",
        "text",
        "angle",
        "mirrored",
    ),
    *("copies", "hands", "materials", "face"),
)
"""The keys of a mark that the page changes."""
_USUAL = {"face": "right", "style": "slit"}
"""What is meant without saying it."""


def piece_table(document: TOMLDocument, asked: Json) -> Table:
    """Return the table of the piece that is asked for."""
    for table in tables(document, "piece"):
        if table.get("name") == asked.get("piece"):
            return table
    raise JobError("that piece stands in another file", hint="change it there")


def marks_of(table: Table) -> list[Table]:
    """Return the tables of a piece's marks."""
    found = table.get("mark", [])
    return list(found) if isinstance(found, AoT) else []


def plain_value(value: Any) -> Any:
    """Return a length or a number as the file has it: a number where a number was typed."""
    if isinstance(value, list):
        return [plain_value(one) for one in value]
    text = str(value).strip()
    try:
        number = float(text.replace(",", "."))
    except ValueError:
        return text
    return int(number) if number.is_integer() and abs(number) < 1e9 else number


def edge(document: TOMLDocument, asked: Json) -> None:
    """Say how wide the allowance of an edge is (of all with 0), or that it lies on the fold."""
    table, number = piece_table(document, asked), int(asked["edge"])
    if "fold" in asked:
        put(table, "fold_edge", number if asked["fold"] is True else None)
        if asked.get("others") and "seam_allowance" not in table:
            table["seam_allowance"] = _inline(asked["others"])
    if "allowance" in asked:
        _allow(table, number, asked)


def _allow(table: Table, number: int, asked: Json) -> None:
    """Write an allowance; what was not said of the others stays as it is shown."""
    said = table.get("seam_allowance")
    width = plain_value(asked["allowance"])
    if number == 0:
        put(table, "seam_allowance", None if width == "" else width)
        return
    if isinstance(said, dict):
        widths = {str(key): value for key, value in said.items()}
    else:
        widths = dict(asked["others"]) if said is None else {"all": said}
    names = {str(n): name for name, n in asked["names"].items()}
    widths.pop(names.get(str(number), ""), None)
    widths[str(number)] = 0 if width == "" else width
    if isinstance(said, dict):
        _changed(said, widths)
    else:
        table["seam_allowance"] = _inline(widths)


def _inline(values: Json) -> Any:
    new = tomlkit.inline_table()
    for key, value in values.items():
        new[key] = value
    return new


def _changed(said: Any, widths: Json) -> None:
    for key in [key for key in said if str(key) not in widths]:
        del said[key]
    for key, value in widths.items():
        if said.get(key) != value:
            said[key] = value


def line(document: TOMLDocument, asked: Json) -> None:
    """Say which line was drawn: the one to cut along, or the one to sew along."""
    put(piece_table(document, asked), "line", asked.get("line") or None)


def mark(document: TOMLDocument, asked: Json) -> None:
    """Add a mark to a piece, or change one of its own."""
    table, index = piece_table(document, asked), asked.get("index")
    if index is None:
        one = tomlkit.table()
        one.indent(4)
    else:
        one = marks_of(table)[int(index)]
    keys = {key: value for key, value in asked["keys"].items() if key in MARK_KEYS}
    if any(key in keys for key in PLACES):
        for key in PLACES:
            if key in one and key not in keys:
                one.remove(key)
    for key, value in keys.items():
        put(one, key, None if value in ([], _USUAL.get(key)) else value)
    if index is None:
        _appended(table, one)


def _appended(table: Table, one: Table) -> None:
    one.add(tomlkit.nl())
    if "mark" not in table:
        table.append("mark", tomlkit.aot())
    table["mark"].append(one)


def own(document: TOMLDocument, asked: Json) -> None:
    """Draw a piece of a pattern file in the job itself; see `drawn_here`."""
    table = piece_table(document, asked)
    for key in OF_A_FILE:
        put(table, key, None)
    for key, value in asked["keys"].items():
        if key == "up_known":
            if value is False:
                table[key] = False
        elif isinstance(value, dict):
            table[key] = _inline(value)
        else:
            table[key] = value
    for keys in asked["marks"]:
        one = tomlkit.table()
        one.indent(4)
        for key, value in keys.items():
            put(one, key, None if value in ([], _USUAL.get(key)) else value)
        _appended(table, one)


def unmarked(document: TOMLDocument, asked: Json) -> None:
    """Take a mark out of a piece."""
    table, index = piece_table(document, asked), int(asked["index"])
    if len(marks_of(table)) == 1 and index == 0:
        table.remove("mark")
    else:
        del table["mark"][index]


def left_out(document: TOMLDocument, asked: Json) -> None:
    """Leave a mark of the pattern file out, or take it again."""
    table, number = piece_table(document, asked), int(asked["number"])
    numbers = {int(one) for one in table.get("marks_left_out", [])}
    numbers = numbers | {number} if asked.get("out") is True else numbers - {number}
    put(table, "marks_left_out", sorted(numbers) or None)


def shape(document: TOMLDocument, asked: Json) -> None:
    """Change the outline of a piece: its points, or its path data; see `point_moved`."""
    table, keys = piece_table(document, asked), asked["keys"]
    unit = str(document.get("job", {}).get("unit", "mm"))
    said = "; ".join(filter(None, (comment_of(table, k) for k in SHAPES if keys[k] is None)))
    for key in SHAPES:
        held, new = table.get(key), keys[key]
        if key == "points" and held and new and abs(len(held) - len(new)) < 2:
            _kept_points(held, new, unit=unit)
        else:
            put(table, key, new)
            item = table.value.item(key) if said and new is not None and held is None else None
            if isinstance(item, Item):
                item.comment(said)
    if "widths" in asked:
        said = table["seam_allowance"]
        if {str(key): value for key, value in said.items()} != asked["widths"]:
            _changed(said, asked["widths"])
    if "fold" in asked:
        put(table, "fold_edge", asked["fold"])
    for one, side in zip(marks_of(table), asked.get("sides", []), strict=True):
        put(one, "edge", side)


def _kept_points(held: Any, points: list[list[float]], *, unit: str) -> None:
    """Change the points that are others now; the rest stay as they were written."""
    old = [[length(side, unit=unit) for side in at] for at in held.unwrap()]
    new = [[length(side, unit=unit) for side in at] for at in points]
    alike = [_same(a, b) for a, b in zip(old, new, strict=False)]
    first = alike.index(False) if False in alike else min(len(old), len(new))
    if len(new) > len(old):
        held.insert(first, points[first])
    elif len(new) < len(old):
        del held[first]
    now = [[length(side, unit=unit) for side in at] for at in held.unwrap()]
    for i, (was, at) in enumerate(zip(now, new, strict=True)):
        if not _same(was, at):
            held[i] = points[i]


def _same(one: list[float], other: list[float]) -> bool:
    """Whether two places are the same but for rounding."""
    return max(abs(a - b) for a, b in zip(one, other, strict=True)) < _ROUNDED


_ROUNDED = 0.001
"""Places (mm) that differ by less are written alike."""


def fold_back(document: TOMLDocument, asked: Json) -> None:
    """Say at which line the shorter version of a piece ends, or that there is none."""
    put(piece_table(document, asked), "fold_back", asked["line"])


_SHAPES = {"rectangle": 2, "circle": 1, "strap": 2}


def drawn(document: TOMLDocument, asked: Json) -> None:
    """Draw a piece by its sizes: a rectangle, a circle or a strap."""
    kind = str(asked.get("kind"))
    if kind not in _SHAPES:
        raise JobError("a rectangle, a circle or a strap can be drawn here")
    name = str(asked.get("name") or "").strip()
    if not name:
        raise JobError("the piece has no name", hint="give it one")
    if any(table.get("name") == name for table in tables(document, "piece")):
        raise JobError(f"there is a piece {name!r} already", hint="give it another name")
    sizes = [plain_value(one) for one in asked.get("sizes", [])][: _SHAPES[kind]]
    if len(sizes) < _SHAPES[kind] or "" in sizes:
        raise JobError(f"the {kind} has no size", hint="give it")
    values: Json = {"name": name, kind: sizes[0] if kind == "circle" else sizes}
    if kind == "rectangle" and asked.get("radius"):
        values["corner_radius"] = plain_value(asked["radius"])
    if asked.get("allowance"):
        values["seam_allowance"] = plain_value(asked["allowance"])
    if asked.get("line") == "sewing" and kind != "strap":
        values["line"] = "sewing"
    added(document, "piece", values)


EDITS = {
    "edge": edge,
    "line": line,
    "mark": mark,
    "unmark": unmarked,
    "left out": left_out,
    "draw": drawn,
    "shape": shape,
    "fold back": fold_back,
    "own": own,
}
"""What can be changed of one piece, and who does it."""
