"""The largest rectangle of a remnant: as a plain search of all blocks of cells finds it."""

from __future__ import annotations

import math
import random
from itertools import product

import numpy as np
import pytest
from shapely import Point, Polygon, box, contains

from nesting.planning.buying import largest_rectangle as looked_for
from nesting.planning.buying.largest_rectangle import largest_rectangle

CELLS = 20


def shape(seed: int) -> Polygon:
    """Return a star of 14 corners with a round hole."""
    dice = random.Random(seed)
    reach = [dice.uniform(60.0, 150.0) for _ in range(14)]
    corners = [
        (r * math.cos(math.tau * i / 14), r * math.sin(math.tau * i / 14))
        for i, r in enumerate(reach)
    ]
    hole = Point(dice.uniform(-25, 25), dice.uniform(-25, 25)).buffer(12.0)
    return Polygon(corners).difference(hole)


def largest_block(area: Polygon) -> float:
    """Return the area of the largest block of the grid's cells inside, all of them tried."""
    left, low, right, high = area.bounds
    size = max(right - left, high - low) / CELLS
    columns, rows = int((right - left) / size), int((high - low) / size)
    xs, ys = np.linspace(left, right, columns + 1), np.linspace(low, high, rows + 1)
    grown = area.buffer(1e-6 * max(1.0, size))
    inside = np.array(
        [
            [contains(grown, box(xs[i], ys[j], xs[i + 1], ys[j + 1])) for j in range(rows)]
            for i in range(columns)
        ]
    )
    best = 0
    for i, j in product(range(columns), range(rows)):
        for a, b in product(range(i + 1, columns + 1), range(j + 1, rows + 1)):
            if (a - i) * (b - j) > best and inside[i:a, j:b].all():
                best = (a - i) * (b - j)
    return best * float((xs[1] - xs[0]) * (ys[1] - ys[0]))


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_no_block_of_cells_is_larger(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(looked_for, "_CELLS", CELLS)
    area = shape(seed)
    x, y, length, width = largest_rectangle(area)
    assert area.buffer(1e-5).contains(box(x, y, x + length, y + width))
    assert length * width == pytest.approx(largest_block(area))


def test_only_cells_at_the_border_are_cut_with_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """A lay of 2,000 parts leaves 663 remnants, each with up to 25,600 cells."""
    asked = 0

    def counted(area: Polygon, cells: np.ndarray) -> np.ndarray:
        nonlocal asked
        asked += len(cells)
        return contains(area, cells)

    monkeypatch.setattr(looked_for, "contains", counted)
    area = shape(1)
    largest_rectangle(area)
    left, low, right, high = area.bounds
    cell = (max(right - left, high - low) / 160) ** 2
    assert 0 < asked < 4.0 * area.length / math.sqrt(cell)
    assert asked < 0.3 * area.area / cell
