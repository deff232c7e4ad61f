"""A lay on certain boards, written into the tables that the kernels read."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from nesting.marker.lay import Edge, Lay
from nesting.pattern.path import Affine
from nesting.search.kernels import tables
from nesting.search.kernels.pairs import BEGIN, MOST_BESIDE, PAIR_FLOATS
from nesting.search.kernels.vectors import BOXES
from nesting.search.prepared.boards import Board
from nesting.search.prepared.forms import Shape, turned
from nesting.search.prepared.holds import Place
from nesting.search.prepared.kinds import Kinds
from nesting.search.prepared.outlines import Outline
from nesting.search.prepared.polygons import Floats

__all__ = ["GRID_FROM", "Capacity", "Domains", "Laying", "domains_of", "written"]

Ints = npt.NDArray[np.int64]
Table = npt.NDArray[Any]

GRID_FROM = 200
"""With more items than this neighbours are found by a grid; else all boxes are looked at."""

_EDGES = {None: 0, Edge.LOW: tables.LOW, Edge.HIGH: tables.HIGH}
_BIG = 4.0
"""So many times as large as most an item is too big for the grid."""
_WANTED, _CANDIDATES = 256, 16
_DEFAULTS = {
    "anywhere": 8, "nearby": 6, "top": 3, "polish": 4, "patience": 100,
    "grow_least": 1.05, "grow_most": 1.4, "decay": 0.99, "near": 1.0,
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Capacity:
    """Sizes of the store of pair records (floats) and depth tables (the others).

    `hits`: after how many tests a pair gets a table.
    """

    floats: int = 40_000_000
    singles: int = 40_000_000
    ints: int = 30_000_000
    hits: int = 200


@dataclass(frozen=True, slots=True, eq=False)
class Domains:
    """Where kinds may lie: by kind and sheet, kind after kind.

    `boxes` (n, 4): of true outlines (mm). `obstacle`: numbers of what their regions leave
    out, -1 for nothing. `placed`: body and x (mm) of each obstacle; `bodies`: convex rings.
    """

    boxes: Floats
    obstacle: Ints
    placed: tuple[tuple[int, float], ...]
    bodies: tuple[tuple[Floats, ...], ...]


@dataclass(frozen=True, slots=True, eq=False)
class Laying:
    """What is written into the tables: kinds, their outlines and shapes, and the ground.

    `options`: shapes by kind and sheet. `median`: the items' median size (mm).
    """

    lay: Lay
    kinds: Kinds
    outlines: Sequence[Outline]
    outline_of_kind: Sequence[int]
    shapes: Sequence[Shape]
    options: Sequence[Sequence[int]]
    sheets: int
    domains: Domains
    median: float
    phases: Sequence[str]

    @property
    def all_shapes(self) -> list[Shape]:
        """The items' shapes, then the obstacles'."""
        first = len(self.outlines)
        return [*self.shapes, *(Shape(first + b, 0.0, False) for b, _ in self.domains.placed)]


def domains_of(kinds: Kinds, sheets: Sequence[Board], places: Mapping[int, Place]) -> Domains:
    """Note where kinds may lie; `places`: those of kinds that are held."""
    bodies: list[tuple[Floats, ...]] = []
    body_of: dict[int, int] = {}
    numbers: dict[tuple[int, str | None], int] = {}
    placed: list[tuple[int, float]] = []
    obstacle, boxes = [], []
    for kind, part in enumerate(kinds.parts):
        for b, board in enumerate(sheets):
            area = board.areas.get(part.region)
            place = places.get(kind)
            if place is not None and place.sheet == b:
                obstacle.append(-1)
                boxes.append(place.box)
                continue
            if area is None or part.held is not None:
                obstacle.append(-1)
                boxes.append((1.0, 1.0, -1.0, -1.0))
                continue
            x0, y0, x1, y1 = area.box
            boxes.append((board.x + x0, y0, board.x + x1, y1))
            if not area.blocks:
                obstacle.append(-1)
                continue
            key = (b, part.region)
            if key not in numbers:
                if id(area) not in body_of:
                    body_of[id(area)] = len(bodies)
                    bodies.append(area.blocks)
                numbers[key] = len(placed)
                placed.append((body_of[id(area)], board.x))
            obstacle.append(numbers[key])
    rows = np.array(boxes or [(0.0, 0.0, 0.0, 0.0)], dtype=np.float64)
    of = np.array(obstacle or [-1], dtype=np.int64)
    return Domains(rows, of, tuple(placed), tuple(bodies))


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
        "tolerance": min(1e-9 * of.median, 1e-7 * float(item_sizes.min())),
        "pull": 1e-3 * math.sqrt(of.median),
        "apart": 0.5 * of.median**1.5,
        "meetings": capacity.hits,
        "has_lattice": int(any(part.binding is not None for part in kinds)),
        "has_held": int(any(part.held is not None for part in kinds)),
    }
    arrays = {
        "kept": _rows("kept", n),
        "phases": _rows("phases", len(of.phases)),
        "boxes": np.repeat([tables.FAR, tables.FAR, -tables.FAR, -tables.FAR], max(stride, 1)),
        "order": _rows("order", n + 1),
        "neighbours": _rows("neighbours", n + 1),
        "candidates": _rows("candidates", _CANDIDATES),
        "overlaps": _rows("overlaps", 64 * n + 64),
        "weights": np.ones(max(n, 1) * (n + 1), dtype=np.float32),
        "wanted": _rows("wanted", _WANTED),
    }
    for some in (_items, _ground, _shapes, _kinds, _vertices, _options):
        arrays.update(some(of))
    for more in (_mates(of, arrays["items"]), _grid(of, arrays["items"], arrays["shapes"]),
                 _store(of, capacity)):  # fmt: skip
        numbers.update(more[0])
        arrays.update(more[1])
    return numbers, arrays


def _rows(table: str, count: int) -> Table:
    return np.zeros(max(count, 1), dtype=tables.TABLES[table])


def _items(of: Laying) -> dict[str, Table]:
    rows = _rows("items", len(of.kinds.of))
    rows["sheet"] = rows["before"] = rows["after"] = rows["cell"] = tables.NOWHERE
    rows["group"] = tables.NOWHERE
    groups: dict[str, int] = {}
    for row, kind, part in zip(rows, of.kinds.of, of.lay.parts, strict=False):
        row["kind"], row["held"] = kind, part.held is not None
        if part.turn_group is not None:
            row["group"] = groups.setdefault(part.turn_group, len(groups))
    return {"items": rows}


def _mates(of: Laying, items: Table) -> tuple[dict[str, float], dict[str, Table]]:
    members: dict[str, list[int]] = {}
    for i, part in enumerate(of.lay.parts):
        if part.mates is not None:
            members.setdefault(part.mates, []).append(i)
    mates: list[int] = []
    for i, part in enumerate(of.lay.parts):
        items[i]["first_mate"] = len(mates)
        mates += [j for j in members.get(part.mates or "", []) if j != i]
        items[i]["end_mate"] = len(mates)
    return {"has_mates": int(bool(mates))}, {"mates": np.array(mates or [0], dtype=np.int64)}


def _ground(of: Laying) -> dict[str, Table]:
    ground = of.domains
    domains = _rows("domains", len(ground.boxes))
    for name, column in zip(("left", "bottom", "right", "top"), ground.boxes.T, strict=True):
        domains[name] = column
    beyond = np.where(ground.obstacle < 0, tables.NOWHERE, ground.obstacle + len(of.shapes))
    return {"domains": domains, "obstacles": beyond.astype(np.int64)}


def _shapes(of: Laying) -> dict[str, Table]:
    """Write the shapes of items, then the obstacles."""
    everything = of.all_shapes
    rows = _rows("shapes", len(everything))
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
    rows = _rows("kinds", len(of.kinds.parts))
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


def _bodies(of: Laying) -> list[tuple[Sequence[Floats], Sequence[Floats]]]:
    """Return the convex parts of outlines, then of obstacles: with spacing and without."""
    return [*((o.parts, o.plain) for o in of.outlines), *((b, b) for b in of.domains.bodies)]


def _vertices(of: Laying) -> dict[str, Table]:
    bodies = _bodies(of)
    outlines = _rows("outlines", len(bodies))
    rings: list[Floats] = []
    for row, (grown, plain) in zip(outlines, bodies, strict=False):
        row["first"], row["end"] = len(rings), len(rings) + len(grown)
        rings += grown
        row["first_plain"], row["end_plain"] = len(rings), len(rings) + len(plain)
        rings += plain
    first = np.concatenate([[0], np.cumsum([len(ring) for ring in rings])])
    vertices = _rows("vertices", int(first[-1]))
    for points in (np.concatenate(rings),) if rings else ():
        vertices["x"], vertices["y"] = points[:, 0], points[:, 1]
    return {
        "outlines": outlines,
        "first_vertex": first.astype(np.int64),
        "vertices": vertices,
        "scratch": _rows("scratch", max((len(ring) for ring in rings), default=1)),
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
    items["cell"][big] = tables.BIG
    numbers: dict[str, float] = {"big_count": len(big)}
    arrays = {"big": big.astype(np.int64) if len(big) else _rows("big", 1)}
    if n <= GRID_FROM:
        return numbers, arrays | {"heads": _rows("heads", 1)}
    limits = of.domains.boxes[of.domains.boxes[:, 2] >= of.domains.boxes[:, 0]]
    size = max(typical, 1e-9)
    x0, y0 = (limits[:, :2].min(axis=0)) if len(limits) else (0.0, 0.0)
    y1 = limits[:, 3].max() if len(limits) else 1.0
    x1 = min(float(limits[:, 2].max()) if len(limits) else 1.0, x0 + 4000 * size)
    if of.lay.stock.open_ended:
        area = sum(of.outlines[of.outline_of_kind[q]].area for q in of.kinds.of)
        x1 = min(x1, x0 + 3.0 * area / max(y1 - y0, size) + 10 * size)
    nx = int(min(max((x1 - x0) / size, 1), 4000))
    ny = int(min(max((y1 - y0) / size, 1), 1000))
    half = 0.5 * min(float(per_item[per_item <= _BIG * typical].max()), _BIG * typical)
    numbers |= {"cell": size, "origin_x": x0, "origin_y": y0, "reach_x": half, "reach_y": half}
    numbers |= {"grid_x": nx, "grid_y": ny}
    return numbers, arrays | {"heads": np.full(nx * ny, tables.NOWHERE, dtype=np.int64)}


# ---------------------------------------------------------------- pair records


def _store(of: Laying, capacity: Capacity) -> tuple[dict[str, float], dict[str, Table]]:
    """Make room for pair records and their tables."""
    keys, count = _keys(of.all_shapes, len(of.shapes))
    needed, largest = _floats(keys, of)
    room = min(needed, max(capacity.floats, largest))
    numbers: dict[str, float] = {
        "blocks_used": BEGIN,
        "room": room,
        "most_cells": 64 if count < 3000 else 24 if count < 20000 else 12,
    }
    return numbers, {
        "keys": keys.ravel() if keys.size else _rows("keys", 1),
        "pairs": _rows("pairs", count),
        "blocks": np.empty(BEGIN + room),
        "depths": np.empty(capacity.singles, dtype=np.float32),
        "lists": np.empty(capacity.ints, dtype=np.int32),
    }


def _floats(keys: npt.NDArray[np.int32], of: Laying) -> tuple[int, int]:
    """Return how many floats the records of all keys take at most, and the largest of them."""
    if not keys.size:
        return 0, 0
    _, where = np.unique(keys, return_index=True)
    a, b = np.divmod(where, keys.shape[1])
    bodies, outline = _bodies(of), np.array([s.outline for s in of.all_shapes])
    grown, plain = (
        np.array([(len(body[side]), sum(map(len, body[side]))) for body in bodies])
        for side in (0, 1)
    )
    one = np.where((b >= len(of.shapes))[:, None], plain[outline[a]], grown[outline[a]])
    two = grown[outline[b]]
    blocks = one[:, 0] * two[:, 0]
    planes = one[:, 1] * two[:, 0] + two[:, 1] * one[:, 0]
    each = PAIR_FLOATS + MOST_BESIDE * blocks + 3 * planes
    return int(each.sum()), int(each.max())


def _keys(shapes: Sequence[Shape], items: int) -> tuple[npt.NDArray[np.int32], int]:
    """Return numbers for outline pairs at relative turns and flips, (items, all), and how many."""
    total = len(shapes)
    if not items:
        return np.zeros((0, total), dtype=np.int32), 0
    outline = np.array([s.outline for s in shapes], dtype=np.int64)
    angle = np.array([s.angle for s in shapes])
    flip = np.array([int(s.flipped) for s in shapes], dtype=np.int64)
    keys = np.empty((items, total), dtype=np.int64)
    bodies = int(outline.max()) + 1
    for a in range(items):
        relative = (angle - angle[a]) * (-1 if flip[a] else 1)
        turn = np.round((relative % 360.0) * 1e6).astype(np.int64) % 360_000_000
        keys[a] = ((outline[a] * bodies + outline) * 2 + (flip ^ flip[a])) * 360_000_000 + turn
    unique, inverse = np.unique(keys, return_inverse=True)
    return inverse.reshape(keys.shape).astype(np.int32), len(unique)
