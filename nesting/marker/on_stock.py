"""The judge of parts against what they lie on: cloth, sheets and hides, their flaws and regions."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence

import shapely
from shapely.geometry.base import BaseGeometry

from nesting.amounts import Amounts
from nesting.errors import Finding
from nesting.marker.contact import Clash, Solid, outline_solid, outside_of, trespasses
from nesting.marker.lay import Region, Sheet, Strip
from nesting.marker.marker import Marker
from nesting.marker.rules import Bounds, Laid, edge, turn
from nesting.pattern.path import Path
from nesting.tolerance import TOLERANCE

__all__ = ["region_solid", "stocks"]


def stocks(marker: Marker, amounts: Amounts) -> Callable[[int, Sequence[Laid]], Iterator[Finding]]:
    """Return the judge of parts against what they lie on."""
    stock = marker.lay.stock
    if stock.open_ended:
        strip = stock
        return lambda _, laid: _on_strip(laid, strip, amounts)
    sheets, known = stock, dict[int, _Ground]()

    def on_sheet(index: int, laid: Sequence[Laid]) -> Iterator[Finding]:
        kind = marker.sheets[index]
        if kind not in known:
            known[kind] = _Ground(sheets.sheets[kind])
        return _on_sheet(laid, known[kind], amounts, margin=sheets.margin)

    return on_sheet


class _Ground:
    """A sheet, its flaws and regions as solids, kept from one question to the next."""

    def __init__(self, sheet: Sheet) -> None:
        self.sheet = sheet
        self.whole = outline_solid(sheet.outline, size=False)
        self.flaws = [outline_solid(hole, size=False) for hole in sheet.holes]
        self._regions: dict[str, list[tuple[Region, Solid]]] = {}
        self._beyond: dict[int, list[tuple[Bounds, Solid]]] = {}

    def regions(self, name: str) -> list[tuple[Region, Solid]]:
        """Return the regions of a name."""
        if name not in self._regions:
            some = [region for region in self.sheet.regions if region.name == name]
            self._regions[name] = [(region, region_solid(region)) for region in some]
        return self._regions[name]

    def beyond(self, allowed: Solid, reach: Bounds) -> Solid:
        """Return what lies outside of the whole or a region, as far as parts may reach."""
        for (x0, y0, x1, y1), barred in self._beyond.get(id(allowed), []):
            if x0 <= reach[0] and y0 <= reach[1] and x1 >= reach[2] and y1 >= reach[3]:
                return barred
        x0, y0, x1, y1 = shapely.total_bounds([allowed.area, shapely.box(*reach)]).tolist()
        wide = (2.0 * x0 - x1, 2.0 * y0 - y1, 2.0 * x1 - x0, 2.0 * y1 - y0)
        barred = _barred(allowed, wide)
        self._beyond[id(allowed)] = [(wide, barred)]
        return barred


def _on_strip(laid: Iterable[Laid], strip: Strip, amounts: Amounts) -> Iterator[Finding]:
    longest = math.inf if strip.longest is None else strip.longest
    for one in laid:
        yield from turn(one, one.part.turns)
        yield from edge(one, (0.0, 0.0, longest, strip.width), amounts)
        yield from _beyond(one, (0.0, 0.0, longest, strip.width), amounts)
        if one.part.region is not None:
            text = f"{one.name} belongs in {one.part.region!r}, which a strip doesn't have"
            yield Finding(kind="region", text=text, parts=(one.name,), at=one.centre)


def _beyond(one: Laid, stock: Bounds, amounts: Amounts) -> Iterator[Finding]:
    x0, y0, x1, y1 = one.solid.area.bounds
    ways = {
        "the start": stock[0] - x0,
        "the low edge": stock[1] - y0,
        "the longest length": x1 - stock[2],
        "the high edge": y1 - stock[3],
    }
    for side, out in ways.items():
        if out > one.solid.own:
            yield Finding(
                kind="outside",
                text=f"{one.name} reaches {amounts.fine(out)} beyond {side} of the cloth",
                parts=(one.name,),
                amount=out,
                at=one.centre,
            )


def _on_sheet(
    laid: Sequence[Laid], ground: _Ground, amounts: Amounts, *, margin: float
) -> Iterator[Finding]:
    sheet, whole = ground.sheet, ground.whole
    beyond = ground.beyond(whole, _reach(laid))
    where = f"the edge of {sheet.name}"
    yield from _barred_to(laid, beyond, where, amounts, kind="outside", margin=margin)
    for flaw in ground.flaws:
        where = f"a flaw of {sheet.name}"
        yield from _barred_to(laid, flaw, where, amounts, kind="flaw", margin=margin)
    for one in laid:
        yield from edge(one, whole.area.bounds, amounts)
    in_regions: defaultdict[str | None, list[Laid]] = defaultdict(list)
    for one in laid:
        in_regions[one.part.region].append(one)
    for name, members in in_regions.items():
        yield from _in_region(members, name, amounts, ground=ground)


def _reach(laid: Sequence[Laid]) -> Bounds:
    x0, y0, x1, y1 = shapely.total_bounds([one.solid.area for one in laid]).tolist()
    return (x0, y0, x1, y1) if math.isfinite(x0) else (0.0, 0.0, 0.0, 0.0)


def _barred(allowed: Solid, reach: Bounds) -> Solid:
    """Return what lies outside the allowed area, as a solid."""
    beyond = outside_of(allowed.area, reach=reach)
    return Solid(area=beyond, core=beyond, curves=allowed.curves)


def _barred_to(
    laid: Sequence[Laid], barred: Solid, what: str, amounts: Amounts, *, kind: str, margin: float
) -> Iterator[Finding]:
    """Yield what reaches into a barred area or into the margin before it."""
    sides = 2 if kind == "flaw" else 1
    for clash in trespasses([one.solid for one in laid], barred, clearance=margin, sides=sides):
        name = laid[clash.first].name
        if clash.depth > 0.0:
            verb = "lies" if kind == "flaw" else "reaches"
            where = f"in {what}" if kind == "flaw" else f"beyond {what}"
            text, amount = (
                f"{name} {verb} {amounts.fine(clash.depth)} {where}",
                margin + clash.depth,
            )
        else:
            text = (
                f"{name} lies {amounts.fine(clash.distance)} from {what},"
                f" {amounts.fine(margin)} are wanted"
            )
            amount = margin - clash.distance
        yield Finding(kind=kind, text=text, parts=(name,), amount=amount, at=clash.at)


def _in_region(
    laid: Sequence[Laid], name: str | None, amounts: Amounts, *, ground: _Ground
) -> Iterator[Finding]:
    """Yield what leaves the region that all of these parts are bound to, or turns wrongly in it.

    Regions of one name are alternatives: a part lies wholly in one of them and takes
    its turns. Parts bound to none have the whole sheet and their own turns.
    """
    if name is None:
        for one in laid:
            yield from turn(one, one.part.turns)
        return
    known, sheet = ground.regions(name), ground.sheet
    if not known:
        for one in laid:
            text = f"{sheet.name} has no region {name!r}, where {one.name} belongs"
            yield Finding(kind="region", text=text, parts=(one.name,), at=one.centre)
        return
    reach, solids = _reach(laid), [one.solid for one in laid]
    beyond: list[dict[int, Clash]] = []
    regions = [region for region, _ in known]
    for _, solid in known:
        barred = ground.beyond(solid, reach)
        found = trespasses(solids, barred, clearance=0.0, sides=1)
        beyond.append({clash.first: clash for clash in found})
    for i, one in enumerate(laid):
        depths = [out[i].depth if i in out else 0.0 for out in beyond]
        best = min(range(len(regions)), key=depths.__getitem__)
        fits = [region for region, depth in zip(regions, depths, strict=True) if depth == 0.0]
        if depths[best] > 0.0:
            text = f"{one.name} reaches {amounts.fine(depths[best])} beyond {one.part.region!r}"
            yield Finding(
                kind="region",
                text=f"{text} of {sheet.name}",
                parts=(one.name,),
                amount=depths[best],
                at=beyond[best][i].at,
            )
        trials = [list(turn(one, r.turns or one.part.turns)) for r in fits or [regions[best]]]
        yield from min(trials, key=len)


def region_solid(region: Region) -> Solid:
    """Return the area of a region: its outlines together, less its holes (which run clockwise)."""
    rings = [(_signed_area(path), outline_solid(path, size=False)) for path in region.outlines]
    inside: BaseGeometry = shapely.union_all([solid.area for sign, solid in rings if sign >= 0.0])
    holes = shapely.union_all([solid.area for sign, solid in rings if sign < 0.0])
    area = shapely.difference(inside, holes)
    return Solid(area=area, core=area, curves=max((s.curves for _, s in rings), default=0))


def _signed_area(path: Path) -> float:
    ring = path.points(TOLERANCE.chord)
    following = (*ring[1:], ring[0])
    return 0.5 * sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(ring, following, strict=True))
