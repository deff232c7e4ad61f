"""Bounds by boxes inside the parts: what they need however they lie, by dual feasible functions."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from nesting.marker.bounds.duals import Floats, Ints, duals, portion, shares
from nesting.marker.bounds.inner import InnerBox, inner_boxes
from nesting.marker.lay import Lay, Part, Sheets, Strip
from nesting.pattern.path import Affine
from nesting.tolerance import TOLERANCE

__all__ = ["as_kind", "box_length", "box_sheets", "largest_side", "ways"]

_PAIRED = 10  # edges of dual feasible functions along, and across, on sheets


@dataclass(frozen=True, slots=True)
class _Boxes:
    """Boxes inside the parts: length along x, height along y (mm), and whose they are.

    `start`: first box of every choice (a kind of part in one turn); `kind`: first
    choice of every kind; `count`: parts of every kind.
    """

    length: Floats
    height: Floats
    start: Ints
    kind: Ints
    count: Ints

    def total(self, worth: Floats) -> float:
        """Return the least sum over the parts if every box is worth so much."""
        best = np.maximum.reduceat(worth, self.start)
        return float(np.minimum.reduceat(best, self.kind) @ self.count)


def _boxes(parts: list[Part]) -> _Boxes | None:
    """Return the boxes inside those parts whose turns are a plain set."""
    length: list[float] = []
    height: list[float] = []
    start: list[int] = []
    kind: list[int] = []
    count: list[int] = []
    for part, many in Counter(as_kind(p) for p in parts if p.turns.slack == 0.0).items():
        kind.append(len(start))
        count.append(many)
        for by in ways(part):
            start.append(len(length))
            found = inner_boxes(part.piece, by) or (InnerBox(0.0, 0.0),)
            length += [box.length for box in found]
            height += [box.height for box in found]
    if not count:
        return None
    return _Boxes(
        np.array(length), np.array(height), np.array(start), np.array(kind), np.array(count)
    )


def as_kind(part: Part) -> Part:
    """Return a part stripped of its name and rules: equal for all of a kind."""
    return Part(name="", piece=part.piece, turns=part.turns, flip=part.flip)


def ways(part: Part) -> list[Affine]:
    """Return the maps for the turns of a part whose extents can differ."""
    turns = {angle % 180.0 for angle in part.turns.angles}
    ways = [Affine.turn(angle) for angle in sorted(turns)]
    if part.flip and turns - {0.0, 90.0}:
        ways += [Affine.turn(angle).after(Affine.mirror()) for angle in sorted(turns)]
    return ways


def _splits(spacing: float) -> Iterator[tuple[float, float]]:
    """Yield growths (along, across) by which boxes of parts `spacing` apart stay disjoint.

    Boxes closer than `along` in x are at least sqrt(spacing² − along²) apart in y.
    """
    if spacing == 0.0:
        yield 0.0, 0.0
        return
    for share in (0.0, 0.25, 0.5, math.pi / 4, 1.25, 1.4, math.pi / 2):
        yield spacing * math.sin(share), max(0.0, spacing * math.cos(share))


def _passed(lay: Lay, sides: Floats, whole: float) -> float:
    """Return by how much (mm) boxes on a line may be too long together: the judge lets it pass.

    `sides`: their lengths on it; `whole`: its own.
    """
    each = 2.0 * TOLERANCE.contact * largest_side(lay)
    there = sides[sides > 0.0]
    most = min(len(lay.parts), whole // there.min() + 1.0) if len(there) else 0.0
    return float((most + 1.0) * each)


def largest_side(lay: Lay) -> float:
    """Return the longer side of the largest part's box, as it is drawn (mm)."""
    rings = (np.array(piece.cut.points(1.0)) for piece in {p.piece for p in lay.parts})
    return max(float(np.ptp(ring, axis=0).max()) for ring in rings)


def box_length(lay: Lay, strip: Strip) -> float:
    """Return the length that the boxes inside the parts need.

    On every line across the strip the boxes' duals add up to 1 at most.
    """
    boxes = _boxes(list(lay.parts))
    if boxes is None:
        return 0.0
    best = 0.0
    passed = _passed(lay, boxes.height, strip.width)
    for along, across in _splits(lay.spacing):
        grown = boxes.height + across * (boxes.height > 0)
        heights = shares(grown, strip.width + across, passed=passed)
        reach = (boxes.length + along) * (boxes.length > 0)
        for dual in duals(heights):
            value, whole = dual(heights)
            best = max(best, boxes.total(reach * value) / whole - along)
    return best


def box_sheets(lay: Lay, stock: Sheets) -> int:
    """Return how many sheets the boxes inside the parts need, by duals along and across."""
    turned = any(region.turns for sheet in stock.sheets for region in sheet.regions)
    boxes = _boxes([p for p in lay.parts if p.region is None or not turned])
    if boxes is None or not stock.sheets:
        return 0
    rings = [np.array(sheet.outline.points(TOLERANCE.chord)) for sheet in stock.sheets]
    slack = 2.0 * TOLERANCE.chord * any(sheet.outline.curved for sheet in stock.sheets)
    size = np.max([np.ptp(ring, axis=0) for ring in rings], axis=0) - 2 * stock.margin + slack
    if min(size) <= 0.0:
        return 0
    best = 0.0
    passed = [
        _passed(lay, sides, whole)
        for sides, whole in zip((boxes.length, boxes.height), size, strict=True)
    ]
    for along, across in _splits(lay.spacing):
        long, high = (
            boxes.length + along * (boxes.length > 0),
            boxes.height + across * (boxes.height > 0),
        )
        xs = shares(long, size[0] + along, passed=passed[0])
        ys = shares(high, size[1] + across, passed=passed[1])
        down = [portion(dual, ys) for dual in duals(ys, _PAIRED)]
        for dual in duals(xs, _PAIRED):
            across_x = portion(dual, xs)
            best = max(best, *(boxes.total(across_x * portion) for portion in down))
    return math.ceil(best - 1e-9)
