"""What a lay is laid on: a strip of cloth, sheets with remnants first, hides with their zones."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import shapely

from nesting.marker.lay import Region, Sheet, Sheets, Strip, Turns
from nesting.material.material import (
    Cloth,
    Fold,
    Grade,
    Hide,
    Material,
    SheetGoods,
    Width,
    Zone,
)
from nesting.pattern.measure import clockwise, counter_clockwise
from nesting.pattern.path import Affine, Path
from nesting.pattern.polygon import polygon
from nesting.pattern.shapes import rectangle

__all__ = ["region_name", "stock_of", "strip_of"]

_SMALLEST_BIT = 100.0
"""What flaws cut off from a hide counts as a bit of its own from this area on (mm²)."""


def stock_of(
    material: Material, *, width: Width | None, regions: Sequence[tuple[Grade, bool]]
) -> Strip | Sheets:
    """Return the stock; `regions`: grades that parts ask for, and whether they lie one way."""
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
    sheets = [
        Sheet(name=remnant.name, outline=remnant.outline, holes=remnant.holes, count=1)
        for remnant in goods.remnants
    ]
    if goods.count != 0:
        whole = rectangle(goods.length, goods.width)
        sheets.append(Sheet(name=goods.name, outline=whole, count=goods.count))
    return Sheets(sheets=tuple(sheets), margin=goods.margin)


def region_name(grade: Grade, *, one_way: bool) -> str:
    """Name the region of zones that are at least so good, for parts that lie one way or not."""
    return f"{grade} or better, one way" if one_way else f"{grade} or better"


def _hide_sheets(hide: Hide, *, regions: dict[tuple[Grade, bool], None]) -> Iterator[Sheet]:
    """Yield the sheets of a hide, turned so that its backbone runs along x.

    There is one, unless flaws cut it apart.
    """
    turn = Affine.turn(-hide.backbone)

    def turned(path: Path) -> Path:
        return path.transformed(turn) if hide.backbone else path

    named = tuple(
        region
        for grade, one_way in regions
        for region in _regions(hide, grade, one_way=one_way, turned=turned)
    )
    bits = list(_bits(turned(hide.outline), tuple(turned(flaw) for flaw in hide.flaws)))
    for i, (outline, holes) in enumerate(bits, start=1):
        name = hide.name if len(bits) == 1 else f"{hide.name} bit {i}"
        yield Sheet(name=name, outline=outline, holes=holes, regions=named, count=1)


def _regions(
    hide: Hide, grade: Grade, *, one_way: bool, turned: Callable[[Path], Path]
) -> Iterator[Region]:
    """Yield the region of each direction of tightness among the zones that are good enough."""
    if not hide.zones:  # nobody has graded it: all of it does
        outline = counter_clockwise(turned(hide.outline))
        yield Region(name=region_name(grade, one_way=one_way), outlines=(outline,))
    groups: dict[tuple[float | None, float], list[Zone]] = {}
    for zone in hide.zones:
        if zone.grade <= grade:
            groups.setdefault((zone.tight, zone.slack), []).append(zone)
    for (tight, slack), zones in groups.items():
        turns = None
        if tight is not None:
            angle = tight - hide.backbone
            angles = (angle,) if one_way else (angle, angle + 180.0)
            turns = Turns(angles=angles, slack=slack)
        yield Region(
            name=region_name(grade, one_way=one_way),
            outlines=tuple(counter_clockwise(turned(zone.outline)) for zone in zones),
            turns=turns,
        )


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
