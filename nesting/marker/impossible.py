"""What is certain not to be possible: a part that fits nowhere, stock too small for all parts.

Only this is called infeasible. That a search found no room is no proof.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import shapely
from shapely.geometry.base import BaseGeometry

from nesting.marker.bound import lower_bound
from nesting.marker.fits import may_fit
from nesting.marker.lay import Lay, Part, Region, Sheet, Sheets, Strip, Turns
from nesting.pattern.polygon import area_less, outlines_of, polygon
from nesting.pattern.shapes import rectangle

__all__ = ["fits_nowhere", "too_little"]

_WIDER = 2e-3
"""Areas are taken larger by so much (mm): curves are chords, and rounding is let pass."""

_ROUNDING = 1.0 + 1e-6
"""A length is let pass up to so much beyond the longest."""


def fits_nowhere(lay: Lay) -> tuple[int, ...]:
    """Return which parts of a lay certainly fit nowhere on its stock, each by itself."""
    known: dict[object, bool] = {}
    found = []
    for i, part in enumerate(lay.parts):
        key = (part.piece, part.turns, part.flip, part.region, part.binding)
        if key not in known:
            known[key] = part.held is None and not may_fit(part, lay.stock)
        if known[key]:
            found.append(i)
    return tuple(found)


def too_little(lay: Lay) -> bool:
    """Whether the stock, or what of it some parts may lie on, is certainly too small for them."""
    most = lay.stock.most
    if math.isfinite(most) and lay.parts:
        if lower_bound(lay).value > most * _ROUNDING:
            return True
        if lay.stock.open_ended and _more_than_one(lay, lay.stock):
            return True
    return not lay.stock.open_ended and any(
        lower_bound(part).value > part.stock.most for part in _by_region(lay, lay.stock)
    )


def _more_than_one(lay: Lay, strip: Strip) -> bool:
    """Whether a strip as long as it may be, seen as a sheet, is too small."""
    whole = rectangle(strip.most * _ROUNDING, strip.width + _WIDER)
    parts = tuple(replace(part, held=None) for part in lay.parts)
    on_sheet = Sheets(sheets=(Sheet(name=lay.name, outline=whole, count=1),))
    return lower_bound(replace(lay, parts=parts, stock=on_sheet)).value > 1


def _by_region(lay: Lay, stock: Sheets) -> Iterator[Lay]:
    """Yield the parts of each region with what they may lie on as sheets of their own."""
    for name in {part.region for part in lay.parts if part.region is not None}:
        rules: set[Turns | None] = set()
        sheets: list[Sheet] = []
        for sheet in stock.sheets:
            regions = [region for region in sheet.regions if region.name == name]
            rules |= {region.turns for region in regions}
            if regions:
                sheets += _sheets(sheet, regions, stock.margin)
        parts = tuple(
            replace(part, region=None, held=None, turns=_turns(part, rules))
            for part in lay.parts
            if part.region == name
        )
        yield replace(lay, parts=parts, stock=Sheets(sheets=tuple(sheets)))


def _turns(part: Part, rules: set[Turns | None]) -> Turns:
    """Return turns that are no fewer than a part may take in any region."""
    if len(rules) > 1:
        return Turns(slack=180.0)
    return next(iter(rules), None) or part.turns


def _sheets(sheet: Sheet, regions: list[Region], margin: float) -> Iterator[Sheet]:
    """Yield the areas of regions on a sheet that hang together, a little larger."""
    usable = area_less(sheet.outline, sheet.holes).buffer(_WIDER - margin)
    area = shapely.intersection(shapely.union_all([_area(one) for one in regions]), usable)
    for bit in getattr(area, "geoms", [area]):
        if isinstance(bit, shapely.Polygon) and bit.area > 0.0:
            outline, *holes = outlines_of(bit)
            yield Sheet(name=sheet.name, outline=outline, holes=tuple(holes), count=sheet.count)


def _area(region: Region) -> BaseGeometry:
    rings = [polygon(path) for path in region.outlines]
    turned = [ring.exterior.is_ccw for ring in rings]
    inside = [ring for ring, ccw in zip(rings, turned, strict=True) if ccw]
    holes = [ring for ring, ccw in zip(rings, turned, strict=True) if not ccw]
    grown = shapely.union_all(inside).buffer(_WIDER, join_style="mitre")
    return shapely.difference(grown, shapely.union_all(holes).buffer(-_WIDER)) if holes else grown
