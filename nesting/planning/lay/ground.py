"""What a lay is laid on: a strip of cloth, sheets with remnants first, hides with their zones."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import shapely

from nesting.errors import PlanError
from nesting.job.job import Cut
from nesting.marker.lay import Part, Region, Sheet, Sheets, Strip
from nesting.marker.marker import Marker
from nesting.material.material import (
    Cloth,
    Goods,
    Grade,
    Hide,
    Material,
    Nap,
    SheetGoods,
    Width,
)
from nesting.pattern.measure import clockwise
from nesting.pattern.path import Affine, Path
from nesting.pattern.polygon import outlines_of, polygon
from nesting.pattern.shapes import rectangle
from nesting.planning.lay.zones import allowed_on
from nesting.quantity import Unit

__all__ = [
    "WITH_GRAIN",
    "Asked",
    "hide_of",
    "hides_used",
    "on_known_grain",
    "region_name",
    "slack_asked",
    "stock_of",
    "strip_of",
]

_SMALLEST_BIT = 100.0
"""What flaws cut off from a hide counts as a bit of its own from this area on (mm²)."""

WITH_GRAIN = "goods of known grain"
"""The region of parts with a grain, where there are remnants of which it is not known."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What a part asks of a hide: the poorest grade it accepts, and its nap.

    `slack`: how far it may turn from the direction of tightness, instead of what the zones say;
    with a nap how far it may turn from the backbone, as far as the zones allow that.
    `best`: it is held to leather no better than this. `bias`: it is cut on the bias of leather
    whose zones have a direction of tightness.
    """

    grade: Grade
    nap: Nap
    slack: float | None = None
    best: Grade | None = None
    bias: bool = False


def slack_asked(cut: Cut, goods: Goods) -> float | None:
    """Return how far a cut may turn from the direction of tightness, or from the backbone."""
    if (cut.nap or goods.nap) is Nap.ANY:
        return cut.turn_slack
    return (goods.turn_slack if cut.turn_slack is None else cut.turn_slack) or None


def stock_of(
    material: Material, *, width: Width | None, regions: Sequence[Asked]
) -> Strip | Sheets:
    """Return the stock; `regions`: what parts ask of the zones of a hide."""
    if material.taken_in is Unit.LENGTH:
        return strip_of(material, width or material.widths[0])
    if material.taken_in is Unit.SHEETS:
        return _sheets(material)
    sheets = (
        sheet
        for number, hide in enumerate(material.hides)
        for sheet in _hide_sheets(hide, number, regions=dict.fromkeys(regions))
    )
    return Sheets(sheets=tuple(sheets), margin=material.margin)


def strip_of(cloth: Cloth, width: Width) -> Strip:
    """Return the strip that is laid: half the width of folded cloth, and less if it must shrink."""
    usable = width.usable
    longest = None if cloth.longest is None else cloth.longest - 2.0 * cloth.ends
    if not cloth.shrinkage.cut_larger:
        usable *= 1.0 - cloth.shrinkage.across
    return Strip(width=usable / 2.0 if cloth.folded else usable, longest=longest)


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


def on_known_grain(parts: Sequence[Part], goods: Goods) -> tuple[Part, ...]:
    """Return the parts, those with a grain kept off remnants of which it is not known."""
    if all(remnant.grain_known for remnant in goods.remnants):
        return tuple(parts)
    return tuple(replace(part, region=WITH_GRAIN) if part.grain else part for part in parts)


def region_name(asked: Asked) -> str:
    """Name the region of zones that are at least so good, for parts with such a nap."""
    name = f"{asked.grade} or better" if asked.best is None else f"{asked.best} to {asked.grade}"
    if asked.nap is not Nap.ANY:
        name = f"{name}, nap {asked.nap}"
    if asked.bias:
        name = f"{name}, on the bias"
    return name if asked.slack is None else f"{name}, turned by {asked.slack:g}° at most"


def hide_of(sheet: Sheet, goods: Goods) -> Hide:
    """Return the hide that a sheet is, or is a bit of.

    Raises
    ------
    PlanError
        There is none: a stored plan was changed.

    """
    if sheet.origin is None or not 0 <= sheet.origin < len(goods.hides):
        raise PlanError(f'"{sheet.name}" is no hide of {goods.name}')
    return goods.hides[sheet.origin]


def hides_used(marker: Marker, goods: Goods) -> tuple[Hide, ...]:
    """Return the hides that a marker lies on: each once, whatever bits of it."""
    sheets = {sheet.origin: sheet for sheet in marker.used}
    return tuple(hide_of(sheet, goods) for sheet in sheets.values())


def _hide_sheets(hide: Hide, number: int, *, regions: dict[Asked, None]) -> Iterator[Sheet]:
    """Yield the sheets of a hide, turned so that its backbone runs along x.

    There is one, unless flaws cut it apart.
    """
    turn = Affine.turn(-hide.backbone)

    def turned(path: Path) -> Path:
        return path.transformed(turn) if hide.backbone else path

    named = tuple(
        Region(
            name=region_name(asked),
            outlines=tuple(turned(path) for path in allowed.outlines),
            turns=allowed.turns,
        )
        for asked in regions
        for allowed in allowed_on(
            hide,
            grade=asked.grade,
            nap=asked.nap,
            slack=asked.slack,
            best=asked.best,
            bias=asked.bias,
        )
    )
    bits = list(_bits(turned(hide.outline), tuple(turned(flaw) for flaw in hide.flaws)))
    cost = 0.0 if hide.remnant else polygon(hide.outline).area
    for i, (outline, holes) in enumerate(bits, start=1):
        yield Sheet(
            name=hide.name if len(bits) == 1 else f"{hide.name} bit {i}",
            outline=outline,
            holes=holes,
            regions=named,
            count=1,
            cost=cost,
            origin=number,
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
        (body, tuple(holes))
        for body, *holes in map(outlines_of, sorted(bits, key=lambda bit: -bit.area))
    ]
