"""What a lay is laid on: a strip of cloth, sheets with remnants first, hides with their zones."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import shapely

from nesting.marker.lay import Part, Region, Sheet, Sheets, Strip, Turns
from nesting.material.material import (
    Cloth,
    Fold,
    Grade,
    Hide,
    Hides,
    Material,
    Nap,
    SheetGoods,
    Width,
    Zone,
)
from nesting.pattern.measure import clockwise, counter_clockwise
from nesting.pattern.path import Affine, Path
from nesting.pattern.polygon import polygon
from nesting.pattern.shapes import rectangle

__all__ = [
    "WITH_GRAIN",
    "Asked",
    "hide_of",
    "on_known_grain",
    "region_name",
    "stock_of",
    "strip_of",
]

_SMALLEST_BIT = 100.0
"""What flaws cut off from a hide counts as a bit of its own from this area on (mm²)."""

_BIT = " bit "

WITH_GRAIN = "goods of known grain"
"""The region of parts with a grain, where there are remnants of which it is not known."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What a part asks of a hide: the poorest grade it accepts, and its nap.

    `slack`: how far it may turn from the direction of tightness, instead of what the zones say.
    """

    grade: Grade
    nap: Nap
    slack: float | None = None


def stock_of(
    material: Material, *, width: Width | None, regions: Sequence[Asked]
) -> Strip | Sheets:
    """Return the stock; `regions`: what parts ask of the zones of a hide."""
    if isinstance(material, Cloth):
        return strip_of(material, width or material.widths[0])
    if isinstance(material, SheetGoods):
        return _sheets(material)
    sheets = (
        sheet
        for hide in material.hides
        for sheet in _hide_sheets(hide, regions=dict.fromkeys(regions))
    )
    return Sheets(sheets=tuple(sheets), margin=material.margin)


def strip_of(cloth: Cloth, width: Width) -> Strip:
    """Return the strip that is laid: half the width of folded cloth, and less if it must shrink."""
    usable = width.usable
    longest = None if cloth.longest is None else cloth.longest - 2.0 * cloth.ends
    if not cloth.shrinkage.cut_larger:
        usable *= 1.0 - cloth.shrinkage.across
    return Strip(width=usable / 2.0 if cloth.fold is Fold.FOLDED else usable, longest=longest)


def _sheets(goods: SheetGoods) -> Sheets:
    told = all(remnant.grain_known for remnant in goods.remnants)
    sheets = [
        Sheet(
            name=remnant.name,
            outline=remnant.outline,
            holes=remnant.holes,
            regions=() if told or not remnant.grain_known else (_grain_on(remnant.outline),),
            count=1,
        )
        for remnant in goods.remnants
    ]
    if goods.count != 0:
        whole = rectangle(goods.length, goods.width)
        regions = () if told else (_grain_on(whole),)
        sheets.append(Sheet(name=goods.name, outline=whole, regions=regions, count=goods.count))
    return Sheets(sheets=tuple(sheets), margin=goods.margin)


def _grain_on(outline: Path) -> Region:
    return Region(name=WITH_GRAIN, outlines=(outline,))


def on_known_grain(parts: Sequence[Part], goods: SheetGoods) -> tuple[Part, ...]:
    """Return the parts, those with a grain kept off remnants of which it is not known."""
    if all(remnant.grain_known for remnant in goods.remnants):
        return tuple(parts)
    return tuple(replace(part, region=WITH_GRAIN) if part.grain else part for part in parts)


def region_name(asked: Asked) -> str:
    """Name the region of zones that are at least so good, for parts with such a nap."""
    name = f"{asked.grade} or better"
    if asked.nap is not Nap.ANY:
        return f"{name}, nap {asked.nap}"
    return name if asked.slack is None else f"{name}, turned by {asked.slack:g}° at most"


def hide_of(sheet: Sheet, goods: Hides) -> Hide:
    """Return the hide that a sheet is, or is a bit of."""
    whole = sheet.name.rpartition(_BIT)[0]
    return next(hide for hide in goods.hides if hide.name in (sheet.name, whole))


def _hide_sheets(hide: Hide, *, regions: dict[Asked, None]) -> Iterator[Sheet]:
    """Yield the sheets of a hide, turned so that its backbone runs along x.

    There is one, unless flaws cut it apart.
    """
    turn = Affine.turn(-hide.backbone)

    def turned(path: Path) -> Path:
        return path.transformed(turn) if hide.backbone else path

    named = tuple(region for asked in regions for region in _regions(hide, asked, turned=turned))
    bits = list(_bits(turned(hide.outline), tuple(turned(flaw) for flaw in hide.flaws)))
    for i, (outline, holes) in enumerate(bits, start=1):
        name = hide.name if len(bits) == 1 else f"{hide.name}{_BIT}{i}"
        yield Sheet(name=name, outline=outline, holes=holes, regions=named, count=1)


def _regions(hide: Hide, asked: Asked, *, turned: Callable[[Path], Path]) -> Iterator[Region]:
    """Yield the region of the zones that are good enough, and alternatives to it.

    A part lies in one region only and takes its turns. So that it may reach across the
    borders of zones, those whose directions of tightness agree make one region, as large
    as can be; what is left makes further ones. Parts with a nap of their own, such as
    straps parallel to the backbone, keep to it, in the zones whose tightness allows that.
    """
    name = region_name(asked)
    if asked.nap is not Nap.ANY and not hide.grain_known:
        return
    if not hide.zones or asked.grade is Grade.D:  # nobody has graded it, or anywhere will do
        yield Region(name=name, outlines=(counter_clockwise(turned(hide.outline)),))
        return
    left = [zone for zone in hide.zones if zone.grade <= asked.grade]
    if asked.nap is not Nap.ANY:
        left = [zone for zone in left if _allows(zone, hide.backbone)]
        if left:
            yield Region(name=name, outlines=_outlines(left, turned))
        return
    if asked.slack is not None:
        left = [replace(zone, slack=asked.slack) for zone in left]
    while left:
        zones, turns = _agreeing(left, backbone=hide.backbone)
        yield Region(name=name, outlines=_outlines(zones, turned), turns=turns)
        left = [zone for zone in left if zone not in zones]


def _outlines(zones: Sequence[Zone], turned: Callable[[Path], Path]) -> tuple[Path, ...]:
    return tuple(counter_clockwise(turned(zone.outline)) for zone in zones)


def _allows(zone: Zone, direction: float) -> bool:
    """Whether a part may lie along a direction (degrees) in a zone."""
    if zone.tight is None:
        return True
    return abs(math.remainder(direction - zone.tight, 180.0)) <= zone.slack + 1e-9


def _binds(zone: Zone) -> bool:
    """Whether a zone's tightness leaves some turns out."""
    return zone.tight is not None and zone.slack < 90.0


