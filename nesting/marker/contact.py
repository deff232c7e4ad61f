"""How deep areas overlap and how near they come, measured on true outlines."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, MultiPolygon, Polygon, STRtree
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry

from nesting.pattern.path import Affine, Path, Point
from nesting.tolerance import TOLERANCE

__all__ = [
    "Clash",
    "Solid",
    "clashes",
    "outline_solid",
    "outside_of",
    "overlap_depth",
    "trespasses",
]

Floats = NDArray[np.float64]

_FINE = 1e-3
"""Relative precision to which a depth is measured."""

_NOTHING = 1e-8
"""A depth below this share of an area's size is none."""

_CHUNK = 32

_FEW = 16
"""Of areas of more corners a depth is narrowed down by squares before areas are shrunk."""

_MANY = 300
"""Areas of more segments are slow to shrink."""

_SQUARES, _ASKED = 60_000, 150_000
"""So many squares at once, or of areas that are quick to shrink squares times segments: where
more are equally deep, shrinking areas is quicker."""

_ALL = 200_000
"""For so many points times segments all distances are asked for; beyond it a tree is."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Solid:
    """An area (mm) on which something lies or which is barred.

    `core`: what is left of the area when a little less than its tolerance is taken off
    all round; whatever stays out of it doesn't go deeper than the tolerance. `size`:
    the longer side of its bounding box as drawn (0 for stock, so that the part
    decides). `curves`: how many curved outlines stand behind it. `crossed`: its outline
    crosses itself; the area is then all that it encloses.
    """

    area: BaseGeometry
    core: BaseGeometry
    size: float = 0.0
    curves: int = 0
    crossed: bool = False

    def placed(self, by: Affine) -> Solid:
        """Return the solid mapped by an isometry."""
        matrix = [by.a, by.b, by.c, by.d, by.e, by.f]
        area, core = affine_transform(self.area, matrix), affine_transform(self.core, matrix)
        return replace(self, area=area, core=core)

    def allowance(self, other: Solid) -> float:
        """Return the depth, or lack of distance, that is let pass between two solids (mm)."""
        curves = self.curves + other.curves
        return TOLERANCE.contact * max(self.size, other.size) + TOLERANCE.chord * curves

    @property
    def own(self) -> float:
        """What is let pass at least, whatever the other solid is (mm)."""
        return TOLERANCE.contact * self.size + TOLERANCE.chord * self.curves


@dataclass(frozen=True, slots=True, kw_only=True)
class Clash:
    """Two solids that overlap or come too near.

    `first`, `second`: their indices. `depth`: of the overlap (mm; 0 if there is none).
    `shared`: its area (mm²). `distance` between them (mm). `at`: where.
    """

    first: int
    second: int
    depth: float
    shared: float
    distance: float
    at: Point


def outline_solid(outline: Path, *, holes: tuple[Path, ...] = (), size: bool = True) -> Solid:
    """Return the solid inside closed outlines, curves as chords `TOLERANCE.chord` away.

    An outline that encloses nothing (a scratch drawn as a line) is kept as that line.
    With `size` false it is stock: only the size of the parts counts.
    """
    ring = outline.points(TOLERANCE.chord)
    inner = [hole.points(TOLERANCE.chord) for hole in holes]
    drawn = _polygon(ring, inner)
    area = _sound(drawn)
    crossed = abs(area.area - drawn.area) > TOLERANCE.contact * max(area.area, drawn.area)
    if area.is_empty:
        area = _line(ring)
    x0, y0, x1, y1 = area.bounds if not area.is_empty else (0.0, 0.0, 0.0, 0.0)
    curves = int(outline.curved or any(hole.curved for hole in holes))
    longer = max(x1 - x0, y1 - y0) if size else 0.0
    whole = Solid(area=area, core=area, size=longer, curves=curves, crossed=crossed)
    return replace(whole, core=_shrunk(area, 0.5 * whole.own))


def outside_of(allowed: BaseGeometry, *, reach: tuple[float, float, float, float]) -> BaseGeometry:
    """Return all that isn't `allowed`, as far as it can matter to what lies within `reach`."""
    x0, y0, x1, y1 = shapely.union(shapely.box(*reach), shapely.envelope(allowed)).bounds
    pad = 1.0 + math.hypot(x1 - x0, y1 - y0)
    return shapely.difference(shapely.box(x0 - pad, y0 - pad, x1 + pad, y1 + pad), allowed)


