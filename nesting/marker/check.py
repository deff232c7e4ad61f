"""The judge: whether a marker obeys every rule of its lay.

It shares nothing with the search: it takes the outlines as drawn (curves as chords
`TOLERANCE.chord` away), the placements and the rules, and measures.

What it lets pass
-----------------
Between two parts, and between a part and the stock, a depth of overlap or a lack of
distance of at most ``TOLERANCE.contact`` × the longer side of the larger part's
bounding box, plus ``TOLERANCE.chord`` for each of the two that has curves. On a
lattice ``TOLERANCE.lattice`` mm beyond the lattice's own tolerance, in turns
``TOLERANCE.turn`` degrees beyond their slack. The depth of an overlap is how far the
deepest shared point lies inside either of the two (`contact.overlap_depth`).

What it finds
-------------
========== ===================================================== =====================
kind       what                                                  amount
========== ===================================================== =====================
overlap    two parts overlap                                     depth, mm
gap        two parts lie nearer than the spacing                 lack of distance, mm
outside    a part leaves the cloth or sheet, or its margin       how far, mm
flaw       a part lies in a hole of the sheet, or its margin     how far, mm
region     a part leaves its region, or the sheet has none       how far, mm
turn       a part lies at no allowed turn                        beyond the slack, °
flip       a part lies face down that may not
lattice    an anchor is off the repeat, or a match misses        beyond tolerance, mm
edge       a part doesn't touch the edge that it must            distance, mm
turn_group parts that must keep the same turn don't              difference, °
mates      mates lie on different sheets; too far apart (a note) sheets; distance, mm
missing    a part isn't laid
extra      a part is laid twice, or isn't in the lay
sheet      a sheet that isn't there, or more than there are;     sheets too many
           one without parts (a note)
number     a place or turn that isn't a number, or over 10 km off
outline    an outline crosses itself or encloses nothing
mark       a mark reaches beyond its part                        how far, mm
========== ===================================================== =====================
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import islice

import shapely
from shapely.geometry.base import BaseGeometry

from nesting.amounts import METRIC, Amounts
from nesting.errors import Finding, Severity
from nesting.limits import FARTHEST_LAID
from nesting.marker.contact import Clash, Solid, clashes, outline_solid, outside_of, trespasses
from nesting.marker.lay import Region, Sheet, Strip
from nesting.marker.marker import Marker, Placement
from nesting.marker.rules import Bounds, Laid, edge, groups, lone_rules, turn
from nesting.pattern.marks.marked import marks_beyond
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.tolerance import TOLERANCE

__all__ = ["check", "is_good"]

_MOST = 500
"""Overlaps and gaps listed per sheet; more are only said to be there."""


def is_good(marker: Marker) -> bool:
    """Return whether the judge finds no fault (notes don't count)."""
    return not any(finding.severity is Severity.FAULT for finding in check(marker))


def check(marker: Marker, *, amounts: Amounts = METRIC) -> tuple[Finding, ...]:
    """Return everything that is wrong with a marker, and a few notes.

    Every rule is judged on every part, whatever else is wrong with it; parts whose
    place isn't a number or whose sheet isn't there are only counted. The kinds, their
    amounts and what is let pass stand at the top of this module.

    Parameters
    ----------
    marker
        What to judge; it has to be complete to be without faults.
    amounts
        The units in which findings are told (``job.amounts``; cm if not given).

    Returns
    -------
    tuple of Finding
        Empty if there is nothing to say.

    Examples
    --------
    >>> check(marker)
    ()
    >>> [finding.text for finding in check(spoilt)]
    ['front 1 of 2 reaches 1.000 mm beyond the start of the cloth']

    """
    findings = [*_copies(marker), *_numbers(marker), *_sheets(marker)]
    laid = _laid(marker)
    findings.extend(_outlines(laid))
    findings.extend(_marks(laid, amounts))
    findings.extend(finding for one in laid for finding in lone_rules(one, amounts))
    by_sheet: defaultdict[int, list[Laid]] = defaultdict(list)
    for one in laid:
        by_sheet[one.placement.sheet].append(one)
    stocks = _stocks(marker, amounts)
    for index, members in sorted(by_sheet.items()):
        findings.extend(stocks(index, members))
        findings.extend(_neighbours(members, amounts, spacing=marker.lay.spacing))
    findings.extend(groups(laid, amounts, spacing=marker.lay.spacing))
    return tuple(findings)


def _copies(marker: Marker) -> Iterator[Finding]:
    """Yield every part of the lay that isn't laid exactly once, and every other part."""
    parts = marker.lay.parts
    laid = Counter(placement.part for placement in marker.placements)
    for index, part in enumerate(parts):
        if laid[index] == 0:
            yield Finding(kind="missing", text=f"{part.name} is not laid", parts=(part.name,))
        elif laid[index] > 1:
            text = f"{part.name} is laid {laid[index]} times"
            yield Finding(kind="extra", text=text, parts=(part.name,))
    for index in sorted(set(laid) - set(range(len(parts)))):
        yield Finding(kind="extra", text=f"part {index} is laid, but the lay has no such part")


def _numbers(marker: Marker) -> Iterator[Finding]:
    for placement in marker.placements:
        if _known(marker, placement) and not _sane(placement):
            name = marker.lay.parts[placement.part].name
            place = f"x {placement.x:g}, y {placement.y:g}, turn {placement.angle:g}"
            far = all(map(math.isfinite, (placement.x, placement.y, placement.angle)))
            told = "off the goods, more than 10 km away" if far else "nowhere"
            yield Finding(kind="number", text=f"{name} lies {told}: {place}", parts=(name,))


def _known(marker: Marker, placement: Placement) -> bool:
    return 0 <= placement.part < len(marker.lay.parts)


def _sane(placement: Placement) -> bool:
    near = abs(placement.x) < FARTHEST_LAID and abs(placement.y) < FARTHEST_LAID
    return near and math.isfinite(placement.angle)


def _sheets(marker: Marker) -> Iterator[Finding]:
    """Yield every sheet that isn't there, those used too often, and those without parts."""
    stock = marker.lay.stock
    for placement in marker.placements:
        if _known(marker, placement) and not _has_sheet(marker, placement):
            name = marker.lay.parts[placement.part].name
            text = f"{name} lies on sheet {placement.sheet}, which the marker doesn't have"
            yield Finding(kind="sheet", text=text, parts=(name,))
    for kind, used in sorted(Counter(marker.sheets).items()):
        if not 0 <= kind < len(stock.sheets):
            text = f"the marker uses sheets of kind {kind}, which the stock doesn't have"
            yield Finding(kind="sheet", text=text)
            continue
        sheet = stock.sheets[kind]
        if sheet.count is not None and used > sheet.count:
            text = f"{used} of {sheet.name} are used, there are {sheet.count}"
            yield Finding(kind="sheet", text=text, amount=float(used - sheet.count))
    for index in sorted(set(range(len(marker.sheets))) - {p.sheet for p in marker.placements}):
        text = f"sheet {index} has no part on it"
        yield Finding(kind="sheet", severity=Severity.NOTE, text=text)


def _has_sheet(marker: Marker, placement: Placement) -> bool:
    if marker.lay.stock.open_ended:
        return placement.sheet == 0
    if not 0 <= placement.sheet < len(marker.sheets):
        return False
    return 0 <= marker.sheets[placement.sheet] < len(marker.lay.stock.sheets)


def _laid(marker: Marker) -> list[Laid]:
    """Return the parts that lie somewhere; equal pieces are prepared once."""
    solids: dict[int, Solid] = {}

    def solid(piece: Piece) -> Solid:
        if id(piece) not in solids:
            solids[id(piece)] = outline_solid(piece.cut, holes=piece.holes)
        return solids[id(piece)]

    out = []
    for placement in marker.placements:
        if _known(marker, placement) and _sane(placement) and _has_sheet(marker, placement):
            part = marker.lay.parts[placement.part]
            placed = solid(part.piece).placed(placement.affine)
            out.append(Laid(part=part, placement=placement, solid=placed))
    return out


def _outlines(laid: Iterable[Laid]) -> Iterator[Finding]:
    for one in laid:
        if one.solid.area.area == 0.0:
            text = f"the outline of {one.name} encloses nothing"
            yield Finding(kind="outline", text=text, parts=(one.name,))
        elif one.solid.crossed:
            text = f"the outline of {one.name} crosses itself"
            yield Finding(kind="outline", text=text, parts=(one.name,), at=one.centre)


def _marks(laid: Iterable[Laid], amounts: Amounts) -> Iterator[Finding]:
    """Yield every mark that would be made beyond its part: on a neighbour, or on nothing."""
    for one in laid:
        for mark, off in marks_beyond(one.part.piece):
            name = f' "{mark.name}"' if mark.name else ""
            yield Finding(
                kind="mark",
                text=f"the {mark.kind} mark{name} of {one.name} reaches {amounts.fine(off)}"
                " beyond it",
                parts=(one.name,),
                amount=off,
                at=one.centre,
            )


def _neighbours(laid: Sequence[Laid], amounts: Amounts, *, spacing: float) -> Iterator[Finding]:
    """Yield the overlaps and gaps between the parts of one sheet."""
    found = clashes([one.solid for one in laid], spacing=spacing)
    for clash in islice(found, _MOST):
        first, second = laid[clash.first].name, laid[clash.second].name
        if clash.depth > 0.0:
            yield Finding(
                kind="overlap",
                text=f"{first} and {second} overlap by {amounts.fine(clash.depth)}"
                f" ({amounts.fine_area(clash.shared)})",
                parts=(first, second),
                amount=clash.depth,
                at=clash.at,
            )
        else:
            yield Finding(
                kind="gap",
                text=f"{first} and {second} lie {amounts.fine(clash.distance)} apart,"
                f" {amounts.fine(spacing)} are wanted",
                parts=(first, second),
                amount=spacing - clash.distance,
                at=clash.at,
            )
    if next(found, None) is not None:
        yield Finding(kind="overlap", text=f"more than {_MOST} pairs of parts overlap or are near")


def _stocks(marker: Marker, amounts: Amounts) -> Callable[[int, Sequence[Laid]], Iterator[Finding]]:
    """Return the judge of parts against what they lie on."""
    stock = marker.lay.stock
    if isinstance(stock, Strip):
        strip = stock
        return lambda _, laid: _on_strip(laid, strip, amounts)
    sheets = stock
    return lambda index, laid: _on_sheet(
        laid, sheets.sheets[marker.sheets[index]], amounts, margin=sheets.margin
    )


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
    laid: Sequence[Laid], sheet: Sheet, amounts: Amounts, *, margin: float
) -> Iterator[Finding]:
    whole = outline_solid(sheet.outline, size=False)
    reach = _reach(laid)
    beyond = _barred(whole, reach)
    where = f"the edge of {sheet.name}"
    yield from _barred_to(laid, beyond, where, amounts, kind="outside", margin=margin)
    for hole in sheet.holes:
        flaw = outline_solid(hole, size=False)
        where = f"a flaw of {sheet.name}"
        yield from _barred_to(laid, flaw, where, amounts, kind="flaw", margin=margin)
    for one in laid:
        yield from edge(one, whole.area.bounds, amounts)
    in_regions: defaultdict[str | None, list[Laid]] = defaultdict(list)
    for one in laid:
        in_regions[one.part.region].append(one)
    for name, members in in_regions.items():
        regions = [region for region in sheet.regions if region.name == name]
        yield from _in_region(members, regions, amounts, sheet=sheet)


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
    laid: Sequence[Laid], regions: Sequence[Region], amounts: Amounts, *, sheet: Sheet
) -> Iterator[Finding]:
    """Yield what leaves the region that all of these parts are bound to, or turns wrongly in it.

    Regions of one name are alternatives: a part lies wholly in one of them and takes
    its turns. Parts bound to none have the whole sheet and their own turns.
    """
    if laid[0].part.region is None:
        for one in laid:
            yield from turn(one, one.part.turns)
        return
    if not regions:
        for one in laid:
            text = f"{sheet.name} has no region {one.part.region!r}, where {one.name} belongs"
            yield Finding(kind="region", text=text, parts=(one.name,), at=one.centre)
        return
    reach, solids = _reach(laid), [one.solid for one in laid]
    beyond: list[dict[int, Clash]] = []
    for region in regions:
        barred = _barred(_region_solid(region), reach)
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


def _region_solid(region: Region) -> Solid:
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
