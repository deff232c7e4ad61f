"""A stored plan looked at once more, with nothing of the program but its file format.

Parts as polygons (shapely), where the placements say: each laid once, on the goods, off
flaws, apart by the spacing, face up unless it may be flipped. Only what is far beyond what the
judge lets pass is told, so that whatever is told here and accepted there is wrong.
"""

from __future__ import annotations

import json
import math
from collections import Counter, defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import shapely
from shapely import Polygon
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry

__all__ = ["broken_rules"]

_SURELY = 0.05
"""What is nearer to allowed than this (mm) isn't told."""

_STEPS = 64


def broken_rules(file: Path) -> Iterator[str]:
    """Yield what is surely wrong with the markers of a plan, a line each."""
    whole = json.loads(file.read_text(encoding="utf-8-sig"))
    pieces = whole["pieces"]
    for i, entry in enumerate(whole["plan"]["entries"]):
        for line in _marker(entry["marker"], pieces):
            yield f"entry {i}: {line}"
        if entry.get("unplaced"):
            yield f"entry {i}: parts are left out"


def _marker(marker: dict[str, Any], pieces: list[Any]) -> Iterator[str]:
    lay = marker["lay"]
    parts, placements = lay.get("parts", []), marker.get("placements", [])
    for part, times in Counter(p["part"] for p in placements).items():
        if times > 1 or not 0 <= part < len(parts):
            yield f"part {part} is laid {times} times, of {len(parts)}"
    if missing := set(range(len(parts))) - {p["part"] for p in placements}:
        yield f"parts {sorted(missing)} are missing"
    by_sheet: defaultdict[int, list[tuple[int, BaseGeometry]]] = defaultdict(list)
    for p in placements:
        part = parts[p["part"]]
        piece = pieces[part["piece"]] if isinstance(part["piece"], int) else part["piece"]
        if p.get("flipped") and not part.get("flip"):
            yield f"part {p['part']} is flipped"
        area = _area(piece["cut"], piece.get("holes", []))
        by_sheet[p.get("sheet", 0)].append((p["part"], affine_transform(area, _matrix(p))))
    for sheet, laid in by_sheet.items():
        yield from _on(lay["stock"], marker.get("sheets", []), sheet, laid)
        yield from _apart(laid, lay.get("spacing", 0.0))


def _on(
    stock: dict[str, Any], used: list[int], sheet: int, laid: list[tuple[int, BaseGeometry]]
) -> Iterator[str]:
    if "sheets" not in stock:
        goods: BaseGeometry = shapely.box(0.0, 0.0, stock.get("longest") or 1e12, stock["width"])
        margin = 0.0
    else:
        one = stock["sheets"][used[sheet]]
        goods, margin = _area(one["outline"], one.get("holes", [])), stock.get("margin", 0.0)
    size = math.dist((0, 0), goods.bounds[2:]) if "sheets" in stock else 0.0
    let_pass = _SURELY + 1e-6 * size
    for name, part in laid:
        slack = let_pass + 1e-5 * part.length
        core = part.buffer(-slack) if slack > margin else part.buffer(margin - slack)
        out = shapely.difference(core, goods)
        if not core.is_empty and out.area > 0.0:
            yield f"part {name} reaches beyond the goods or into a flaw of sheet {sheet}"


def _apart(laid: list[tuple[int, BaseGeometry]], spacing: float) -> Iterator[str]:
    tree = shapely.STRtree([part for _, part in laid])
    for i, (name, part) in enumerate(laid):
        for j in tree.query(part, predicate="dwithin", distance=max(spacing, 0.0)).tolist():
            other = laid[j][1]
            if j <= i:
                continue
            slack = _SURELY + 1e-5 * max(part.length, other.length)
            if spacing - float(part.distance(other)) > slack:
                yield f"parts {name} and {laid[j][0]} lie nearer than {spacing:g}"
            shared = shapely.intersection(part.buffer(-slack), other.buffer(-slack))
            if shared.area > 0.0:
                yield f"parts {name} and {laid[j][0]} overlap"


def _matrix(p: dict[str, Any]) -> list[float]:
    turn = math.radians(p.get("angle", 0.0))
    c, s = math.cos(turn), math.sin(turn)
    up = -1.0 if p.get("flipped") else 1.0
    return [c, -s * up, s, c * up, p["x"], p["y"]]


def _area(outline: str, holes: list[str]) -> BaseGeometry:
    shell = shapely.make_valid(Polygon(_points(outline)))
    return shapely.difference(
        shell, shapely.union_all([shapely.make_valid(Polygon(_points(hole))) for hole in holes])
    )


def _points(words: str) -> list[tuple[float, float]]:
    """Return the points of a path as plan.json writes it."""
    found: list[tuple[float, float]] = []
    left = iter(words.split())
    for command in left:
        n = [float(next(left)) for _ in range({"M": 2, "L": 2, "C": 6, "A": 8}[command])]
        steps = [i / _STEPS for i in range(_STEPS + 1)]
        if command == "A":
            turns = [n[6] + t * n[7] for t in steps]
            found += [
                (
                    n[0] + n[2] * math.cos(t) + n[4] * math.sin(t),
                    n[1] + n[3] * math.cos(t) + n[5] * math.sin(t),
                )
                for t in turns
            ]
        elif command == "C":
            (x0, y0) = found[-1]
            for t in steps:
                w = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
                found.append(
                    (
                        w[0] * x0 + w[1] * n[0] + w[2] * n[2] + w[3] * n[4],
                        w[0] * y0 + w[1] * n[1] + w[2] * n[3] + w[3] * n[5],
                    )
                )
        else:
            found.append((n[0], n[1]))
    return found
