"""A part moved in a direction until it touches: what lies in its way, and the edge of the goods."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from nesting.marker.contact import Solid, outline_solid
from nesting.marker.marker import Marker, Placement
from nesting.marker.on_stock import region_solid
from nesting.pattern.path import Point

__all__ = ["slide", "slide_together"]

Floats = npt.NDArray[np.float64]

_LEAST_ROUND, _MOST_ROUND = 8, 512
"""Chords of a quarter of the arc that keeps a part the spacing away from a corner."""

_HAIR = 0.1
"""By how much of what the judge lets pass those chords may keep a part too far away: where
parts lie in rows, the spacing apart, one still slides by."""

_ROUGH = 1.0
"""How far (mm) chords may be from curves where it is only asked what is near the way."""

_FARTHEST, _FRAME = 1e6, 1e3
"""How far anything slides (mm), and how wide what lies around the goods is drawn."""

_STEEP = 1e-9
"""An edge that lies along the way, as closely as this, does not stop a part."""


def slide(marker: Marker, placement: Placement, direction: Point) -> Placement:
    """Move a part in a direction until it touches another, or the edge of what it lies on.

    It keeps the spacing from the others, and the margin from the edges and flaws of a sheet;
    a part that belongs in a region stays in it. What it overlaps already does not stop it.
    A print's repeat is not looked at: ask the `Judge` about where it came to lie.

    Parameters
    ----------
    marker
        The marker that the part is on, or is to be on.
    placement
        Where the part (`placement.part`) begins; the others are where they are.
    direction
        (x, y) of the way; its length does not count.

    Returns
    -------
    Placement
        Where it touches; the same placement if nothing is in its way at all.

    Raises
    ------
    ValueError
        The direction is none.

    Examples
    --------
    >>> first = marker.placements[0]
    >>> there = slide(marker, replace(first, x=first.x + 500), (-1, 0))
    >>> there.x < first.x + 500
    True

    """
    way = _unit(direction)
    return _along(placement, _far(marker, placement, way), way)


def slide_together(marker: Marker, parts: Collection[int], direction: Point) -> list[Placement]:
    """Move parts as one, as if they were sewn together, until the first of them touches.

    Returns
    -------
    list of Placement
        Where they touch, as `slide` does of one part; they are not in each other's way.

    """
    way = _unit(direction)
    of = [p for p in marker.placements if p.part in parts]
    rest = replace(marker, placements=tuple(p for p in marker.placements if p.part not in parts))
    far = min((_far(rest, placement, way) for placement in of), default=math.inf)
    return [_along(placement, far, way) for placement in of]


def _unit(direction: Point) -> Floats:
    size = math.hypot(*direction)
    if not 0.0 < size < math.inf:
        raise ValueError("a part slides in a direction that is not (0, 0)")
    return np.array([direction[0] / size, direction[1] / size])


def _far(marker: Marker, placement: Placement, way: Floats) -> float:
    """Return how far a part can move until it touches something (mm), maybe very far."""
    piece = marker.lay.parts[placement.part].piece
    one = outline_solid(piece.cut, holes=piece.holes).placed(placement.affine)
    ahead = [_first_touch(one, barred, way) for barred in _barred(marker, placement, one, way)]
    return min(ahead, default=math.inf)


def _along(placement: Placement, far: float, way: Floats) -> Placement:
    if far > 0.5 * _FARTHEST:  # open-ended cloth
        return placement
    far = max(float(far), 0.0)
    dx, dy = (far * way).tolist()
    return replace(placement, x=placement.x + dx, y=placement.y + dy)


# ---------------------------------------------------------------- what is in its way


@dataclass(frozen=True, slots=True)
class _Barred:
    """What a part must stay `room` (mm) away from; `let_pass`: what the judge does not mind."""

    area: BaseGeometry
    room: float
    let_pass: float


def _barred(marker: Marker, placement: Placement, one: Solid, way: Floats) -> Iterator[_Barred]:
    """Yield what a part must stay out of, as far as it is on its way."""
    lay = marker.lay
    start = shapely.box(*one.area.bounds)
    end = shapely.transform(start, lambda xy: xy + _FARTHEST * way)
    path = shapely.union(start, end).convex_hull
    for other in marker.placements:
        if other.part == placement.part or other.sheet != placement.sheet:
            continue
        piece = lay.parts[other.part].piece
        xy = np.array(piece.cut.transformed(other.affine).points(_ROUGH))
        low, high = xy.min(axis=0) - lay.spacing - _ROUGH, xy.max(axis=0) + lay.spacing + _ROUGH
        if path.intersects(shapely.box(*low, *high)):
            solid = outline_solid(piece.cut, holes=piece.holes).placed(other.affine)
            yield _Barred(solid.area, lay.spacing, one.allowance(solid))
    if lay.stock.open_ended:
        reach = _FARTHEST if lay.stock.longest is None else lay.stock.longest
        yield _Barred(_outside(shapely.box(0.0, 0.0, reach, lay.stock.width)), 0.0, one.own)
        return
    sheet = lay.stock.sheets[marker.sheets[placement.sheet]]
    whole = outline_solid(sheet.outline, size=False)
    yield _Barred(_outside(whole.area), lay.stock.margin, one.allowance(whole))
    for hole in sheet.holes:
        flaw = outline_solid(hole, size=False)
        yield _Barred(flaw.area, lay.stock.margin, one.allowance(flaw))
    region = lay.parts[placement.part].region
    of_name = [region_solid(r).area for r in sheet.regions if r.name == region]
    if of_name:  # of several it stays in the one that holds the most of it
        most = max(of_name, key=lambda area: shapely.intersection(area, one.area).area)
        yield _Barred(_outside(most), 0.0, one.own)


def _outside(area: BaseGeometry) -> BaseGeometry:
    x0, y0, x1, y1 = area.bounds
    frame = shapely.box(x0 - _FRAME, y0 - _FRAME, x1 + _FRAME, y1 + _FRAME)
    return shapely.difference(frame, area)


def _grown(area: BaseGeometry, by: float, *, hair: float) -> BaseGeometry:
    """Return an area grown by a distance: by at most a hair (mm) more, for arcs become chords."""
    if by <= 0.0:
        return area.buffer(by)
    quarter = 0.25 * math.pi / math.acos(by / (by + max(hair, 1e-9)))
    chords = min(max(math.ceil(quarter), _LEAST_ROUND), _MOST_ROUND)
    return area.buffer(by / math.cos(math.pi / (4 * chords)), quad_segs=chords)


# ---------------------------------------------------------------- when it touches


def _first_touch(one: Solid, barred: _Barred, way: Floats) -> float:
    """Return how far a solid can move until it enters what is barred (mm).

    Half of what the judge lets pass is taken off the part and a quarter added to the other:
    what touches so much too deeply, or lies along the way, can still slide by.
    """
    let_pass = barred.let_pass
    mine = _edges(one.area.buffer(-0.5 * let_pass, quad_segs=2))
    theirs = _edges(_grown(barred.area, barred.room + 0.25 * let_pass, hair=_HAIR * let_pass))
    mine, theirs = _abreast(mine, theirs, way), _abreast(theirs, mine, way)
    far = np.concatenate([_hits(mine, theirs, way, let_pass), _hits(theirs, mine, -way, let_pass)])
    return float(far.min()) if len(far) else math.inf


def _edges(area: BaseGeometry) -> Floats:
    """Return the edges of an area (n, 2, 2), what they bound on their left."""
    rings = []
    for polygon in shapely.get_parts(shapely.orient_polygons(area)):
        if not isinstance(polygon, Polygon):
            continue  # a scratch drawn as a line stops nothing
        for ring in (polygon.exterior, *polygon.interiors):
            xy = shapely.get_coordinates(ring)
            rings.append(np.stack([xy[:-1], xy[1:]], axis=1))
    return np.concatenate(rings) if rings else np.zeros((0, 2, 2))


def _abreast(edges: Floats, others: Floats, way: Floats) -> Floats:
    """Return the edges that others would meet, or be met by, on their way."""
    if not len(edges) or not len(others):
        return edges
    aside = np.array([-way[1], way[0]])
    at, over = edges @ aside, others @ aside
    meets = (at.min(axis=1) <= over.max()) & (at.max(axis=1) >= over.min())
    kept: Floats = edges[meets]
    return kept


def _hits(moving: Floats, fixed: Floats, way: Floats, let_pass: float) -> Floats:
    """Return how far corners move on their way until each enters an edge, where one does.

    A corner that is no deeper than `let_pass` behind an edge is about to enter it.
    """
    start, along = fixed[None, :, 0], fixed[None, :, 1] - fixed[None, :, 0]
    across = way[0] * along[..., 1] - way[1] * along[..., 0]  # negative: from outside in
    ahead = start - moving[:, None, 0]
    length = np.hypot(along[..., 0], along[..., 1])
    enters = across < -_STEEP * length
    with np.errstate(divide="ignore", invalid="ignore"):
        far = (ahead[..., 0] * along[..., 1] - ahead[..., 1] * along[..., 0]) / across
        share = (ahead[..., 0] * way[1] - ahead[..., 1] * way[0]) / across
        before = -far * across >= -let_pass * length
    found: Floats = far[enters & before & (share >= 0.0) & (share <= 1.0)]
    return found
