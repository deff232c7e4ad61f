"""Whether a part may lie on some stock by itself: denied only where that is certain."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from nesting.marker.lay import Binding, Lattice, Part, Region, Sheets, Strip, Turns
from nesting.pattern.path import Affine, Path
from nesting.pattern.polygon import piece_polygon, polygon
from nesting.tolerance import TOLERANCE

__all__ = [
    "Hull",
    "areas_for",
    "fits_box",
    "hull_of",
    "may_fit",
    "motif_serves",
    "narrowest",
    "row_serves",
    "slack_of",
]

Hull = NDArray[np.float64]
"""The corners of a convex hull, n × 2, mm."""

Bounds = tuple[float, float, float, float]

_STEP = math.radians(0.25)


def may_fit(part: Part, stock: Strip | Sheets) -> bool:
    """Whether a part may lie on a stock in some turn it may take; False only if that is certain."""
    hull = hull_of(part)
    if len(hull) < 3:
        return True
    if stock.open_ended:
        return _on_strip(part, hull, stock)
    areas = [
        area
        for sheet in stock.sheets
        if sheet.count != 0
        for area in areas_for(part, sheet.outline, sheet.regions, margin=stock.margin)
    ]
    fits = any(
        fits_box(hull, (x1 - x0, y1 - y0), turns or part.turns, flip=part.flip)
        for rings, turns in areas
        for x0, y0, x1, y1 in rings
    )
    regions_turn = any(turns is not None for _, turns in areas)
    if not fits or regions_turn or part.flip:
        return fits
    return motif_serves(part, hull, [ring for rings, _ in areas for ring in rings])


def _on_strip(part: Part, hull: Hull, strip: Strip) -> bool:
    if narrowest(hull, part.turns, flip=part.flip) > strip.width + slack_of(hull):
        return False
    if strip.longest is not None and not fits_box(
        hull, (strip.longest, strip.width), part.turns, flip=part.flip
    ):
        return False
    if part.flip or part.turns.slack:
        return True
    return any(row_serves(part, hull, angle, strip) for angle in part.turns.angles)


def slack_of(hull: Hull) -> float:
    """Return how far a part may reach too far (mm): what is let pass, and chords of curves."""
    return 2.0 * TOLERANCE.contact * float(np.ptp(hull, axis=0).max()) + TOLERANCE.chord


def hull_of(part: Part) -> Hull:
    """Return the corners of a part's convex hull, as it is drawn."""
    hull = piece_polygon(part.piece).convex_hull
    return np.array(shapely.get_coordinates(hull)[:-1], dtype=np.float64)


def narrowest(hull: Hull, turns: Turns, *, flip: bool) -> float:
    """Return the least extent across (mm) that a hull has in any of the turns.

    Between turns at which an edge lies along the strip the extent has no minimum, so
    those and the ends of each range are all that need be tried.
    """
    shapes = [hull, hull * np.array([1.0, -1.0])] if flip else [hull]
    least = math.inf
    for shape in shapes:
        edges = np.roll(shape, -1, axis=0) - shape
        flush = -np.degrees(np.arctan2(edges[:, 1], edges[:, 0]))
        for angle in turns.angles:
            off = np.remainder(flush - angle + 90.0, 180.0) - 90.0
            tried = [angle, angle - turns.slack, angle + turns.slack]
            near = flush if turns.free else angle + off[np.abs(off) <= turns.slack]
            for degrees in (*tried, *near):
                least = min(least, float(np.ptp(_turned(shape, degrees)[:, 1])))
    return least


