"""Contours that stay open: lines to draw, or an outline with a gap."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from shapely import LinearRing, LineString, Polygon, STRtree
from shapely import Point as ShapelyPoint
from shapely import distance as shapely_distance
from shapely import points as shapely_points

from nesting.errors import Finding, PatternError
from nesting.pattern.path import Path
from nesting.reading.items import Item, Role
from nesting.reading.pieces.contours import CHORD, SPECK, Ring, extent
from nesting.reading.pieces.notch import Edge, is_notch_line
from nesting.reading.pieces.told import count, fault, note
from nesting.reading.unit.speech import Speech
from nesting.tolerance import TOLERANCE

__all__ = ["nearly", "open_ones"]

_NEAR = 5.0
"""Times the gap that is closed: a line whose ends are so near to an outline may belong to it."""

_FEW = 8
"""At most so many contours at one point are looked at."""


def nearly(name: str, loose: Sequence[Item], say: Speech) -> list[Finding]:
    """Tell of the longest line that is an outline but for a gap, or of dashes, where none is."""
    paths = [(extent(i.path), i.path) for i in loose if i.path and i.role is Role.ANY]
    size, path = max(paths, key=lambda one: one[0], default=(0.0, None))
    gap = math.dist(path.start, path.end) if path else 0.0
    if path is None or gap > 0.5 * size:
        return _dashes(name, [path for _, path in paths], say)
    text = f"an outline is open by {say.length(gap)}; left out"
    return [fault("open", text, name, path.start, gap)]


def _dashes(name: str, paths: Sequence[Path], say: Speech) -> list[Finding]:
    """Tell of lines that stand one after another with gaps alike, as dashes of an outline do."""
    if not _LEAST_DASHES <= len(paths) <= _MOST_DASHES:
        return []
    ends = shapely_points([end for path in paths for end in (path.start, path.end)])
    gaps = []
    for k, end in enumerate(ends):
        off = shapely_distance(end, ends)
        off[[k, k ^ 1]] = math.inf  # the end itself, and the other end of its line
        gaps.append(float(off.min()))
    usual = sorted(gaps)[len(gaps) // 2]
    alike = sum(gap <= 2.0 * usual for gap in gaps)
    if not 0.0 < usual <= _WIDEST_GAP or alike < 0.8 * len(gaps):
        return []
    text = (
        f"{len(paths)} lines stand one after another, {say.length(usual)} apart, as dashes of an"
        " outline do; left out"
    )
    return [fault("open", text, name, paths[0].start, usual)]


_LEAST_DASHES, _MOST_DASHES = 8, 2_000
_WIDEST_GAP = 10.0
"""Dashes are no farther apart (mm): own choice."""


def open_ones(
    name: str,
    loose: Sequence[Item],
    rings: Sequence[Ring],
    findings: list[Finding],
    *,
    close: float,
    say: Speech,
) -> list[Item]:
    """Return open contours as lines to draw, where the file did not say what they are."""
    out: list[Item] = []
    kept = notches = 0
    cuts = [Edge(ring.path) for ring in rings]
    areas = [ring.polygon for ring in rings]
    edges = [ring.polygon.exterior for ring in rings]
    tree = STRtree(edges)
    near: dict[str, Any] = {"predicate": "dwithin", "distance": TOLERANCE.close}
    for item in loose:
        path = item.path
        assert path is not None
        if _lies_on(path, [edges[int(j)] for j in tree.query(ShapelyPoint(path.start), **near)]):
            findings.append(note("doubled", "a line of an outline drawn twice", name, path.start))
        elif _leans(path, areas, reach=_NEAR * close):
            raise PatternError(
                f"a line at {say.place(path.start)} leads from an outline, outside of it, back to "
                "it: is it a part of that piece, or of one that shares an edge with it?",
                line=item.line,
                hint="draw the outline of each piece whole",
            )
        elif item.role is Role.CUT:
            gap = math.dist(path.start, path.end)
            text = f"an outline is open by {say.length(gap)}; left out"
            findings.append(fault("open", text, name, path.start, gap))
        else:
            out.append(replace(item, role=Role.LINE))
            # `build` takes a short line at an edge for a notch, and says so.
            ends = (ShapelyPoint(end) for end in (path.start, path.end))
            at = {int(j) for end in ends for j in tree.query(end, **near)}
            notches += any(is_notch_line(path, cuts[j]) for j in at)
            kept += 1
    kept -= notches
    if kept:
        text = count(kept, "open contour") + " taken as lines to draw"
        findings.append(note("open", text, name))
    return out


def _lies_on(path: Path, edges: Sequence[LinearRing]) -> bool:
    """Tell whether a path runs along one of some contours."""
    points = path.points(CHORD)
    if len(points) < 2:
        return True
    line = LineString(points)
    return any(edge.buffer(2 * TOLERANCE.close).covers(line) for edge in edges[:_FEW])


def _leans(path: Path, areas: Sequence[Polygon], *, reach: float) -> bool:
    """Tell whether a path leads from one contour, outside of it, back to it, around some area."""
    points = path.points(CHORD)
    if len(points) < 3:
        return False
    line = LineString(points)
    held = LinearRing(points).convex_hull.area
    ends = [ShapelyPoint(end) for end in (path.start, path.end)]
    for area in areas:
        edge = area.exterior
        if held > SPECK and all(edge.distance(end) <= reach for end in ends):
            outside = line.difference(area.buffer(TOLERANCE.close))
            return bool(outside.length > 0.5 * line.length)
    return False
