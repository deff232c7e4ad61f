"""Open strip-packing cases as lays: a plain JSON form, and the data sets' original XML.

JSON: ``{"name", "strip_width", "pieces": [{"name", "quantity", "angles", "outline"}]}``.
``demand`` may stand for ``quantity`` (1 if neither is given); ``angles`` is a list of
degrees, null for any turn, and as drawn if it is missing: a file that doesn't allow a turn
gets none. ``holes`` is a list of outlines. Names may be missing.

XML: root ``nesting``, as the data sets of ESICUP (the EURO special interest group on cutting
and packing) are published: ``problem/boards/piece`` is the strip (its y extent the width),
``problem/lot/piece`` what is laid. Both are made of components (type -1: a hole), which name a
polygon of segments; ``orientation`` lists turns. From memory of that form, not checked against
its schema. Polygons that no component names are not looked at.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path as File
from typing import Any
from xml.etree.ElementTree import Element, ParseError

from defusedxml.ElementTree import fromstring
from shapely import union_all
from shapely.geometry import LinearRing, Polygon

from nesting.errors import JobError
from nesting.marker.lay import Lay, Part, Strip, Turns
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece

__all__ = ["read_case"]

Ring = list[tuple[float, float]]
_LOW = ("min", "from", "start", "angleMin", "angleStart", "minAngle", "startAngle")
_HIGH = ("max", "to", "end", "angleMax", "angleEnd", "maxAngle", "endAngle")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    """A piece of a case: what a `Part` needs, and how often."""

    name: str
    copies: int
    turns: Turns
    outline: Ring
    holes: tuple[Ring, ...] = ()


def read_case(file: str | File) -> Lay:
    """Read a case in either form; the suffix ``.xml`` tells which.

    Raises
    ------
    JobError
        One line: which file, which piece or polygon, what is wrong with it.

    """
    path = File(file)
    try:
        read = _from_xml if path.suffix.lower() == ".xml" else _from_json
        return read(path)
    except JobError as error:
        raise JobError(
            error.what, file=path.name, field=error.field, line=error.line, hint=error.hint
        ) from error
    except ParseError as error:
        raise JobError(
            "is no XML that can be read", file=path.name, line=error.position[0]
        ) from error
    except json.JSONDecodeError as error:
        raise JobError(f"is no JSON: {error.msg}", file=path.name, line=error.lineno) from error
    except OSError as error:
        raise JobError(
            f"can't be opened: {error.strerror or error}", file=path.name, hint="check the path"
        ) from error
    except ValueError as error:  # encodings, document type declarations
        raise JobError(
            f"can't be read as a case: {' '.join(str(error).split())}", file=path.name
        ) from error


def _lay(name: str, width: float, rows: Iterable[_Row]) -> Lay:
    if not width > 0.0:
        raise JobError(f"the strip is {width:g} wide", hint="give a width above 0")
    parts: list[Part] = []
    known: set[str] = set()
    for row in rows:
        label, n = row.name, 1
        while label in known:
            n += 1
            label = f"{row.name} ({n})"
        known.add(label)
        piece = _piece(row, label)
        parts += [
            Part(name=f"{label} {c}", piece=piece, copy=c, copies=row.copies, turns=row.turns)
            for c in range(1, row.copies + 1)
        ]
    return Lay(name=name, parts=tuple(parts), stock=Strip(width=width))


def _piece(row: _Row, name: str) -> Piece:
    outline = _oriented(row.outline, name)
    holes = [_oriented(hole, name)[::-1] for hole in row.holes]
    if not Polygon(outline, holes).is_valid:
        raise JobError("its outline crosses or touches itself, or a hole does", field=name)
    return Piece(
        name=name,
        cut=Path.polyline(outline, closed=True),
        holes=tuple(Path.polyline(hole, closed=True) for hole in holes),
    )


def _oriented(ring: Ring, name: str) -> Ring:
    """Return a ring counter-clockwise, without its repeated points."""
    out = [p for n, p in enumerate(ring) if n == 0 or p != ring[n - 1]]
    if len(out) > 1 and out[0] == out[-1]:
        out.pop()
    if len(out) < 3:
        raise JobError("its outline has fewer than three corners", field=name)
    double = sum(
        x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(out, out[1:] + out[:1], strict=True)
    )
    if double == 0.0:
        raise JobError("its outline has no area", field=name)
    return out if double > 0.0 else out[::-1]


def _number(value: Any, field: str) -> float:
    try:
        number = float(value)
    except (TypeError, ValueError):
        number = math.nan
    if isinstance(value, bool) or not math.isfinite(number):
        raise JobError(f"{value!r} is no number", field=field)
    return number


def _count(value: Any, field: str) -> int:
    number = _number(value, field)
    if number < 0 or number != round(number):
        raise JobError(f"{value!r} is no number of copies", field=field)
    return round(number)


# ---------------------------------------------------------------- plain JSON


def _from_json(path: File) -> Lay:
    data = json.loads(path.read_text(encoding="utf-8-sig"))
    if not isinstance(data, dict) or not isinstance(data.get("pieces"), list):
        raise JobError('has no list "pieces"', hint='a case is {"strip_width", "pieces": [...]}')
    if "strip_width" not in data:
        raise JobError('has no "strip_width"', hint="give the strip's width")
    rows = [_json_row(piece, n) for n, piece in enumerate(data["pieces"], 1)]
    name = str(data.get("name") or path.stem)
    return _lay(name, _number(data["strip_width"], "strip_width"), rows)


def _json_row(piece: Any, n: int) -> _Row:
    if not isinstance(piece, dict):
        raise JobError("is no piece", field=f"pieces[{n}]")
    name = str(piece.get("name") or f"piece {n}")
    if "outline" not in piece:
        raise JobError('has no "outline"', field=name)
    copies = piece.get("quantity", piece.get("demand", 1))
    angles = piece.get("angles", ())
    if angles is None:
        turns = Turns(slack=180.0)
    elif isinstance(angles, list | tuple):
        turns = Turns(angles=tuple(_number(a, f"{name}.angles") for a in angles) or (0.0,))
    else:
        raise JobError("is no list of degrees, nor null", field=f"{name}.angles")
    holes = piece.get("holes") or ()
    return _Row(
        name=name,
        copies=_count(copies, f"{name}.quantity"),
        turns=turns,
        outline=_json_ring(piece["outline"], name),
        holes=tuple(_json_ring(hole, name) for hole in holes),
    )


def _json_ring(ring: Any, name: str) -> Ring:
    out = []
    for point in ring if isinstance(ring, list) else [None]:
        xy = [point.get("x"), point.get("y")] if isinstance(point, dict) else point
        if not isinstance(xy, list) or len(xy) != 2:
            raise JobError("its outline is no list of points [x, y]", field=name)
        out.append((_number(xy[0], name), _number(xy[1], name)))
    return out


# ---------------------------------------------------------------- the original XML


def _from_xml(path: File) -> Lay:
    root = fromstring(path.read_bytes(), forbid_dtd=True)
    for element in root.iter():
        element.tag = element.tag.rpartition("}")[2]
        for key in [key for key in element.attrib if "}" in key]:
            element.attrib[key.rpartition("}")[2]] = element.attrib.pop(key)
    polygons = {p.get("id", ""): p for p in root.iter("polygon") if p.get("id")}
    boards = root.findall(".//problem/boards/piece") or root.findall("problem/boards/piece")
    if len(boards) != 1:
        raise JobError(f"has {len(boards)} boards", hint="a strip is one board")
    rows = [
        _xml_row(piece, piece.get("id") or f"piece {n}", polygons)
        for n, piece in enumerate(root.findall(".//problem/lot/piece"), 1)
    ]
    if not rows:
        raise JobError("has no pieces in <problem><lot>")
    return _lay(path.stem, _width(boards[0], polygons), rows)


def _width(board: Element, polygons: dict[str, Element]) -> float:
    """Return the strip's width: how far its one rectangle reaches in y."""
    components = board.findall("component")
    if len(components) != 1:
        raise JobError(
            f"is made of {len(components)} components", field="board", hint="a strip is a rectangle"
        )
    polygon = _polygon(components[0], polygons, "board")
    points = [point for s in polygon.iter("segment") for point in _ends(s, "board")]
    if not points:
        low, high = (polygon.findtext(key) for key in ("yMin", "yMax"))
        return _number(high, "board") - _number(low, "board")
    xs, ys = [x for x, _ in points], [y for _, y in points]
    near = 1e-9 * max(max(xs) - min(xs), max(ys) - min(ys))
    for x, y in points:
        if min(x - min(xs), max(xs) - x, y - min(ys), max(ys) - y) > near:
            raise JobError("is no rectangle", field="board", hint="a strip has one width")
    return max(ys) - min(ys)


