"""Where pieces stand on a contact sheet: at one scale, in rows, with little paper left white."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

__all__ = ["Cell", "Sheet", "sheet"]

WIDTH = 11.0
"""Widest sheet, inches."""
HEIGHT = 14.0
"""A sheet grows higher only if pieces would be drawn smaller than `SMALLEST`, inches."""
RULER = 0.3
CAPTION = 0.62
_LEAST = 1.2  # inches for a caption
_GAP = 0.2
SMALLEST = 1.5
"""The largest piece is drawn no smaller, inches."""
_LARGEST = 1.0 / 25.4  # inches for a mm: as large as it is


@dataclass(frozen=True, slots=True)
class Cell:
    """A piece's lower left corner on the sheet, inches from its lower left corner."""

    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet's size, inches; inches drawn for a mm; and a cell for every piece."""

    width: float
    height: float
    scale: float
    cells: tuple[Cell, ...]


def sheet(sizes: Sequence[tuple[float, float]]) -> Sheet:
    """Return where pieces of so many mm across and up stand, drawn as large as the sheet allows."""
    across = max((w for w, _ in sizes), default=1.0)
    longest = max((max(size) for size in sizes), default=1.0)
    scale = min(_LARGEST, (WIDTH - RULER - 2 * _GAP) / across, (HEIGHT - 2.0) / longest)
    least = min(scale, SMALLEST / longest)
    while True:
        rows = list(_rows(sizes, scale))
        height = _GAP + sum(tall for _, tall in rows)
        if height <= HEIGHT or scale <= least:
            break
        scale = max(least, 0.95 * scale)
    cells = [Cell(0.0, 0.0)] * len(sizes)
    width, top = 0.0, height
    for row, tall in rows:
        x = _GAP
        for i in row:
            cells[i] = Cell(x + RULER, top - tall + CAPTION + RULER)
            x += _wide(sizes[i], scale)
        width, top = max(width, x), top - tall
    return Sheet(width, height, scale, tuple(cells))


def _wide(size: tuple[float, float], scale: float) -> float:
    return max(RULER + size[0] * scale, _LEAST) + _GAP


def _rows(sizes: Sequence[tuple[float, float]], scale: float) -> Iterator[tuple[list[int], float]]:
    """Yield which pieces stand in a row, the high ones first, and how high it is."""
    row: list[int] = []
    used = tall = 0.0
    for i in sorted(range(len(sizes)), key=lambda i: -sizes[i][1]):
        wide = _wide(sizes[i], scale)
        if row and used + wide > WIDTH - _GAP:
            yield row, tall
            row, used = [], 0.0
        if not row:
            tall = sizes[i][1] * scale + RULER + CAPTION + _GAP
        row.append(i)
        used += wide
    if row:
        yield row, tall
