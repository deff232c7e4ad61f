"""What the page changes of the goods in a job file: widths, prices, prints, left-overs."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import tomlkit
from tomlkit import TOMLDocument
from tomlkit.items import Array, InlineTable, Table

from nesting.errors import JobError
from nesting.writing.pages.live.goods import hide_corners, live_drawn_goods

from .hide_edits import hides_shown
from .job_edits import added, comment_of, cut_from, listed, put, removed, tables
from .print_edits import print_picture

if TYPE_CHECKING:
    from nesting import Job

__all__ = ["EDITS", "GOODS", "goods_shown", "number"]

Json = dict[str, Any]

_ALL = ("name", "nap", "spacing", "substance")
GOODS = {
    "cloth": (*_ALL, "price_per", "step", "selvedge", "ends", "fold"),
    "sheet": (*_ALL, "size", "price", "count", "margin"),
    "leather": (*_ALL, "price", "price_per", "margin"),
}
"""The plain keys of materials that the page changes."""

_NUMBERS = {"price": float, "count": int}
_WIDTH = ("booked", "usable", "price")
_PRINT = ("along", "across", "drop", "drift")
_SIDES = ("along", "across")


# ------------------------------------------------------------ what is there


def goods_shown(document: TOMLDocument, job: Job | None) -> list[Json]:
    """Return the goods of a job file as the page shows them: every value as text.

    `job`: as it is read, if it can be: what is at hand one by one is drawn from it.
    """
    return [
        {
            "kind": kind,
            "index": index,
            **{key: _text(table.get(key)) for key in keys},
            "widths": _widths(table) if kind == "cloth" else [],
            "print": _print(table) if kind == "cloth" else {},
            "motif": print_picture(table.get("print") or {}),
            "shrinkage": _shrinkage(table) if kind == "cloth" else {},
            **_drawn(document, table, job, leather=kind == "leather"),
        }
        for kind, keys in GOODS.items()
        for index, table in enumerate(tables(document, kind))
    ]


def _drawn(document: TOMLDocument, table: Table, job: Job | None, *, leather: bool) -> Json:
    """Return left-overs and hides; ``stock``: what is drawn in a file that the job includes."""
    goods = None if job is None else job.material(str(table.get("name")))
    drawn = {} if job is None or goods is None else live_drawn_goods(goods, job.amounts)
    corners = {} if goods is None else hide_corners(goods)
    hides = hides_shown(document, table, corners) if leather else []
    left = _remnants(document, table)
    mine = {one["name"] for one in [*hides, *left]}
    return {
        "hides": [{**one, "drawn": drawn.get(one["name"])} for one in hides],
        "remnants": [{**one, "drawn": drawn.get(one["name"])} for one in left],
        "stock": [{"name": n, "drawn": d} for n, d in drawn.items() if n not in mine],
    }


def _text(value: Any) -> str:
    if isinstance(value, list):
        return " x ".join(map(_text, value))
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return "" if value is None else str(value)


def _widths(table: Mapping[str, Any]) -> list[Json]:
    several = table.get("widths")
    if several is None:
        rows = [{"booked": table.get("width"), **{k: table.get(k) for k in _WIDTH[1:]}}]
    else:
        rows = [one if isinstance(one, dict) else {"booked": one} for one in _in_list(several)]
    return [{key: _text(row.get(key)) for key in _WIDTH} for row in rows]


def _in_list(value: Any) -> list[Any]:
    return list(value) if isinstance(value, list) else [value]


def _print(table: Table) -> Json:
    held = table.get("print") or {}
    origin = held.get("origin") or ("", "")
    at = {f"at_{side}": _text(value) for side, value in zip(_SIDES, origin, strict=True)}
    return {**{key: _text(held.get(key)) for key in _PRINT}, **at}


def _shrinkage(table: Table) -> Json:
    held = table.get("shrinkage")
    if not isinstance(held, dict):
        held = dict.fromkeys(_SIDES, held)
    return {side: _text(held.get(side)) for side in _SIDES}


def _remnants(document: TOMLDocument, table: Table) -> list[Json]:
    """Return the left-overs of some goods; ``plain``: those that are rectangles."""
    return [
        {
            "place": [own, index],
            "name": str(one.get("name", "")),
            "size": _text(one.get("rectangle")),
            "grain": _text(one.get("grain")),
            "plain": "rectangle" in one,
        }
        for own in (True, False)
        for index, one in enumerate(_held(document, table, own=own))
        if own or one.get("material") == table.get("name")
    ]


def _held(document: TOMLDocument, table: Table, *, own: bool) -> list[Table]:
    return list(table.get("remnant", [])) if own else tables(document, "remnant")


# ------------------------------------------------------------ changed


def goods(document: TOMLDocument, asked: Json) -> None:
    """Change a material, or add one."""
    kind = _kind(asked)
    values: Json = {key: asked.get(key) for key in GOODS[kind] if key in asked}
    for key, made in _NUMBERS.items():
        if key in values:
            values[key] = number(values[key], made)
    if kind == "sheet" and "size" in values:
        values["size"] = _sizes(values["size"])
    if kind == "cloth" and values.get("fold") == "single":
        values["fold"] = None
    name = str(values.get("name") or "").strip()
    if not name:
        raise JobError("the goods have no name", hint="give them one")
    values["name"] = name
    index = asked.get("index")
    if index is None:
        added(document, kind, {"name": name})
        index = len(tables(document, kind)) - 1
    table = tables(document, kind)[int(index)]
    before = str(table.get("name"))
    for key, value in values.items():
        put(table, key, value)
    if kind == "cloth":
        _put_cloth(table, asked)
    if before != name:
        _renamed(document, before, name)


def _kind(asked: Json) -> str:
    kind = str(asked.get("kind"))
    if kind not in GOODS:
        raise JobError("goods are cloth, sheets or leather here")
    return kind


def _put_cloth(table: Table, asked: Json) -> None:
    if isinstance(asked.get("widths"), list):
        _put_widths(table, [dict(row) for row in asked["widths"]])
    elif "width" in asked:
        put(table, "width", asked["width"])
    if isinstance(asked.get("print"), dict):
        _put_print(table, asked["print"])
    if isinstance(asked.get("shrinkage"), dict):
        _put_shrinkage(table, asked["shrinkage"])


def _put_widths(table: Table, rows: list[Json]) -> None:
    """Set the widths on sale: one as keys of the cloth, several as a list, as they were before."""
    told = [
        {
            "booked": str(row.get("booked") or "").strip(),
            "usable": str(row.get("usable") or "").strip(),
            "price": number(row.get("price"), float),
        }
        for row in rows
    ]
    told = [row for row in told if any(row.values())]
    if len(told) < 2 and "widths" not in table:
        (row,) = told or [dict.fromkeys(_WIDTH)]
        put(table, "width", row["booked"])
        for key in _WIDTH[1:]:
            put(table, key, row[key])
        return
    if [_plainly(row) for row in _widths(table)] == [_plainly(row) for row in told]:
        return
    several = table.get("widths")
    if not isinstance(several, Array):
        several = tomlkit.array().multiline(True)
    for at, row in enumerate(told):
        line = tomlkit.inline_table()
        line.update({key: value for key, value in row.items() if value not in (None, "")})
        if at >= len(several):
            several.append(line)
        elif _widths({"widths": [several[at]]}) != _widths({"widths": [line]}):
            several[at] = line
    while len(several) > len(told):
        del several[-1]
    said = [comment_of(table, key) for key in ("width", "usable", "price")]
    for key in ("width", "usable", "price"):
        put(table, key, None)
    table["widths"] = several
    if any(said):
        several.comment("; ".join(filter(None, said)))


def _plainly(row: Mapping[str, Any]) -> Json:
    return {key: _text(row.get(key)) for key in _WIDTH}


def _put_print(table: Table, asked: Json) -> None:
    """Set the print, or take it out where nothing is said of it."""
    said = {key: str(asked.get(key) or "").strip() for key in _PRINT}
    values: Json = {key: said[key] for key in ("along", "across", "drift")}
    values["drop"] = number(said["drop"], float)
    origin = [str(asked.get(f"at_{side}") or "").strip() for side in _SIDES]
    if any(origin) and not all(origin):
        raise JobError(
            "the middle of a motif has two measures", hint="say how far along and how far across"
        )
    values["origin"] = origin if all(origin) else None
    if not any(values.values()):
        put(table, "print", None)
        return
    if "print" not in table:
        table["print"] = tomlkit.table()
    for key, value in values.items():
        same = key == "origin" and value and _text(table["print"].get(key)) == _text(value)
        if not same and _text(table["print"].get(key)) != _text(value):
            put(table["print"], key, value)


def _put_shrinkage(table: Table, asked: Json) -> None:
    said = {side: str(asked.get(side) or "").strip() for side in _SIDES}
    if said == _shrinkage(table):
        return
    held = table.get("shrinkage")
    if said["along"] == said["across"] and not isinstance(held, dict):
        put(table, "shrinkage", said["along"])
    elif isinstance(held, Table | InlineTable):
        for side, value in said.items():
            put(held, side, value)
        if not held:
            put(table, "shrinkage", None)
    else:
        line = tomlkit.inline_table()
        line.update({side: value for side, value in said.items() if value})
        table["shrinkage"] = line


def _renamed(document: TOMLDocument, before: str, name: str) -> None:
    """Have the cutting list and the left-overs follow a new name of goods."""
    for cut in tables(document, "cut"):
        names = listed(cut.get("material"))
        if before in names:
            cut_from(cut, [name if one == before else one for one in names])
    for key in ("remnant", "held"):
        for one in tables(document, key):
            if one.get("material") == before:
                one["material"] = name


def ungoods(document: TOMLDocument, asked: Json) -> None:
    """Take goods out of the job, and what is cut from them out of its cutting list."""
    kind, index = _kind(asked), int(asked["index"])
    name = tables(document, kind)[index].get("name")
    removed(document, kind, index)
    for at, cut in reversed([*enumerate(tables(document, "cut"))]):
        names = listed(cut.get("material"))
        if names == [name]:
            removed(document, "cut", at)
        elif name in names:
            cut_from(cut, [one for one in names if one != name])
    for at, one in reversed([*enumerate(tables(document, "remnant"))]):
        if one.get("material") == name:
            removed(document, "remnant", at)


def remnant(document: TOMLDocument, asked: Json) -> None:
    """Add a rectangular left-over of some goods, or change one; another's shape stays."""
    table = tables(document, _kind(asked))[int(asked["index"])]
    values: Json = {
        "name": str(asked.get("name") or "").strip(),
        "rectangle": _sizes(asked.get("size")),
        "grain": str(asked.get("grain") or ""),
    }
    if asked.get("place") is None and _kind(asked) == "leather":  # it has no such table
        said = {key: value for key, value in values.items() if value}
        added(document, "remnant", {"material": str(table["name"])} | said)
        return
    if asked.get("place") is None:
        one = tomlkit.table()
        if "remnant" not in table:
            table["remnant"] = tomlkit.aot()
        for key, value in values.items():
            put(one, key, value)
        one.add(tomlkit.nl())
        table["remnant"].append(one)
        return
    own, at = asked["place"]
    held = _held(document, table, own=own is True)[int(at)]
    for key, value in values.items():
        if key != "rectangle" or ("rectangle" in held and _text(held.get(key)) != _text(value)):
            put(held, key, value)


def unremnant(document: TOMLDocument, asked: Json) -> None:
    """Take out a left-over."""
    table = tables(document, _kind(asked))[int(asked["index"])]
    own, at = asked["place"]
    if own is not True:
        removed(document, "remnant", int(at))
    elif len(table["remnant"]) == 1 and int(at) == 0:
        table.remove("remnant")
    else:
        del table["remnant"][int(at)]


def _sizes(value: Any) -> list[str]:
    return [side.strip() for side in str(value or "").replace("×", "x").split("x")]


def number(value: Any, made: type[float] | type[int]) -> float | int | None:
    """Return a number as it was typed, None where nothing was.

    Raises
    ------
    JobError
        It is none.

    """
    text = str(value if value is not None else "").replace(",", ".").strip()
    if not text:
        return None
    try:
        return made(text)
    except ValueError:
        hint = "write 18.50" if made is float else "write a whole number"
        raise JobError(f"{text!r} is no number", hint=hint) from None


EDITS = {"goods": goods, "ungoods": ungoods, "remnant": remnant, "unremnant": unremnant}
"""What can be changed, and who does it."""