def _polygon(component: Element, polygons: dict[str, Element], name: str) -> Element:
    wanted = component.get("idPolygon", "")
    if wanted not in polygons:
        raise JobError(f"there is no polygon {wanted!r}", field=name)
    return polygons[wanted]


def _xml_row(piece: Element, name: str, polygons: dict[str, Element]) -> _Row:
    bodies: list[Ring] = []
    holes: list[Ring] = []
    for component in piece.findall("component"):
        ring = _ring(_polygon(component, polygons, name))
        dx, dy = (_number(component.get(key) or 0, name) for key in ("xOffset", "yOffset"))
        hole = _number(component.get("type") or 0, name) < 0
        (holes if hole else bodies).append([(x + dx, y + dy) for x, y in ring])
    if not bodies:
        raise JobError("has no component", field=name)
    if len(bodies) > 1:
        for body in bodies:
            _oriented(body, name)
        whole = union_all([Polygon(body) for body in bodies])
        if not isinstance(whole, Polygon):
            raise JobError("its components don't hang together", field=name)
        bodies = [_corners(whole.exterior)]
        holes += [_corners(ring) for ring in whole.interiors]
    return _Row(
        name=name,
        copies=_count(piece.get("quantity") or 1, name),
        turns=_turns(piece, name),
        outline=bodies[0],
        holes=tuple(holes),
    )


