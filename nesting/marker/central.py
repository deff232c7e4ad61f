"""Parts so large that, wherever they lie, they reach the middle of their sheet.

No two of them share a sheet, which neither areas nor boxes at set turns tell of parts that
may be turned freely.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from shapely import affinity, box
from shapely.geometry.base import BaseGeometry

from nesting.marker.lay import Lay, Part, Sheets
from nesting.pattern.measure import bounds
from nesting.pattern.polygon import piece_polygon
from nesting.tolerance import TOLERANCE

__all__ = ["alone_on_sheets"]

_STEP = 1.0
"""Degrees: a free turn is looked at in ranges of this."""

_ROUND = 1.01
"""A buffer's arcs are chords: its radius is made larger by more than they fall short."""


def alone_on_sheets(lay: Lay, stock: Sheets) -> int:
    """Return how many parts there are of which any two need two sheets.

    Every one of them reaches, at each turn and place that its sheet allows, less than half
    the spacing from the middle of the sheet's box (or covers it): a second one would come
    nearer to it than the spacing. Turns from a range are proved range by range: a part turned
    by at most δ more contains what is left of it inwards of δ × its radius.
    What the judge lets pass is counted as such a turn.
    """
    kinds = Counter(
        replace(part, name="", copy=1, bag=1, mates=None, match=None) for part in lay.parts
    )
    boxes = {bounds(sheet.outline) for sheet in stock.sheets}
    turned = any(region.turns for sheet in stock.sheets for region in sheet.regions)
    return sum(
        count
        for part, count in kinds.items()
        if not (turned and part.region)
        and all(_central(part, size, margin=stock.margin, spacing=lay.spacing) for size in boxes)
    )


def _central(
    part: Part, sheet: tuple[float, float, float, float], *, margin: float, spacing: float
) -> bool:
    """Whether a part reaches the middle of a box wherever it lies in it (or never lies in it)."""
    x0, y0, x1, y1 = sheet
    half = (0.5 * (x1 - x0) - margin, 0.5 * (y1 - y0) - margin)
    body = piece_polygon(part.piece)
    a, b, c, d = body.bounds
    if max(c - a, d - b) < min(half):  # there is a place beside the middle
        return False
    body = affinity.translate(body, -0.5 * (a + c), -0.5 * (b + d))
    corners = np.asarray(body.exterior.coords)
    radius = float(np.hypot(*corners.T).max())
    for shape in (body, affinity.scale(body, yfact=-1.0, origin=(0.0, 0.0)))[: 1 + part.flip]:
        for angle, slack in _ranges(part):
            turned = affinity.rotate(shape, angle, origin=(0.0, 0.0))
            if not _covers(
                turned,
                half,
                off=radius * (math.radians(slack) + 2.0 * TOLERANCE.contact),
                grown=0.5 * spacing,
            ):
                return False
    return True


def _ranges(part: Part) -> Iterator[tuple[float, float]]:
    """Yield the turns of a part as (angle, give or take), in degrees."""
    slack = min(part.turns.slack, 180.0)
    if slack == 0.0:
        yield from ((angle, 0.0) for angle in part.turns.angles)
        return
    steps = math.ceil(2.0 * slack / _STEP)
    step = 2.0 * slack / steps
    for angle in part.turns.angles[:1] if slack == 180.0 else part.turns.angles:
        yield from ((angle - slack + (k + 0.5) * step, 0.5 * step) for k in range(steps))


def _covers(shape: BaseGeometry, half: tuple[float, float], *, off: float, grown: float) -> bool:
    """Whether a shape, turned by a little, reaches (0, 0) from every place in ±`half`."""
    a, b, c, d = shape.bounds
    # Where its origin may lie: it reaches less far than its bounds by `off`.
    low = (-half[0] - a - off, -half[1] - b - off)
    high = (half[0] - c + off, half[1] - d + off)
    if low[0] > high[0] or low[1] > high[1]:
        return True
    inner = grown - _ROUND * (off + 2.0 * TOLERANCE.chord)
    kept = shape.buffer(inner)
    return bool(kept.contains(box(-high[0], -high[1], -low[0], -low[1])))
