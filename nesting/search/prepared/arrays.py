"""A lay on certain boards, written into the tables that the kernels read."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from nesting.marker.lay import Edge
from nesting.pattern.path import Affine
from nesting.search.kernels import tables
from nesting.search.kernels.vectors import BOXES
from nesting.search.prepared.forms import turned
from nesting.search.prepared.laying import Laying, Table, blank_rows, bodies_of
from nesting.search.prepared.pair_records import Capacity, room_for_pairs
from nesting.search.prepared.polygons import Floats

__all__ = ["GRID_FROM", "written"]

GRID_FROM = 120
"""With more items than this neighbours are found by a grid; else all boxes are looked at."""

_EDGES = {None: 0, Edge.LOW: tables.LOW, Edge.HIGH: tables.HIGH}
_BIG = 4.0
"""So many times as large as most an item is too big for the grid."""
_CELL, _CELLS = 1.5, 8
"""A cell is so many times as large as most items; there are at most so many for each item."""
_WANTED, _CANDIDATES = 256, 16
_DEFAULTS = {
    "anywhere": 8, "nearby": 6, "top": 3, "polish": 4, "patience": 100,
    "grow_least": 1.05, "grow_most": 1.4, "decay": 0.99, "near": 1.0,
    "exchanges": 12, "alike": 2.0,
}  # fmt: skip


def written(of: Laying, capacity: Capacity) -> tuple[dict[str, float], dict[str, Table]]:
    """Return the numbers and the tables of a state in which nothing lies yet."""
    n, kinds = len(of.kinds.of), of.kinds.parts
    sizes = np.array([o.size for o in of.outlines] or [1.0])
    item_sizes = sizes[[of.outline_of_kind[q] for q in of.kinds.of]] if n else sizes
    stride = -(-n // BOXES) * BOXES
    numbers: dict[str, float] = {
        **_DEFAULTS,
        "item_count": n,
        "sheet_count": of.sheets,
        "shape_count": len(of.all_shapes),
        "item_shapes": len(of.shapes),
        "stride": stride,
        "looked_at": tables.NOWHERE,
        "tolerance": min(1e-9 * of.median, 1e-7 * float(item_sizes.min())),
        "pull": 1e-3 * math.sqrt(of.median),
        "apart": 0.5 * of.median**1.5,
        "meetings": capacity.hits,
        "has_lattice": int(any(part.binding is not None for part in kinds)),
        "has_held": int(any(part.held is not None for part in kinds)),
    }
    arrays = {
        "kept": blank_rows("kept", n),
        "phases": blank_rows("phases", len(of.phases)),
        "boxes": np.repeat([tables.FAR, tables.FAR, -tables.FAR, -tables.FAR], max(stride, 1)),
        "order": blank_rows("order", n + 1),
        "movers": blank_rows("movers", n + 1),
        "neighbours": blank_rows("neighbours", n + 1),
        "candidates": blank_rows("candidates", _CANDIDATES),
        "overlaps": blank_rows("overlaps", 64 * n + 64),
        "weights": np.empty(max(n, 1) * (n + 1), dtype=np.float32),
        "raised": np.empty(max(n, 1) * (n + 1), dtype=np.int32),
        "own": np.ones(n + 1, dtype=np.float32),
        "wanted": blank_rows("wanted", _WANTED),
    }
    for some in (_items, _ground, _shapes, _kinds, _vertices, _options):
        arrays.update(some(of))
    for more in (_mates(of, arrays["items"]), _grid(of, arrays["items"], arrays["shapes"]),
                 room_for_pairs(of, capacity)):  # fmt: skip
        numbers.update(more[0])
        arrays.update(more[1])
    return numbers, arrays


def _items(of: Laying) -> dict[str, Table]:
    rows = blank_rows("items", len(of.kinds.of))
    rows["sheet"] = rows["group"] = tables.NOWHERE
    groups: dict[str, int] = {}
    for row, kind, part in zip(rows, of.kinds.of, of.lay.parts, strict=False):
        row["kind"], row["held"] = kind, part.held is not None
        if part.turn_group is not None:
            row["group"] = groups.setdefault(part.turn_group, len(groups))
    return {"items": rows}


def _mates(of: Laying, items: Table) -> tuple[dict[str, float], dict[str, Table]]:
    """List the mates of each item; of a lay without any its matches, which pull when asked to."""
    pulled = any(part.mates is not None for part in of.lay.parts)
    groups = [part.mates if pulled else part.match for part in of.lay.parts]
    members: dict[str, list[int]] = {}
    for i, group in enumerate(groups):
        if group is not None:
            members.setdefault(group, []).append(i)
    mates: list[int] = []
    for i, group in enumerate(groups):
        items[i]["first_mate"] = len(mates)
        mates += [j for j in members.get(group or "", []) if j != i]
        items[i]["end_mate"] = len(mates)
    numbers: dict[str, float] = {"has_mates": int(pulled and bool(mates))}
    if numbers["has_mates"]:  # what changes places leaves its mates behind
        numbers["exchanges"] = 0
    return numbers, {"mates": np.array(mates or [0], dtype=np.int64)}


def _ground(of: Laying) -> dict[str, Table]:
    ground = of.domains
    domains = blank_rows("domains", len(ground.boxes))
    for name, column in zip(("left", "bottom", "right", "top"), ground.boxes.T, strict=True):
        domains[name] = column
    beyond = np.where(ground.obstacle < 0, tables.NOWHERE, ground.obstacle + len(of.shapes))
    return {"domains": domains, "obstacles": beyond.astype(np.int64)}


def _shapes(of: Laying) -> dict[str, Table]:
    """Write the shapes of items, then the obstacles."""
    everything = of.all_shapes
    rows = blank_rows("shapes", len(everything))
    turn_of = {a: t for t, a in enumerate(sorted({s.angle for s in everything}))}
    for s, (row, shape) in enumerate(zip(rows, everything, strict=False)):
        turn = Affine.turn(shape.angle)
        row["cos"], row["sin"] = turn.a, turn.c
        row["mirror"] = -1.0 if shape.flipped else 1.0
        row["outline"], row["turn"] = shape.outline, turn_of[shape.angle]
        if s >= len(of.shapes):
            body, row["x"] = of.domains.placed[s - len(of.shapes)]
            _box(row, "", np.concatenate(of.domains.bodies[body]))
            row["factor"], row["extent"] = math.sqrt(of.median), of.median
            continue
        one = of.outlines[shape.outline]
        _box(row, "", turned(np.concatenate(one.parts), shape))
        _box(row, "true_", turned(one.ring, shape))
        row["factor"], row["extent"] = one.hull**0.25, one.size
    for kind, part in enumerate(of.kinds.parts):
        if part.binding is None:
            continue
        centre = np.array(of.outlines[of.outline_of_kind[kind]].centre)
        anchor = np.array([part.binding.anchor]) - centre
        for options in of.options[kind * of.sheets : (kind + 1) * of.sheets]:
            for s in options:
                rows[s]["anchor_x"], rows[s]["anchor_y"] = turned(anchor, of.shapes[s])[0]
    return {"shapes": rows}


def _box(row: Any, prefix: str, points: Floats) -> None:
    row[f"{prefix}left"], row[f"{prefix}bottom"] = points.min(axis=0)
    row[f"{prefix}right"], row[f"{prefix}top"] = points.max(axis=0)


def _kinds(of: Laying) -> dict[str, Table]:
    rows = blank_rows("kinds", len(of.kinds.parts))
    rows["phase"] = tables.NOWHERE
    for row, part in zip(rows, of.kinds.parts, strict=False):
        row["edge"] = _EDGES[part.edge]
        if part.binding is None:
            continue
        grid = part.binding.lattice
        row["along"], row["across"], row["drop"] = grid.along or 0.0, grid.across or 0.0, grid.drop
        row["origin_x"], row["origin_y"] = grid.origin
        row["tolerance"] = grid.tolerance
        if part.binding.phase:
            row["phase"] = of.phases.index(part.binding.phase)
    return {"kinds": rows}


def _options(of: Laying) -> dict[str, Table]:
    first = np.concatenate([[0], np.cumsum([len(some) for some in of.options])])
    options = np.array([s for some in of.options for s in some] or [0], dtype=np.int64)
    return {"first_option": first.astype(np.int64), "options": options}


def _vertices(of: Laying) -> dict[str, Table]:
    bodies = bodies_of(of)
    outlines = blank_rows("outlines", len(bodies))
    rings: list[Floats] = []
    for row, (grown, plain) in zip(outlines, bodies, strict=False):
        row["first"], row["end"] = len(rings), len(rings) + len(grown)
        rings += grown
        row["first_plain"], row["end_plain"] = len(rings), len(rings) + len(plain)
        rings += plain
    first = np.concatenate([[0], np.cumsum([len(ring) for ring in rings])])
    vertices = blank_rows("vertices", int(first[-1]))
    for points in (np.concatenate(rings),) if rings else ():
        vertices["x"], vertices["y"] = points[:, 0], points[:, 1]
    return {
        "outlines": outlines,
        "first_vertex": first.astype(np.int64),
        "vertices": vertices,
        "scratch": blank_rows("scratch", max((len(ring) for ring in rings), default=1)),
    }


def _grid(of: Laying, items: Table, shapes: Table) -> tuple[dict[str, float], dict[str, Table]]:
    """Lay out the neighbour grid; items that are too big for it are listed."""
    n = len(of.kinds.of)
    reach = np.maximum(shapes["right"] - shapes["left"], shapes["top"] - shapes["bottom"])
    largest = np.zeros(len(of.kinds.parts))
    for q in range(len(of.kinds.parts)):
        some = [s for opts in of.options[q * of.sheets : (q + 1) * of.sheets] for s in opts]
        largest[q] = max((float(reach[s]) for s in some), default=0.0)
    per_item = largest[list(of.kinds.of)] if n else np.zeros(0)
    typical = float(np.median(per_item)) if n else 1.0
    big = np.flatnonzero(per_item > _BIG * typical)
    items["big"][big] = 1
    numbers: dict[str, float] = {"big_count": len(big)}
    arrays = {"big": big.astype(np.int64) if len(big) else blank_rows("big", 1)}
    if n <= GRID_FROM:
        return numbers, arrays | _buckets(1, 0)
    limits = of.domains.boxes[of.domains.boxes[:, 2] >= of.domains.boxes[:, 0]]
    x0, y0 = (limits[:, :2].min(axis=0)) if len(limits) else (0.0, 0.0)
    x1, y1 = (limits[:, 2:].max(axis=0)) if len(limits) else (1.0, 1.0)
    size = max(_CELL * typical, 1e-9)
    if of.lay.stock.open_ended:
        area = sum(of.outlines[of.outline_of_kind[q]].area for q in of.kinds.of)
        x1 = min(x1, x0 + 3.0 * area / max(y1 - y0, size) + 10 * size)
    size = max(size, math.sqrt((x1 - x0) * (y1 - y0) / (_CELLS * n)))
    nx, ny = int(max((x1 - x0) / size, 1)), int(max((y1 - y0) / size, 1))
    ny, nx = min(ny, _CELLS * n), min(nx, _CELLS * n)
    cells = np.ceil(np.delete(per_item, big) / size) + 1
    entries = int((np.minimum(cells, nx) * np.minimum(cells, ny)).sum())
    numbers |= {"per_cell": 1.0 / size, "origin_x": x0, "origin_y": y0}
    numbers |= {"grid_x": nx, "grid_y": ny, "spare": nx * ny}
    return numbers, arrays | _buckets(nx * ny, entries)


def _buckets(cells: int, entries: int) -> dict[str, Table]:
    """Return a bucket for each cell, and others for all that finds no room in those."""
    count = cells + entries // BOXES + 1
    buckets = blank_rows("buckets", count)
    buckets["following"] = tables.NOWHERE
    buckets["following"][cells:-1] = np.arange(cells + 1, count)
    ends = buckets.view(np.float32)
    ends.reshape(count, -1)[:, : 4 * BOXES] = np.repeat([np.inf, np.inf, -np.inf, -np.inf], BOXES)
    return {"buckets": buckets, "ends": ends, "members": buckets.view(np.int32)}