def _corners(ring: LinearRing) -> Ring:
    return [(float(x), float(y)) for x, y in ring.coords[:-1]]


def _turns(piece: Element, name: str) -> Turns:
    """Return the turns listed; a piece without a list lies as drawn."""
    middles: list[float] = []
    slacks: set[float] = set()
    for entry in piece.findall("orientation/*"):
        if "angle" in entry.attrib:
            middles.append(_number(entry.attrib["angle"], name))
            slacks.add(0.0)
            continue
        low = next((entry.attrib[key] for key in _LOW if key in entry.attrib), None)
        high = next((entry.attrib[key] for key in _HIGH if key in entry.attrib), None)
        if low is None or high is None:
            raise JobError(f"its <{entry.tag}> of turns has no angle", field=name)
        first, last = _number(low, name), _number(high, name)
        if last < first:
            last += 360.0
        middles.append(0.5 * (first + last))
        slacks.add(min(0.5 * (last - first), 180.0))
    if len(slacks) > 1:
        if 180.0 not in slacks:
            raise JobError("its ranges of turns differ in width", field=name)
        return Turns(slack=180.0)
    if slacks == {180.0}:
        return Turns(slack=180.0)
    return Turns(angles=tuple(dict.fromkeys(middles)) or (0.0,), slack=max(slacks, default=0.0))


def _ends(segment: Element, name: str) -> tuple[tuple[float, float], tuple[float, float]]:
    x0, y0, x1, y1 = (_number(segment.get(key), name) for key in ("x0", "y0", "x1", "y1"))
    return (x0, y0), (x1, y1)


def _ring(polygon: Element) -> Ring:
    """Return a polygon's corners: its segments in the order of n, or joined by their ends."""
    name = f"polygon {polygon.get('id', '')}"
    for line in polygon.findall("lines/*"):
        if line.tag != "segment":
            raise JobError(
                f"has an <{line.tag}>", field=name, hint="straight segments only: flatten it"
            )
    segments = list(polygon.iter("segment"))
    if segments and all(s.get("n") for s in segments):
        segments.sort(key=lambda s: _number(s.get("n"), name))
    ends = [_ends(s, name) for s in segments]
    ends = [(a, b) for a, b in ends if a != b]
    if len(ends) < 2:
        raise JobError("has fewer than two segments", field=name)
    size = max(max(c) - min(c) for c in zip(*(a for a, _ in ends), strict=True))
    return _joined(ends, near=1e-6 * size, name=name)


def _joined(
    ends: Sequence[tuple[tuple[float, float], tuple[float, float]]], *, near: float, name: str
) -> Ring:
    """Return the corners in turn; the next segment is asked first, then any, either way round."""
    rest = list(ends)
    first, at = rest.pop(0)
    ring = [first]
    while rest:
        ring.append(at)
        for a, b in rest:
            if math.dist(a, at) <= near:
                at, used = b, (a, b)
                break
            if math.dist(b, at) <= near:
                at, used = a, (a, b)
                break
        else:
            raise JobError(f"nothing goes on from ({at[0]:g}, {at[1]:g})", field=name)
        rest.remove(used)
    if math.dist(at, first) > near:
        ring.append(at)  # the last side is left out
    return ring
