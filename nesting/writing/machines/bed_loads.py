"""A marker cut load by load, where it was planned in loads of the bed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from nesting.pattern.measure import bounds
from nesting.planning.records import BedLoad
from nesting.writing.neutral.drawing import Drawing, Stroke

__all__ = ["drawn_loads"]


def drawn_loads(drawing: Drawing, loads: Sequence[BedLoad]) -> Iterator[tuple[BedLoad, Drawing]]:
    """Yield what is cut in each load, where it lies on the material."""
    for number, load in enumerate(loads, 1):
        names = set(load.parts)
        own = {i for i, part in enumerate(drawing.parts) if part.name in names}
        yield (
            load,
            replace(
                drawing,
                name=f"{drawing.name} (load {number} of {len(loads)})",
                length=load.length,
                width=load.width,
                strokes=tuple(
                    stroke
                    for stroke in drawing.strokes
                    if (stroke.part in own if stroke.part is not None else _inside(stroke, load))
                ),
                labels=tuple(label for label in drawing.labels if label.part in own),
            ),
        )


def _inside(stroke: Stroke, load: BedLoad) -> bool:
    """Whether the middle of a stroke that is no part's lies in a load."""
    x0, y0, x1, y1 = bounds(stroke.path)
    x, y = 0.5 * (x0 + x1) - load.x, 0.5 * (y0 + y1) - load.y
    return 0.0 <= x < load.length and 0.0 <= y < load.width