def clashes(solids: Sequence[Solid], *, spacing: float) -> Iterator[Clash]:
    """Yield every two solids that overlap or lie nearer than `spacing` (mm), once each.

    Near pairs come from a tree over bounding boxes; what touches is told from what
    overlaps by the cores, and only what then remains is measured.
    """
    areas = np.array([solid.area for solid in solids], dtype=object)
    cores = np.array([solid.core for solid in solids], dtype=object)
    shapely.prepare(areas)
    shapely.prepare(cores)
    tree = STRtree(areas)
    near = np.array([max(0.0, spacing - solid.own) for solid in solids])
    for start in range(0, len(areas), _CHUNK):
        chunk = slice(start, start + _CHUNK)
        if spacing > 0.0:
            first, second = tree.query(areas[chunk], predicate="dwithin", distance=near[chunk])
        else:
            first, second = tree.query(areas[chunk])
        first = first + start
        once = first < second
        order = np.lexsort((second[once], first[once]))
        first, second = first[once][order], second[once][order]
        deep = shapely.intersects(cores[first], areas[second])
        deep |= shapely.intersects(cores[second], areas[first])
        for i, j, overlaps in zip(first.tolist(), second.tolist(), deep.tolist(), strict=True):
            clash = _clash((solids[i], solids[j]), spacing=spacing, deep=overlaps, sides=2)
            if clash is not None:
                yield replace(clash, first=i, second=j)


def trespasses(
    solids: Sequence[Solid], barred: Solid, *, clearance: float, sides: int
) -> Iterator[Clash]:
    """Yield every solid that reaches into what is barred, or nearer to it than `clearance`.

    With `sides` = 1 the depth is how far a solid reaches into what is barred; with 2
    it is also how far what is barred reaches into the solid: right for a narrow flaw,
    wrong for a hairline between two regions that were drawn side by side.
    """
    areas = np.array([solid.area for solid in solids], dtype=object)
    shapely.prepare(barred.area)
    core = _shrunk(barred.area, 0.5 * min(barred.allowance(solid) for solid in solids))
    shapely.prepare(core)
    deep = shapely.intersects(core, areas)
    if sides == 2:
        cores = np.array([solid.core for solid in solids], dtype=object)
        deep |= shapely.intersects(barred.area, cores)
    near = np.array([max(0.0, clearance - solid.own) for solid in solids])
    close = np.full(len(areas), fill_value=False)
    if clearance > 0.0:
        close = np.array([barred.area.dwithin(a, d) for a, d in zip(areas, near, strict=True)])
    for i in np.flatnonzero(deep | close).tolist():
        pair = (solids[i], barred)
        clash = _clash(pair, spacing=clearance, deep=bool(deep[i]), sides=sides)
        if clash is not None:
            yield replace(clash, first=i)


def overlap_depth(
    a: BaseGeometry, b: BaseGeometry, *, sides: int = 2
) -> tuple[float, float, Point]:
    """Return depth (mm), area (mm²) and the deepest point of the overlap of two areas.

    The depth is how far inside `b` the deepest shared point lies (its distance from
    b's edge), or how far inside `a`, whichever is more (`sides` = 2; with 1 only `b`).
    No shift shorter than this parts the two, for such a shift would leave that point
    inside; where a corner or an edge dips into an edge it is exactly that shift. It
    can be small only where no point of one lies deep in the other, however long or
    large the overlap is. Measured to 0.2 %.
    """
    shared = _shared(a, b)
    best, at = _deepest(shared, b)
    if sides == 2:
        other = _deepest(shared, a)
        best, at = max((best, at), other)
    return best, float(shared.area), at


def _clash(pair: tuple[Solid, Solid], *, spacing: float, deep: bool, sides: int) -> Clash | None:
    a, b = pair
    let_pass = a.allowance(b)
    if deep:
        depth, shared, at = overlap_depth(a.area, b.area, sides=sides)
        if depth > let_pass:
            return Clash(first=0, second=0, depth=depth, shared=shared, distance=0.0, at=at)
    if spacing <= 0.0:
        return None
    distance = float(a.area.distance(b.area))
    if spacing - distance <= let_pass:
        return None
    middle = shapely.shortest_line(a.area, b.area).interpolate(0.5, normalized=True)
    at = (middle.x, middle.y)
    return Clash(first=0, second=0, depth=0.0, shared=0.0, distance=distance, at=at)


