"""Room on large sheets for what goes before them: a shop charges for each sheet."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence

from shapely import box, unary_union
from shapely.prepared import prep

from nesting.writing.neutral.drawing import Box, Drawing, Operation
from nesting.writing.neutral.lettering import text_box
from nesting.writing.paper.papers import Paper
from nesting.writing.paper.print_front import COLUMN, Block
from nesting.writing.paper.tiles import printed
from nesting.writing.paper.tiling import Tile, Tiling

__all__ = ["Placed", "is_large", "placed"]

Placed = dict[tuple[int, str], list[tuple[Box, Block]]]
"""Blocks by the drawing and the name of the sheet they stand on, each in its box (mm of it)."""

_LARGE = 500.0
"""Both sides of a frame (mm) from which a sheet is a shop's, and not the home printer's."""
_CLEAR, _STEP = 6.0, 10.0
"""White around a block, and how far from one another places are tried (mm; own choice)."""


def is_large(paper: Paper) -> bool:
    """Whether what goes before the sheets shall not take one of its own."""
    return paper.open_length or min(paper.frame_width, paper.frame_height) >= _LARGE


def placed(
    blocks: Sequence[Block], prints: Sequence[tuple[Drawing, Tiling]]
) -> tuple[Placed, list[Block]]:
    """Return where blocks find room on sheets of their drawing, and those that don't.

    A marker is laid on the goods, whose edges and repeats run through it: it has no room.
    """
    found: Placed = defaultdict(list)
    left: list[Block] = []
    for block in blocks:
        drawing, tiling = prints[block.drawing]
        for tile in () if _on_goods(drawing) else tiling.tiles:
            here = found[block.drawing, tile.name]
            if at := _room(block, drawing, tiling, tile, [taken for taken, _ in here]):
                here.append((at, block))
                break
        else:
            left.append(block)
    return found, left


def _on_goods(drawing: Drawing) -> bool:
    return any(stroke.operation is Operation.EDGE for stroke in drawing.strokes)


def _room(
    block: Block, drawing: Drawing, tiling: Tiling, tile: Tile, taken: Sequence[Box]
) -> Box | None:
    """Return the first free place for a block on a sheet, from the left and from below."""
    texts = [text_box(n.text, n.at, height=n.height, angle=n.angle) for n in drawing.labels]
    shapes = [printed(drawing), *texts, *(box(*other) for other in taken)]
    used = prep(unary_union(shapes).buffer(_CLEAR))
    for x, y in _corners(tiling.cell(tile), height=block.height):
        here = (x, y, x + COLUMN, y + block.height)
        if not used.intersects(box(*here)):
            return here
    return None


def _corners(cell: Box, *, height: float) -> Iterator[tuple[float, float]]:
    """Give the places of a block's lower left corner on a sheet, clear of its joins."""
    x0, y0, x1, y1 = cell
    across = int((x1 - x0 - COLUMN - 2.0 * _STEP) / _STEP) + 1
    up = int((y1 - y0 - height - 2.0 * _STEP) / _STEP) + 1
    for i in range(across):
        for k in range(up):
            yield x0 + (i + 1) * _STEP, y0 + (k + 1) * _STEP
