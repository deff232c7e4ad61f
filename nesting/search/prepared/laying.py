"""What is written into the tables: kinds with their outlines and shapes, and where they may lie."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from nesting.marker.lay import Lay
from nesting.search.kernels import tables
from nesting.search.prepared.boards import Board
from nesting.search.prepared.forms import Shape
from nesting.search.prepared.holds import Place
from nesting.search.prepared.kinds import Kinds
from nesting.search.prepared.outlines import Outline
from nesting.search.prepared.polygons import Floats

__all__ = ["Domains", "Laying", "Table", "blank_rows", "bodies_of", "domains_of"]

Ints = npt.NDArray[np.int64]
Table = npt.NDArray[Any]


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


def blank_rows(table: str, count: int) -> Table:
    """Return so many rows of a table, at least one, all of noughts, from the start of a line."""
    dtype, count = tables.TABLES[table], max(count, 1)
    raw = np.zeros(count * dtype.itemsize + tables.LINE, dtype=np.uint8)
    start = -raw.ctypes.data % tables.LINE
    return raw[start : start + count * dtype.itemsize].view(dtype)


def bodies_of(of: Laying) -> list[tuple[Sequence[Floats], Sequence[Floats]]]:
    """Return the convex parts of outlines, then of obstacles: with spacing and without."""
    return [*((o.parts, o.plain) for o in of.outlines), *((b, b) for b in of.domains.bodies)]
