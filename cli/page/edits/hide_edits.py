"""Hides that are drawn on the page, over a picture or without: into the job file, and out of it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import tomlkit
from tomlkit import TOMLDocument
from tomlkit.items import Table

from nesting.errors import JobError
from nesting.reading.pictures.traced import Scale, lying_under, traced
from nesting.units import length

from .job_edits import put, tables

__all__ = ["EDITS", "hides_shown"]

Json = dict[str, Any]

_SHAPES = ("flaw", "zone")
_MOST = 2_000
"""Corners of a shape, and shapes of a hide."""


def hides_shown(
    document: TOMLDocument, leather: Table, read: Mapping[str, list[Json]]
) -> list[Json]:
    """Return the hides of a leather, with the corners of their shapes (mm, y down).

    `read`: those corners as the hides were read, by name (`hide_corners`): of one that is not
    drawn by corners they are taken from there. ``picture``: that under it, and where it lies.
    """
    unit = _unit(document)
    return [
        {
            "at": at,
            "name": str(hide.get("name", "")),
            "shapes": _shapes(hide, unit) if _by_corners(hide) else _drawn(hide, read),
            "picture": _picture(hide, unit),
        }
        for at, hide in enumerate(leather.get("hide", []))
    ]


def _drawn(hide: Table, read: Mapping[str, list[Json]]) -> list[Json]:
    """Return the shapes of a hide that is drawn by path data, or in a file."""
    shapes, named = read.get(str(hide.get("name", "")), []), hide.get("flaw", [])
    flaws = [one for one in shapes if one["kind"] == "flaw"]
    for one, table in zip(flaws[max(len(flaws) - len(named), 0) :], named, strict=False):
        one["name"] = str(table.get("name", ""))
    return [] if any(len(one["points"]) > _MOST for one in shapes) else shapes


def _picture(hide: Table, unit: str) -> Json | None:
    """Return the picture that lies under a hide, and the box that it fills (mm, y down)."""
    told = hide.get("picture")
    if not isinstance(told, dict) or "size" not in told:
        return None
    wide, high = (length(side, unit=unit) for side in told["size"])
    x, y = (length(side, unit=unit) for side in told.get("at", (0, 0)))
    return {"file": str(told.get("file", "")), "box": [x, -y - high, wide, high]}


def _by_corners(hide: Table) -> bool:
    parts = [hide, *(one for key in _SHAPES for one in hide.get(key, []))]
    return all("points" in one for one in parts) and not {"at", "hole"} & set(hide)


def _shapes(hide: Table, unit: str) -> list[Json]:
    def shape(kind: str, one: Any) -> Json:
        corners = [[length(x, unit=unit), -length(y, unit=unit)] for x, y in one["points"].unwrap()]
        return {
            "kind": kind,
            "name": str(one.get("name", "")) if kind != "outline" else "",
            "grade": str(one.get("grade", "")),
            "tight": "" if one.get("tight") is None else f"{float(one['tight']):g}",
            "slack": one.get("slack"),
            "points": corners,
        }

    inside = [shape(key, one) for key in _SHAPES for one in hide.get(key, [])]
    return [shape("outline", hide), *inside]


def hide(document: TOMLDocument, asked: Json) -> None:
    """Set the outline, flaws and zones of a hide, or add one."""
    leather = _leather(document, asked)
    shapes = [dict(one) for one in asked.get("shapes") or ()]
    name = str(asked.get("name") or "").strip()
    if not name:
        raise JobError("the hide has no name", hint="give it one, as on its tag")
    if not shapes or shapes[0].get("kind") != "outline" or len(shapes) > _MOST:
        raise JobError("the hide has no outline", hint="click along its edge first")
    unit = _unit(document)
    scale = _scale(asked.get("scale"), unit)
    drawn = traced([_corners(one) for one in shapes], scale=scale)
    if asked.get("at") is None:
        table = tomlkit.table()
        if "hide" not in leather:
            leather["hide"] = tomlkit.aot()
        leather["hide"].append(table)
        table = leather["hide"][-1]
    else:
        table = leather["hide"][int(asked["at"])]
    put(table, "name", name)
    for key in _DRAWN_OTHERWISE:
        put(table, key, None)
    table["points"] = _points(drawn[0], unit)
    if scale is None:
        _picture_moved(table, shapes[0], unit)
    else:
        _picture_under(table, asked, shapes[0], scale, unit)
    if any(one.get("kind") == "zone" for one in shapes):
        put(table, "guess_zones", None)
    for key in _SHAPES:
        if key in table:
            table.remove(key)
        told = [(one, at) for one, at in zip(shapes, drawn, strict=True) if one.get("kind") == key]
        if told:
            table[key] = tomlkit.aot()
        for one, corners in told:
            inside = tomlkit.table()
            put(inside, "name", str(one.get("name") or "").strip())
            if key == "zone":
                put(inside, "grade", str(one.get("grade") or "A"))
                tight = str(one.get("tight") or "").replace(",", ".").strip()
                put(inside, "tight", float(tight) if tight else None)
                put(inside, "slack", one.get("slack") if tight else None)
            inside["points"] = _points(corners, unit)
            table[key].append(inside)


_DRAWN_OTHERWISE = (
    *("outline", "path_unit", "rectangle", "corner_radius", "circle", "ellipse", "at", "hole"),
    *("from", "piece", "file_unit"),
)
"""Keys by which the shape of a hide is said that has no corners."""


def _picture_moved(table: Table, outline: Json, unit: str) -> None:
    """Have the picture under a hide lie where it lay: places begin at the hide's lower left."""
    told = table.get("picture")
    if told is None:
        return
    x0, y0 = min(x for x, _ in outline["points"]), max(y for _, y in outline["points"])
    x, y = (length(side, unit=unit) for side in told.get("at", (0, 0)))
    if max(abs(x0), abs(y0)) > _SAME:
        told["at"] = _points(((x - x0, y + y0),), unit)[0]


