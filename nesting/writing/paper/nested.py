"""A pattern's sizes drawn one within the other, each on a layer of its own."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from nesting.job.job import Job
from nesting.marker.lay import Part
from nesting.pattern.measure import bounds
from nesting.pattern.path import Point
from nesting.writing.neutral.drawing import Drawing, Hole, Operation, Role, Stroke

__all__ = ["Sizes", "centred", "extent", "layer_of", "nested", "of_piece", "size_dash"]

Sizes = Mapping[tuple[str, str], tuple[tuple[str, Part], ...]]
"""By bag and name of the piece: it in each size, smallest first, where they differ."""

_SIZED = (Operation.CUT, Operation.NOTCH, Operation.DRILL, Operation.SEW, Operation.MARK)


def layer_of(size: str) -> str:
    """Return what the layer of a size is called."""
    return f"size {size}"


def size_dash(sizes: Sequence[str], size: str, *, times: float = 1.0) -> str:
    """Return the dashes (mm) of the line that is cut in a size: a full line in the largest.

    `times`: how much longer they are, for thicker lines.
    """
    before = len(sizes) - 1 - sizes.index(size)
    if before == 0:
        return ""
    # A long dash, and a short one more for each: they are counted, on any printer.
    return " ".join(f"{part * times:g}" for part in (7.0, 2.5, *((1.0, 2.5) * (before - 1))))


def of_piece(part: Part, sizes: Sizes) -> tuple[tuple[str, Part], ...]:
    """Return a template in each size; nothing if it is the same in all."""
    return sizes.get((part.design, part.piece.name), ())


def extent(part: Part, sizes: Sizes) -> tuple[float, float]:
    """Return how long and wide (mm) a template is, all sizes of it on one another's middle."""
    boxes = [bounds(one.piece.cut) for _, one in of_piece(part, sizes) or (("", part),)]
    return max(x1 - x0 for x0, _, x1, _ in boxes), max(y1 - y0 for _, y0, _, y1 in boxes)


def nested(job: Job, size: str, drawings: Mapping[str, Drawing], sizes: Sizes) -> Drawing:
    """Return one drawing of all sizes: names and arrows of one, the lines of each with its size.

    `size`: whose names and arrows they are; `drawings`: by size, parts in the same order.
    """
    base = drawings[size]
    own = {i for i, part in enumerate(base.parts) if of_piece(part, sizes)}
    strokes = [s for s in base.strokes if s.part not in own or not _is_sized(s)]
    holes: list[Hole] = [hole for hole in base.holes if hole.part not in own]
    for name in job.sizes:
        drawing = drawings[name]
        strokes += [
            replace(s, size=name) for s in drawing.strokes if s.part in own and _is_sized(s)
        ]
        holes += [replace(hole, size=name) for hole in drawing.holes if hole.part in own]
    shown = job.sizes if own else ()
    return replace(base, strokes=tuple(strokes), holes=tuple(holes), sizes=shown)


def _is_sized(stroke: Stroke) -> bool:
    return stroke.operation in _SIZED and stroke.role is not Role.GRAIN


def centred(part: Part, at: Point, room: tuple[float, float]) -> Point:
    """Return where a template's lower left corner lies, it in the middle of a room (mm)."""
    x0, y0, x1, y1 = bounds(part.piece.cut)
    return at[0] + (room[0] - (x1 - x0)) / 2.0, at[1] + (room[1] - (y1 - y0)) / 2.0