def _deepest(shared: BaseGeometry, within: BaseGeometry) -> tuple[float, Point]:
    """Return the largest distance of a point of `shared` from the edge of `within`."""
    if shared.is_empty or within.area == 0.0:
        return 0.0, (math.nan, math.nan)
    x0, y0, x1, y1 = shared.bounds
    across, widest = math.hypot(x1 - x0, y1 - y0), math.sqrt(within.area / math.pi)
    # No point shared lies farther from the edge than the nearest does and what lies between.
    high = min(widest, float(shapely.distance(shared, within.boundary)) + across)
    edge = _Edge(_segments(within)).near((x0 - high, y0 - high, x1 + high, y1 + high))
    low, at = _farthest(shapely.get_coordinates(shared), edge)
    high = min(widest, low + across, high)
    nothing = _NOTHING * math.sqrt(within.area)
    if high > low and shapely.get_num_coordinates(within) > _FEW:
        low, at, high = _narrowed(shared, edge, (low, at, high), nothing=nothing)
    # Edges farther from all that is shared than the depth can be don't matter.
    reach = 1.01 * high
    near = _shared(within, shapely.box(x0 - reach, y0 - reach, x1 + reach, y1 + reach))
    # Mostly a corner is the deepest point already: look just above it first.
    depth = low * (1.0 + _FINE) if low > nothing else 0.5 * high
    while high - low > _FINE * high and high > nothing:
        rest = _shared(shared, near.buffer(-depth, quad_segs=16))
        if rest.is_empty:
            high = depth
        else:
            # Where the edge is all but equally far, asking for distances is slow.
            low, at = depth, _first(rest)
            shared = rest
        depth = 0.5 * (low + high)
    return low, at


def _shared(a: BaseGeometry, b: BaseGeometry) -> BaseGeometry:
    """Return what two geometries share, without the lines and points where they only touch."""
    shared = shapely.intersection(a, b)
    if shared.geom_type != "GeometryCollection" or shared.is_empty:
        return shared
    parts = shapely.get_parts(shared)
    dimensions = shapely.get_dimensions(parts)
    return shapely.union_all(parts[dimensions == dimensions.max()])


def _segments(area: BaseGeometry) -> Floats:
    """Return the segments that bound an area (n, 2, 2)."""
    rings = [shapely.get_coordinates(line) for line in shapely.get_parts(area.boundary)]
    return np.concatenate([np.stack([ring[:-1], ring[1:]], axis=1) for ring in rings])


