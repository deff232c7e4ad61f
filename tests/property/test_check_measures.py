"""The judge's depths and areas beside measures of another kind."""

import math

import numpy as np
import pytest
from shapely import Polygon

from nesting.marker.contact import overlap_depth
from tests.property.good_markers import area_of, star


def rings(marker, i, chord):
    """Outline and holes of a laid part as arrays of points."""
    placement, piece = marker.placements[i], marker.lay.parts[marker.placements[i].part].piece
    return [
        np.array([placement.affine(p) for p in path.points(chord)])
        for path in (piece.cut, *piece.holes)
    ]


def inside(points, ring):
    """Even-odd rule."""
    x, y = points[:, :1], points[:, 1:]
    x0, y0 = ring[:, 0], ring[:, 1]
    x1, y1 = np.roll(x0, -1), np.roll(y0, -1)
    crosses = (y0 > y) != (y1 > y)
    with np.errstate(divide="ignore", invalid="ignore"):
        left = x < x0 + (y - y0) * (x1 - x0) / (y1 - y0)
    return np.sum(crosses & left, axis=1) % 2 == 1


def edge_distance(points, ring):
    """Distance of points from the edges of a ring."""
    start, way = ring, np.roll(ring, -1, axis=0) - ring
    rel = points[:, None, :] - start[None]
    t = np.clip(np.sum(rel * way, axis=2) / np.sum(way * way, axis=1), 0.0, 1.0)
    return np.min(np.hypot(*np.moveaxis(rel - t[:, :, None] * way, 2, 0)), axis=1)


def ring_distance(a, b):
    """Distance of two outlines that don't cross (it is taken at a corner of one)."""
    return float(min(edge_distance(a, b).min(), edge_distance(b, a).min()))


def sampled_depth(a, b, n=60):
    """Largest depth in `a` or `b` among a grid of shared points: never above the truth."""
    low = np.maximum(a.min(axis=0), b.min(axis=0))
    high = np.minimum(a.max(axis=0), b.max(axis=0))
    if (low >= high).any():
        return 0.0
    grid = np.stack(np.meshgrid(*np.linspace(low, high, n).T), axis=-1).reshape(-1, 2)
    grid = np.vstack([grid, a, b])
    shared = grid[inside(grid, a) & inside(grid, b)]
    if len(shared) == 0:
        return 0.0
    return float(max(edge_distance(shared, a).max(), edge_distance(shared, b).max()))


def deep_point(marker, i):
    """Find a point well inside a laid part, by sampling."""
    outline, *holes = rings(marker, i, chord=0.5)
    low, high = outline.min(axis=0), outline.max(axis=0)
    grid = np.stack(np.meshgrid(*np.linspace(low, high, 40).T), axis=-1).reshape(-1, 2)
    grid = grid[inside(grid, outline)]
    depth = edge_distance(grid, outline)
    for hole in holes:
        depth = np.where(inside(grid, hole), 0.0, np.minimum(depth, edge_distance(grid, hole)))
    best = grid[int(np.argmax(depth))]
    return float(best[0]), float(best[1])


def convex(rng, n=12):
    turns = np.sort(rng.uniform(0.0, 2.0 * math.pi, n))
    ring = np.c_[50.0 * np.cos(turns), rng.uniform(20.0, 50.0) * np.sin(turns)]
    return ring if area_of(ring) > 500.0 else convex(rng, n)


def least_shift(a, b):
    """Shortest shift that parts two convex rings: separating axes (Gottschalk et al. 1996)."""
    normals = np.vstack([np.roll(ring, -1, axis=0) - ring for ring in (a, b)])[:, ::-1] * (1, -1)
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    over = (normals @ a.T).max(axis=1) - (normals @ b.T).min(axis=1)
    under = (normals @ b.T).max(axis=1) - (normals @ a.T).min(axis=1)
    return float(min(over.min(), under.min()))


def clipped_area(a, b):
    """Area shared by two convex rings: clipping by half-planes (Sutherland and Hodgman 1974)."""
    out = a
    for p, q in zip(b, np.roll(b, -1, axis=0), strict=True):
        side = (q[0] - p[0]) * (out[:, 1] - p[1]) - (q[1] - p[1]) * (out[:, 0] - p[0])
        kept = []
        for k in range(len(out)):
            s, t, u, v = out[k - 1], out[k], side[k - 1], side[k]
            if (u < 0.0) != (v < 0.0):
                kept.append(s + (t - s) * u / (u - v))
            if v >= 0.0:
                kept.append(t)
        if len(kept) < 3:
            return 0.0
        out = np.array(kept)
    return abs(area_of(out))


@pytest.mark.parametrize("seed", range(60))
def test_depth_and_area_of_convex_overlaps(seed):
    rng = np.random.default_rng(seed)
    a, b = convex(rng), convex(rng)
    way = rng.normal(size=2)
    way /= np.linalg.norm(way)
    # Walk b away from a until they part; then come back by a known, small way.
    low, high = 0.0, 300.0
    while high - low > 1e-12 * high:
        mid = 0.5 * (low + high)
        low, high = (mid, high) if least_shift(a, b + mid * way) > 0.0 else (low, mid)
    for back in (1e-3, 0.1, 2.0, 20.0):
        moved = b + (high - back) * way
        shift = least_shift(a, moved)
        depth, area, at = overlap_depth(Polygon(a), Polygon(moved))
        assert depth <= shift * 1.003
        assert depth >= sampled_depth(a, moved) * 0.997
        assert area == pytest.approx(clipped_area(a, moved), rel=1e-6)
        where = np.array([at])
        reach = max(edge_distance(where, a)[0], edge_distance(where, moved)[0])
        assert reach == pytest.approx(depth, rel=3e-3)
        if back <= 0.1:
            # A corner in an edge: the depth is the shortest way out.
            assert depth == pytest.approx(shift, rel=3e-3)


@pytest.mark.parametrize("seed", range(40))
def test_depth_of_concave_overlaps(seed):
    rng = np.random.default_rng(seed)
    a = np.array(star(rng, 100.0).points(1e-3))
    b = np.array(star(rng, 100.0).points(1e-3)) + rng.uniform(-60.0, 60.0, 2)
    depth, _, _ = overlap_depth(Polygon(a), Polygon(b))
    sampled = sampled_depth(a, b, n=150)
    assert depth >= sampled * 0.997
    # A grid point lies within half a cell's diagonal of the deepest point, if it is shared.
    assert depth <= sampled + 1.5 or sampled == 0.0