def _picture_under(table: Table, asked: Json, outline: Json, scale: Scale, unit: str) -> None:
    """Name the picture that was drawn upon, and where it lies: under what was drawn."""
    put(table, "picture", None)  # it was another, and lay elsewhere
    path = asked.get("picture")
    if path is None:
        return
    lies, large = lying_under(path.read_bytes(), outline["points"], scale=scale)
    line = tomlkit.inline_table()
    size, at = _points((large, lies), unit)
    line.update({"file": path.name, "size": size, "at": at})
    table["picture"] = line


_SAME = 0.005
"""Places (mm) that are nearer are written alike."""


def unhide(document: TOMLDocument, asked: Json) -> None:
    """Take a hide out of the job."""
    leather = _leather(document, asked)
    if len(leather["hide"]) == 1 and int(asked["at"]) == 0:
        leather.remove("hide")
    else:
        del leather["hide"][int(asked["at"])]


def _leather(document: TOMLDocument, asked: Json) -> Table:
    """Return the leather that is asked about, where it stands by now."""
    found = next((t for t in tables(document, "leather") if t.get("name") == asked.get("of")), None)
    if found is None:
        raise JobError("there is no such leather any more", hint="draw the hide anew")
    return found


def _unit(document: TOMLDocument) -> str:
    return str(document.get("job", {}).get("unit", "mm"))


def _corners(one: Json) -> list[tuple[float, float]]:
    found = [(float(x), float(y)) for x, y in one.get("points") or ()]
    if len(found) > _MOST:
        raise JobError("a shape has far too many corners", hint="click fewer")
    return found


def _scale(asked: Any, unit: str) -> Scale | None:
    if asked is None:
        return None
    (ax, ay), (bx, by) = asked["points"]
    text = str(asked.get("length") or "").strip()
    if not text:
        raise JobError("the scale has no length", hint="say how far its two points are apart")
    return (float(ax), float(ay)), (float(bx), float(by)), length(text, unit=unit)


def _points(corners: tuple[tuple[float, float], ...], unit: str) -> Any:
    """Return corners as a job file has them: numbers of its unit."""
    one = length(1.0, unit=unit)
    array = tomlkit.array()
    for x, y in corners:
        array.append([round(x / one, 5), round(y / one, 5)])
    return array


EDITS = {"hide": hide, "unhide": unhide}
"""What can be changed, and who does it."""