class _Edge:
    """The segments (n, 2, 2) that bound an area, or those of them that matter."""

    def __init__(self, pairs: Floats) -> None:
        self._pairs = pairs
        self._tree: STRtree | None = None
        self.most = _SQUARES if len(pairs) > _MANY else max(_ASKED // len(pairs), 1)
        self._start, self._along = pairs[:, 0], pairs[:, 1] - pairs[:, 0]
        square = (self._along**2).sum(axis=1)
        self._share = self._along / np.where(square > 0.0, square, 1.0)[:, None]

    def near(self, box: tuple[float, float, float, float]) -> _Edge:
        """Return those near a box."""
        low, high = self._pairs.min(axis=1), self._pairs.max(axis=1)
        meets = (high[:, 0] >= box[0]) & (high[:, 1] >= box[1])
        meets &= (low[:, 0] <= box[2]) & (low[:, 1] <= box[3])
        some = self._pairs[meets]
        return _Edge(some) if 0 < len(some) < len(self._pairs) else self

    def distances(self, points: Floats) -> Floats:
        """Return how far points (n, 2) lie from the nearest segment (mm)."""
        if len(points) * len(self._pairs) > _ALL:
            if self._tree is None:
                lines = np.atleast_1d(np.asarray(shapely.linestrings(self._pairs), dtype=object))
                self._tree = STRtree(lines)
            some = shapely.points(points)
            _, far = self._tree.query_nearest(some, return_distance=True, all_matches=False)
            return np.asarray(far)
        x = points[:, 0, None] - self._start[:, 0]
        y = points[:, 1, None] - self._start[:, 1]
        share = (x * self._share[:, 0] + y * self._share[:, 1]).clip(0.0, 1.0)
        x -= share * self._along[:, 0]
        y -= share * self._along[:, 1]
        return np.asarray(np.sqrt((x * x + y * y).min(axis=1)))


def _narrowed(
    shared: BaseGeometry, edge: _Edge, known: tuple[float, Point, float], *, nothing: float
) -> tuple[float, Point, float]:
    """Return closer bounds on the largest distance of a point of `shared` from an edge.

    Known are a distance, where it is, and one that none exceeds. In a square no point lies
    farther from the edge than its middle by more than half its diagonal: squares that hold
    nothing deeper than what is known are left out, the others are cut in four. What it costs
    hardly grows with the number of edges, as shrinking an area of thousands of them does.
    """
    low, at, high = known
    shapely.prepare(shared)
    half, middles = _covering(shared.bounds)
    while len(middles) and high - low > _FINE * high and high > nothing:
        far = edge.distances(middles)
        inside = shapely.contains_xy(shared, middles)
        if inside.any():
            k = int(np.argmax(np.where(inside, far, -1.0)))
            if far[k] > low:
                low, at = float(far[k]), (float(middles[k, 0]), float(middles[k, 1]))
        reach = far + math.sqrt(2.0) * half
        keep = reach > low * (1.0 + _FINE)
        squares = shapely.box(*(middles[keep] - half).T, *(middles[keep] + half).T)
        keep[keep] = shapely.intersects(shared, squares)
        high = min(high, max(low * (1.0 + _FINE), float(reach[keep].max(initial=0.0))))
        if 4 * int(keep.sum()) > edge.most:
            break
        half *= 0.5
        middles = (middles[keep][:, None, :] + half * _QUARTERS).reshape(-1, 2)
    return low, at, high


_QUARTERS = np.array([(-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0), (1.0, 1.0)])


def _covering(bounds: tuple[float, float, float, float]) -> tuple[float, Floats]:
    """Return squares that cover a box: half their side, and their middles (n, 2)."""
    x0, y0, x1, y1 = bounds
    half = max(x1 - x0, y1 - y0) / 16.0
    columns, rows = (max(1, math.ceil(w / (2.0 * half))) for w in (x1 - x0, y1 - y0))
    i, j = np.meshgrid(np.arange(columns), np.arange(rows))
    steps = np.stack([i.ravel(), j.ravel()], axis=1)
    return half, np.array([x0 + half, y0 + half]) + 2.0 * half * steps


def _farthest(corners: Floats, edge: _Edge) -> tuple[float, Point]:
    far = edge.distances(corners)
    k = int(np.argmax(far))
    return float(far[k]), (float(corners[k, 0]), float(corners[k, 1]))


def _first(geometry: BaseGeometry) -> Point:
    x, y = shapely.get_coordinates(geometry)[0].tolist()
    return x, y


def _shrunk(area: BaseGeometry, by: float) -> BaseGeometry:
    """Return the area less a border; the whole area if the border came out too wide.

    What is taken off is at most `by` times the length of the edge and a bit at
    reflex corners: more means that the offsetting went wrong, and then every contact
    is measured.
    """
    if by <= 0.0 or area.area == 0.0:
        return area if area.area > 0.0 else Polygon()
    core = area.buffer(-by, quad_segs=4)
    lost = float(area.area - core.area)
    return core if 0.0 <= lost <= 1.5 * by * area.length else area


def _polygon(ring: Sequence[Point], holes: Sequence[Sequence[Point]]) -> Polygon:
    shell, *inner = (np.array(points, dtype=np.float64) for points in (ring, *holes))
    if len(shell) < 3 or not np.isfinite(shell).all():
        return Polygon()
    return Polygon(shell, [hole for hole in inner if len(hole) >= 3 and np.isfinite(hole).all()])


def _sound(drawn: Polygon) -> BaseGeometry:
    """Return the area that an outline encloses, whether or not it crosses itself."""
    if drawn.is_valid:
        return drawn
    mended = shapely.make_valid(drawn, method="structure", keep_collapsed=False)
    pieces = [p for p in shapely.get_parts(mended) if isinstance(p, Polygon) and p.area > 0.0]
    return pieces[0] if len(pieces) == 1 else MultiPolygon(pieces)


def _line(ring: Sequence[Point]) -> BaseGeometry:
    points = [p for p in ring if math.isfinite(p[0]) and math.isfinite(p[1])]
    distinct = len(set(points))
    if distinct == 0:
        return Polygon()
    return LineString(points) if distinct > 1 else shapely.Point(points[0])