def _agreeing(zones: Sequence[Zone], *, backbone: float) -> tuple[list[Zone], Turns | None]:
    """Return the zones, as much of the hide as can be, that share directions, and the turns."""
    tight = [(zone.tight, zone.slack) for zone in zones if zone.tight is not None and _binds(zone)]
    if not tight:
        return list(zones), None
    tried = sorted({t + way * slack for t, slack in tight for way in (0.0, -1.0, 1.0)})
    groups = [[zone for zone in zones if _allows(zone, angle)] for angle in tried]
    areas = [sum(polygon(zone.outline).area for zone in group) for group in groups]
    best = max(range(len(tried)), key=lambda i: (areas[i], -i))
    bound = [zone for zone in groups[best] if _binds(zone)]
    if not bound:
        return groups[best], None
    low, high = -90.0, 90.0
    for zone in bound:
        off = math.remainder((zone.tight or 0.0) - tried[best], 180.0)
        low, high = max(low, off - zone.slack), min(high, off + zone.slack)
    angle = tried[best] + 0.5 * (low + high) - backbone
    return groups[best], Turns(angles=(angle, angle + 180.0), slack=0.5 * (high - low))


def _bits(outline: Path, flaws: tuple[Path, ...]) -> list[tuple[Path, tuple[Path, ...]]]:
    """Return outline and holes, apart from each other, whatever way the flaws overlap."""
    whole = polygon(outline)
    areas = [polygon(flaw) for flaw in flaws]
    inside = all(whole.contains_properly(area) for area in areas)
    tree = shapely.STRtree(areas)
    apart = all(len(tree.query(area, predicate="intersects")) == 1 for area in areas)
    if inside and apart:
        return [(outline, tuple(clockwise(flaw) for flaw in flaws))]
    left = shapely.difference(whole, shapely.union_all(areas))
    bits = [bit for bit in getattr(left, "geoms", [left]) if bit.area >= _SMALLEST_BIT]
    return [
        (
            counter_clockwise(_ring(bit.exterior)),
            tuple(clockwise(_ring(hole)) for hole in bit.interiors),
        )
        for bit in sorted(bits, key=lambda bit: -bit.area)
    ]


def _ring(ring: shapely.LinearRing) -> Path:
    return Path.polyline([(x, y) for x, y in list(ring.coords)[:-1]], closed=True)
