"""Parts that fit nowhere on their stock, found before any search, and what would help.

A part is named only when it is certain that it does not fit. What fits by its size
alone may still fail in the search, on a hide full of flaws for instance.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from nesting.amounts import METRIC, Amounts
from nesting.errors import JobError
from nesting.job.job import Job
from nesting.marker.lay import Binding, Lattice, Lay, Part, Region, Sheets, Strip, Turns
from nesting.material.material import Material
from nesting.pattern.path import Affine, Path
from nesting.pattern.polygon import piece_polygon, polygon
from nesting.planning.lay.ground import WITH_GRAIN, stock_of
from nesting.tolerance import TOLERANCE

__all__ = ["TooBig", "refuse_too_big", "too_big"]

Hull = NDArray[np.float64]
"""The corners of a convex hull, n × 2, mm."""

_LARGER_SHEETS = "take larger sheets, or let it be put together: pieced in its [[cut]]"

_STEP = math.radians(0.25)
_ANY = Turns(slack=180.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class TooBig:
    """A part that fits nowhere: its index in ``lay.parts``, its name, why, and what would help."""

    part: int
    name: str
    why: str
    hint: str


def too_big(lay: Lay, amounts: Amounts = METRIC) -> tuple[TooBig, ...]:
    """Return the parts of a lay that fit nowhere on its stock in any turn they may take."""
    told: dict[tuple[object, ...], tuple[str, str] | None] = {}
    found = []
    for i, part in enumerate(lay.parts):
        key = (id(part.piece), part.turns, part.flip, part.region, part.binding)
        if key not in told:
            told[key] = _trouble(part, lay.stock, amounts)
        trouble = told[key]
        if trouble is not None:
            found.append(TooBig(part=i, name=part.name, why=trouble[0], hint=trouble[1]))
    return tuple(found)


def refuse_too_big(lay: Lay, material: Material, *, job: Job) -> None:
    """Raise a `JobError` for the first part that fits no width, sheet or hide of a material.

    A part that fits another width on sale than the one the lay has is let pass.
    """
    found = too_big(lay, job.amounts)
    for width in material.widths if found else ():
        other = stock_of(material, width=width, regions=())
        big = {big.part for big in too_big(replace(lay, stock=other), job.amounts)}
        found = tuple(one for one in found if one.part in big)
    if not found:
        return
    first = found[0]
    hint = first.hint
    if material.is_leather and hint == _LARGER_SHEETS:
        hint = "use a larger hide, or accept a poorer grade or another direction"
    piece = lay.parts[first.part].piece.name
    places = {field: (file, line) for field, file, line in job.places}
    file, line = places.get(f"piece.{piece}", (job.file, None))
    of = "width" if lay.stock.open_ended else material.kind
    raise JobError(
        f"{first.name} fits no {of} of {material.name}: {first.why}",
        file=file,
        field=f"piece.{piece}",
        line=line,
        hint=hint,
    )


def _trouble(part: Part, stock: Strip | Sheets, amounts: Amounts) -> tuple[str, str] | None:
    """Return why a part fits nowhere and what would help, or None."""
    hull = _hull(part)
    if stock.open_ended:
        return _strip_trouble(part, hull, stock, amounts)
    areas = [
        area
        for sheet in stock.sheets
        for area in _areas(part, sheet.outline, sheet.regions, margin=stock.margin)
    ]
    spaces = [(turns, [(x1 - x0, y1 - y0) for x0, y0, x1, y1 in rings]) for rings, turns in areas]
    if any(
        _fits_box(hull, box, turns or part.turns, flip=part.flip)
        for turns, boxes in spaces
        for box in boxes
    ):
        if _motif_serves(part, hull, [ring for rings, _ in areas for ring in rings]):
            return None
        why = "no motif of the print lies where the piece would be inside one of them"
        return why, "move its motif point, or don't centre it"
    boxes = [box for _, many in spaces for box in many]
    length, width = np.ptp(hull, axis=0)
    what = f"it is {amounts.needed(length)} long and {amounts.needed(width)} wide"
    if not stock.sheets:
        return "there is none to cut from", "give a count or remnants"
    if not boxes and part.region == WITH_GRAIN:
        return f"the grain of all that there is isn't known; {what}", 'let it turn: nap = "any"'
    if not boxes:
        why = f"no zone is of the grade and allows its direction; {what}"
        return why, "accept a poorer grade or another direction"
    tight = all(turns is not None for turns, _ in spaces)
    largest = max(boxes, key=lambda box: box[0] * box[1])
    why = f"{what}, the largest space is {amounts.room(largest[0])} by {amounts.room(largest[1])}"
    if stock.margin:
        why += f", {amounts.setting(stock.margin)} off the edges"
    if any(_fits_box(hull, box, _ANY, flip=part.flip) for box in boxes):
        if tight:
            return why, (
                "it would fit turned further from the direction of tightness: allow it with"
                " turn_slack in its [[cut]], or accept a poorer grade"
            )
        return why, 'it would fit turned: allow it with nap = "any" or another grain'
    return why, _LARGER_SHEETS


def _motif_serves(
    part: Part, hull: Hull, rings: Sequence[tuple[float, float, float, float]]
) -> bool:
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
            if _holds_motif(binding.lattice, first, last):
                return True
    return False


def _holds_motif(lattice: Lattice, first: tuple[float, float], last: tuple[float, float]) -> bool:
    """Whether a point of a lattice is in a box (mm)."""
    if last[0] < first[0] or last[1] < first[1]:
        return False
    x, y = lattice.origin
    if lattice.across is None:
        rows: Iterable[int] = (0,)
    else:
        low = math.ceil((first[1] - y) / lattice.across)
        rows = range(low, math.floor((last[1] - y) / lattice.across) + 1)
    for row in rows:
        if lattice.along is None:
            return True
        start = x + (lattice.drop * lattice.along if row % 2 else 0.0)
        ahead = math.ceil((first[0] - start) / lattice.along)
        if start + ahead * lattice.along <= last[0]:
            return True
    return False


def _areas(
    part: Part, outline: Path, regions: Sequence[Region], *, margin: float
) -> list[tuple[list[tuple[float, float, float, float]], Turns | None]]:
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


def _strip_trouble(
    part: Part, hull: Hull, strip: Strip, amounts: Amounts
) -> tuple[str, str] | None:
    narrowest = _narrowest(hull, part.turns, flip=part.flip)
    slack = TOLERANCE.contact * float(np.ptp(hull, axis=0).max()) + TOLERANCE.chord
    if narrowest > strip.width + slack:
        usable = amounts.room(strip.width)
        why = f"it needs a width of {amounts.needed(narrowest)}, {usable} is usable"
        turned = _narrowest(hull, Turns(angles=(0.0, 90.0)), flip=False)
        if turned <= strip.width:
            return why, 'take wider cloth, or let it lie across: grain = "across" in its [[cut]]'
        if _narrowest(hull, _ANY, flip=False) <= strip.width:
            return why, 'take wider cloth, or let it turn: nap = "any" in its [[cut]]'
        return why, "take wider cloth, or let it be put together: pieced in its [[cut]]"
    if strip.longest is not None and not _fits_box(
        hull, (strip.longest, strip.width), part.turns, flip=part.flip
    ):
        length = float(np.ptp(hull[:, 0]))
        most = amounts.room(strip.longest)
        why = f"it is {amounts.needed(length)} long, the longest lay is {most}"
        return why, "allow a longer lay, or let it be put together: pieced in its [[cut]]"
    binding = part.binding
    if binding is None or binding.phase is not None or part.turns.slack:
        return None
    if any(_served(hull, angle, binding, strip) for angle in part.turns.angles):
        return None
    why = "no motif of the print lies where the piece would be inside the cloth"
    return why, "move its motif point, take wider cloth, or don't centre it"


def _served(hull: Hull, angle: float, binding: Binding, strip: Strip) -> bool:
    """Whether a row of motifs lies where the part, centred on one, is within the width."""
    lattice = binding.lattice
    if lattice.across is None:
        return True
    hull, anchor = _turned(hull, angle), Affine.turn(angle)(binding.anchor)
    reach = lattice.tolerance + TOLERANCE.lattice
    low = anchor[1] - float(hull[:, 1].min()) - reach
    high = strip.width - float(hull[:, 1].max()) + anchor[1] + reach
    first = math.ceil((low - lattice.origin[1]) / lattice.across)
    return lattice.origin[1] + first * lattice.across <= high


def _hull(part: Part) -> Hull:
    hull = piece_polygon(part.piece).convex_hull
    return np.array(shapely.get_coordinates(hull)[:-1], dtype=np.float64)


def _turned(hull: Hull, degrees: float) -> Hull:
    turn = Affine.turn(degrees)
    turned: Hull = hull @ np.array([[turn.a, turn.c], [turn.b, turn.d]])
    return turned


def _narrowest(hull: Hull, turns: Turns, *, flip: bool) -> float:
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


def _fits_box(hull: Hull, box: tuple[float, float], turns: Turns, *, flip: bool) -> bool:
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
        slack = 0.5 * (2.0 * spread / count if count else 0.0) * diameter + 1e-3
        for shape in shapes:
            x = np.outer(shape[:, 0], np.cos(angles)) - np.outer(shape[:, 1], np.sin(angles))
            y = np.outer(shape[:, 0], np.sin(angles)) + np.outer(shape[:, 1], np.cos(angles))
            fits = (np.ptp(x, axis=0) <= length + slack) & (np.ptp(y, axis=0) <= width + slack)
            if bool(fits.any()):
                return True
    return False
