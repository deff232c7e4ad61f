"""How the sheets of a picture stand in rows, so that they show largest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from nesting.writing.neutral.drawing import Box

__all__ = ["GAP_X", "GAP_Y", "Grid", "views"]

_WIDEST, _HIGHEST = 20.0, 12.0  # inches for all the sheets together
GAP_X, GAP_Y = 0.9, 0.95  # inches between sheets
_MOST_ROWS = 6  # of a long lay


@dataclass(frozen=True, slots=True)
class Grid:
    """Sheets (width, height; mm) in rows of `columns`, each row as high as its highest.

    `sizes`: one for each sheet, in reading order.
    """

    sizes: tuple[tuple[float, float], ...]
    columns: int

    @property
    def rows(self) -> int:
        """How many rows there are."""
        return len(self._rows)

    @property
    def _rows(self) -> list[tuple[tuple[float, float], ...]]:
        return [self.sizes[i : i + self.columns] for i in range(0, len(self.sizes), self.columns)]

    @property
    def scale(self) -> float:
        """Inches for each mm at which everything has room."""
        across = [
            (_WIDEST - (len(row) - 1) * GAP_X) / sum(wide for wide, _ in row) for row in self._rows
        ]
        up = (_HIGHEST - (self.rows - 1) * GAP_Y) / sum(self._heights)
        return min(*across, up)

    @property
    def _heights(self) -> list[float]:
        return [max(high for _, high in row) for row in self._rows]

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of it all (inches)."""
        scale = self.scale
        wide = [scale * sum(w for w, _ in row) + (len(row) - 1) * GAP_X for row in self._rows]
        return max(wide), scale * sum(self._heights) + (self.rows - 1) * GAP_Y

    def corner(self, i: int) -> tuple[float, float]:
        """Return the lower left corner of the i-th sheet from that of it all (inches)."""
        row, column = divmod(i, self.columns)
        scale, heights = self.scale, self._heights
        left = scale * sum(w for w, _ in self._rows[row][:column]) + column * GAP_X
        below = scale * sum(heights[row + 1 :]) + (self.rows - 1 - row) * GAP_Y
        return left, below + scale * (heights[row] - self.sizes[i][1])


def views(boxes: Sequence[Box]) -> tuple[Grid, list[tuple[int, Box]]]:
    """Return what is shown where: (which drawing, its box), one after another in a grid.

    A single drawing that is long is broken into rows, like text, if that shows it larger.
    """
    if len(boxes) == 1:
        x0, y0, x1, y1 = boxes[0]
        rows = [Grid((((x1 - x0) / n, y1 - y0),) * n, 1) for n in range(1, _MOST_ROWS + 1)]
        grid = max(rows, key=lambda grid: grid.scale)
        edges = [x0 + (x1 - x0) * i / grid.rows for i in range(grid.rows + 1)]
        return grid, [(0, (a, y0, b, y1)) for a, b in pairwise(edges)]
    sizes = tuple((x1 - x0, y1 - y0) for x0, y0, x1, y1 in boxes)
    grids = [Grid(sizes, columns) for columns in range(1, len(sizes) + 1)]
    return max(grids, key=lambda grid: grid.scale), list(enumerate(boxes))
