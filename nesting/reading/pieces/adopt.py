"""What is drawn on a layer of its own, outside of every piece's group, but on a piece."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import islice

from shapely import LineString, Polygon, STRtree
from shapely.errors import GEOSException

from nesting.pattern.measure import bounds
from nesting.pattern.path import Path
from nesting.reading.items import CLOSE, Item, Role
from nesting.reading.pieces.chain import chain
from nesting.reading.raw_pattern import Draft

__all__ = ["adopted", "rings"]

_FINE = 1e-3
"""Share of an outline's size that counts for nothing where a line lies on it."""
_JOINED = 0.005
"""Ends of loose outlines nearer than this share of their size meet, as far as it tells
what lies in what; times as much as wider gaps are to be closed."""
_MOST = 5_000
"""Points of an outline that are looked at."""


def adopted(
    loose: Draft, drafts: Sequence[Draft], *, close: float = CLOSE, contours: bool = True
) -> list[Item]:
    """Return what lies in none of the drafts' outlines; give the rest to the smallest around it.

    Sewing, fold and grain lines often have a layer that is no part of a piece's group. A
    contour with a name of its own stays a piece, as do all without `contours`.
    """
    items = loose.group.items
    others = [draft for draft in drafts if draft is not loose]
    if not items or not others:
        return list(items)
    areas: list[Polygon] = []
    owners: list[tuple[Draft, Path]] = []
    for draft in drafts:
        for ring in rings(draft.group.items, close=close):
            area = _area(ring)
            if area is not None:
                areas.append(area)
                owners.append((draft, ring))
    tree = STRtree(areas)
    gone: set[int] = set()
    for item in sorted(items, key=lambda item: item.path is None or not item.path.closed):
        shape = _shape(item)
        own_piece = item.role in (Role.ANY, Role.CUT) and (item.label or not contours)
        if shape is None or item.role is Role.REFERENCE or own_piece:
            continue
        hits = map(int, tree.query(shape, predicate="within"))
        around = [i for i in hits if owners[i][1] is not item.path]
        best = min(around, key=lambda i: areas[i].area, default=None)
        if best is None or owners[best][0] is loose:
            continue
        draft = owners[best][0]
        draft.group.items.append(item)
        gone.add(id(item))
        owners = [(draft, ring) if ring is item.path else (own, ring) for own, ring in owners]
    return [item for item in items if id(item) not in gone]


def _area(ring: Path) -> Polygon | None:
    x0, y0, x1, y1 = bounds(ring)
    fine = _FINE * max(x1 - x0, y1 - y0, 1e-9)
    points = ring.points(fine)
    try:
        area = Polygon(points[:: 1 + len(points) // _MOST]).buffer(0.0).buffer(fine)
    except (ValueError, GEOSException):
        return None
    return area if area.area > 0.0 else None


def rings(items: Sequence[Item], *, close: float = CLOSE) -> list[Path]:
    """Return the closed contours among items, loose lines joined; nothing if there is none."""
    closed: list[Path] = []
    loose: list[Path] = []
    for item in items:
        if item.path is None or item.role not in (Role.CUT, Role.ANY):
            continue
        (closed if item.path.closed else loose).append(item.path)
    if loose:
        x0, y0, x1, y1 = zip(*(bounds(path) for path in loose), strict=True)
        size = max(max(x1) - min(x0), max(y1) - min(y0))
        reach = _JOINED * max(1.0, close / CLOSE)
        closed += chain(loose, close=reach * size).rings if size > 0.0 else []
    return closed


def _shape(item: Item) -> LineString | None:
    if item.path is None:
        return None if item.at is None else LineString([item.at, item.at])
    x0, y0, x1, y1 = bounds(item.path)
    points = list(islice(item.path.points(_FINE * max(x1 - x0, y1 - y0, 1e-9)), _MOST))
    return LineString(points if len(points) > 1 else [*points, *points])
