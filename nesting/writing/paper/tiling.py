"""Sheets of paper that a drawing is spread over, and the joins between them."""

from __future__ import annotations

from dataclasses import dataclass

from nesting.names import letters
from nesting.writing.paper.papers import Paper

__all__ = ["Join", "Tile", "Tiling"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tile:
    """One sheet: its name (row number and column letter), and its frame in the drawing (mm)."""

    row: int
    column: int
    x: float
    y: float
    width: float
    height: float

    @property
    def name(self) -> str:
        """1A is top left; after column Z comes AA. No sheet is called as a paper is (A4)."""
        return f"{self.row + 1}{letters(self.column)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Join:
    """A shared edge: where two tiles' papers meet (a line in the drawing), and their names.

    `names`: left and right of an upright join, above and below of a level one.
    """

    x0: float
    y0: float
    x1: float
    y1: float
    names: tuple[str, str]

    @property
    def upright(self) -> bool:
        """Whether the join runs across, from top to bottom."""
        return self.x0 == self.x1


@dataclass(frozen=True, slots=True, kw_only=True)
class Tiling:
    """The tiles that carry something, the joins between two of them, the grid of all."""

    paper: Paper
    tiles: tuple[Tile, ...]
    joins: tuple[Join, ...]
    rows: int
    columns: int
    overlap: float

    @property
    def joins_x(self) -> tuple[float, ...]:
        """Where columns of sheets are joined (mm)."""
        if not self.tiles:
            return ()
        one, half = self.tiles[0], self.overlap / 2.0
        step = one.width - self.overlap
        return tuple(one.x + (i - one.column) * step + half for i in range(1, self.columns))

    @property
    def joins_y(self) -> tuple[float, ...]:
        """Where rows of sheets are joined (mm), from the top."""
        if not self.tiles:
            return ()
        one, half = self.tiles[0], self.overlap / 2.0
        top, step = one.y + one.height, one.height - self.overlap
        return tuple(top - (i - one.row) * step - half for i in range(1, self.rows))

    def cell(self, tile: Tile) -> tuple[float, float, float, float]:
        """Return a tile's own area (x0, y0, x1, y1): its frame up to the joins."""
        half = self.overlap / 2.0
        return (
            tile.x + (half if tile.column > 0 else 0.0),
            tile.y + (half if tile.row < self.rows - 1 else 0.0),
            tile.x + tile.width - (half if tile.column < self.columns - 1 else 0.0),
            tile.y + tile.height - (half if tile.row > 0 else 0.0),
        )
