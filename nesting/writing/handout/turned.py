"""A drawing turned by a right angle, what was right now up, its texts still read from below."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

from nesting.pattern.path import Affine, Point
from nesting.writing.neutral.drawing import Drawing, Label

__all__ = ["turned"]


def turned(drawing: Drawing) -> Drawing:
    """Return a drawing turned by 90° counter-clockwise."""
    by = Affine.turn(90.0)
    return replace(
        drawing,
        length=0.0,
        width=0.0,
        strokes=tuple(replace(s, path=s.path.transformed(by)) for s in drawing.strokes),
        holes=tuple(replace(hole, at=by(hole.at)) for hole in drawing.holes),
        labels=tuple(_labels(drawing.labels, by)),
        shown=None,
    )


def _labels(labels: Sequence[Label], by: Affine) -> list[Label]:
    """Return lines of text turned; those that would stand on their head are turned once more.

    The lines of one block change places then: the first of them stays above the others.
    """
    blocks: defaultdict[object, list[int]] = defaultdict(list)
    for i, label in enumerate(labels):
        blocks[label.part, label.angle, label.height, label.operation].append(i)
    places: dict[int, Point] = {}
    for block in blocks.values():
        places |= zip(block, (labels[i].at for i in reversed(block)), strict=True)
    found = []
    for i, label in enumerate(labels):
        angle = label.angle + 90.0
        over = angle > 90.0 + 1e-6
        at = places[i] if over and label.part is not None else label.at
        found.append(replace(label, at=by(at), angle=angle - 180.0 if over else angle))
    return found