def fits_box(hull: Hull, box: tuple[float, float], turns: Turns, *, flip: bool) -> bool:
    """Whether a hull may fit a box; False only if it certainly does not.

    Turns are tried a quarter of a degree apart; between them an extent changes by
    less than half a step times the hull's diameter.
    """
    length, width = box
    diameter = float(shapely.minimum_bounding_radius(shapely.MultiPoint(hull))) * 2.0
    shapes = [hull, hull * np.array([1.0, -1.0])] if flip else [hull]
    for angle in turns.angles:
        spread = min(math.radians(turns.slack), math.pi)
        count = max(1, math.ceil(2.0 * spread / _STEP)) if spread else 0
        angles = math.radians(angle) + np.linspace(-spread, spread, count + 1)
        slack = 0.5 * (2.0 * spread / count if count else 0.0) * diameter + slack_of(hull)
        for shape in shapes:
            x = np.outer(shape[:, 0], np.cos(angles)) - np.outer(shape[:, 1], np.sin(angles))
            y = np.outer(shape[:, 0], np.sin(angles)) + np.outer(shape[:, 1], np.cos(angles))
            fits = (np.ptp(x, axis=0) <= length + slack) & (np.ptp(y, axis=0) <= width + slack)
            if bool(fits.any()):
                return True
    return False


def areas_for(
    part: Part, outline: Path, regions: Sequence[Region], *, margin: float
) -> list[tuple[list[Bounds], Turns | None]]:
    """Return the boxes a part must lie in on a sheet, and the turns that hold there.

    The margin is kept from the sheet's edge, not from the borders of its regions.
    """
    usable = polygon(outline).buffer(1e-3 - margin) if margin > 0.0 else polygon(outline)
    if usable.is_empty:
        return []
    if part.region is None:
        return [([usable.bounds], None)]
    out = []
    for region in regions:
        if region.name != part.region:
            continue
        joined = shapely.union_all([polygon(path).buffer(1e-3) for path in region.outlines])
        joined = shapely.intersection(joined, usable)
        bits = [bit for bit in getattr(joined, "geoms", [joined]) if bit.area > 0.0]
        out.append(([bit.bounds for bit in bits], region.turns))
    return out


def row_serves(part: Part, hull: Hull, angle: float, strip: Strip) -> bool:
    """Whether a row of motifs lies where the part, centred on one, is within the width."""
    binding = part.binding
    if binding is None or binding.phase is not None:
        return True
    lattice, across = binding.lattice, binding.lattice.across
    if across is None:
        return True
    hull, anchor = _turned(hull, angle), Affine.turn(angle)(binding.anchor)
    reach = lattice.tolerance + TOLERANCE.lattice
    low = anchor[1] - float(hull[:, 1].min()) - reach
    high = strip.width - float(hull[:, 1].max()) + anchor[1] + reach
    first = math.ceil((low - lattice.origin[1]) / across)
    return lattice.origin[1] + first * across <= high


def motif_serves(part: Part, hull: Hull, rings: Sequence[Bounds]) -> bool:
    """Whether some point of the print that binds a part is where it would be inside a box."""
    binding = part.binding
    if binding is None or binding.phase is not None or part.turns.slack:
        return True
    reach = binding.lattice.tolerance + TOLERANCE.lattice
    for angle in part.turns.angles:
        turned, anchor = _turned(hull, angle), Affine.turn(angle)(binding.anchor)
        low, high = turned.min(axis=0) - anchor, turned.max(axis=0) - anchor
        for x0, y0, x1, y1 in rings:
            first = (x0 - low[0] - reach, y0 - low[1] - reach)
            last = (x1 - high[0] + reach, y1 - high[1] + reach)
            if _holds_motif(binding, first, last):
                return True
    return False


def _holds_motif(binding: Binding, first: tuple[float, float], last: tuple[float, float]) -> bool:
    """Whether a point of a lattice is in a box (mm)."""
    lattice: Lattice = binding.lattice
    along = lattice.along
    if last[0] < first[0] or last[1] < first[1]:
        return False
    x, y = lattice.origin
    if lattice.across is None:
        rows: Iterable[int] = (0,)
    else:
        low = math.ceil((first[1] - y) / lattice.across)
        rows = range(low, math.floor((last[1] - y) / lattice.across) + 1)
    for row in rows:
        if along is None:
            return True
        start = x + (lattice.drop * along if row % 2 else 0.0)
        ahead = math.ceil((first[0] - start) / along)
        if start + ahead * along <= last[0]:
            return True
    return False


def _turned(hull: Hull, degrees: float) -> Hull:
    turn = Affine.turn(degrees)
    turned: Hull = hull @ np.array([[turn.a, turn.c], [turn.b, turn.d]])
    return turned
