"""What is left of the stock after a lay, in pieces worth keeping."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from shapely import LinearRing, Polygon, box, unary_union
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry

from nesting.marker.figures import figures
from nesting.marker.marker import Marker, Placement
from nesting.pattern.path import Path
from nesting.pattern.polygon import area_less, piece_polygon
from nesting.planning.buying.largest_rectangle import largest_rectangle
from nesting.planning.lay.ground import hide_of
from nesting.planning.plan import Entry
from nesting.shown import Brief

__all__ = ["MOST_KEPT", "Leftover", "leftovers", "most_kept", "tail"]

MOST_KEPT = 100
"""Left-overs of one cloth, sheet or hide: of more, nobody would know one from another."""


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Leftover(Brief):
    """An area of the stock that no part needs (mm).

    `rectangle` is (x, y, length, width) of a large rectangle inside it, along the grain:
    what a next job of rectangles can count on. `sheet`: the marker's sheet it is on.
    `grain_known`: it is if it was on what this is left of.
    """

    name: str
    material: str
    outline: Path
    holes: tuple[Path, ...]
    area: float
    rectangle: tuple[float, float, float, float]
    sheet: int = 0
    grain_known: bool = True


def tail(entry: Entry) -> float:
    """Return how much of a length stays on the end of a marker, as one left-over (mm).

    That is the end of the only ply of a cloth, be it new or from a length at hand. A longer
    one is cut off straight and kept as a length, and so is that of cloth whose remnants are
    of no use: folded or with a print.
    """
    cloth, bought = entry.material, entry.buying
    if not entry.marker.lay.stock.open_ended or sum(entry.spreads) != 1 or not bought.step:
        return 0.0
    rolls = [roll for laid in entry.laid_from for roll in laid.rolls]
    if len(rolls) > 1:
        return 0.0
    whole = cloth.rolls[rolls[0] - 1] if rolls and rolls[0] else bought.to_buy.value
    beyond = whole - bought.gross.value
    if not 1.0 <= beyond < _LENGTH:
        return 0.0
    if cloth.folded or cloth.print is not None:
        return 0.0
    shrinkage = cloth.shrinkage
    return cloth.ends + beyond * (1.0 if shrinkage.cut_larger else 1.0 - shrinkage.along)


_LENGTH = 500.0
"""From here on (mm) the end of what was bought is a length of cloth, not a bit (own choice)."""


def leftovers(entry: Entry, *, narrowest: float = 80.0) -> tuple[Leftover, ...]:
    """Return what one marker leaves that is nowhere narrower than `narrowest` (mm).

    On cloth single plies count, with the `tail` beyond the marker; of what is between the
    parts only places that wide count. Parts keep the lay's spacing. Of each cloth, sheet or
    hide no more than `MOST_KEPT` are given, the largest.
    """
    free = _free_areas(entry)
    found: list[Leftover] = []
    for sheet, area in free:
        # Opening: whatever a disc of this width cannot reach is no piece to keep.
        core = area.buffer(-narrowest / 2.0)
        kept = core.buffer(narrowest / 2.0, join_style="mitre").intersection(area)
        many = len(found) + MOST_KEPT
        for part in sorted(_polygons(kept.simplify(0.1)), key=_by_area):
            if len(found) == many:
                break
            rectangle = largest_rectangle(part)
            if min(rectangle[2:]) < narrowest * 0.5:
                continue
            found.append(
                Leftover(
                    name=f"{entry.material.name} rest {len(found) + 1}",
                    material=entry.material.name,
                    outline=_rounded(part.exterior),
                    holes=tuple(_rounded(ring) for ring in part.interiors),
                    area=part.area,
                    rectangle=rectangle,
                    sheet=sheet,
                    grain_known=_grain_known(entry, sheet),
                )
            )
    return tuple(found)


def most_kept(found: Sequence[Leftover]) -> bool:
    """Whether of a cloth, sheet or hide so many are kept that there may be smaller ones, too."""
    return MOST_KEPT in Counter(left.sheet for left in found).values()


def _grain_known(entry: Entry, sheet: int) -> bool:
    """Whether it is known how the grain runs on a marker's sheet."""
    material = entry.material
    if entry.marker.lay.stock.open_ended:
        return True
    if material.is_leather:
        return hide_of(entry.marker.used[sheet], material).grain_known
    kind = entry.marker.sheets[sheet]
    return kind >= len(material.remnants) or material.remnants[kind].grain_known


def _free_areas(entry: Entry) -> Iterator[tuple[int, BaseGeometry]]:
    """Yield (sheet, area) of the stock less the parts and their spacing."""
    marker = entry.marker
    stock = marker.lay.stock
    if stock.open_ended:
        if sum(entry.spreads) == 1:
            end = figures(marker).length + tail(entry)
            yield 0, _less(box(0.0, 0.0, max(end, 1.0), stock.width), marker, 0)
        return
    for sheet, goods in enumerate(marker.used):
        yield sheet, _less(area_less(goods.outline, goods.holes), marker, sheet)


_FINE = 1000
"""Lines of an outline from which on it is grown once for all its copies, for that takes long."""


def _less(area: BaseGeometry, marker: Marker, sheet: int) -> BaseGeometry:
    apart = max(marker.lay.spacing, 0.5)
    grown: dict[tuple[Path, tuple[Path, ...]], BaseGeometry] = {}

    def around(placement: Placement) -> BaseGeometry:
        piece, by = marker.lay.parts[placement.part].piece, placement.affine
        shape = piece.cut, piece.holes
        if len(piece.cut.segments) < _FINE:
            return piece_polygon(piece, by=by).buffer(apart, join_style="mitre")
        if shape not in grown:
            grown[shape] = piece_polygon(piece).buffer(apart, join_style="mitre")
        return affine_transform(grown[shape], (by.a, by.b, by.c, by.d, by.e, by.f))

    parts = [around(placement) for placement in marker.placements if placement.sheet == sheet]
    return area.difference(unary_union(parts))


def _rounded(ring: LinearRing) -> Path:
    return Path.polyline([(round(x, 2), round(y, 2)) for x, y in ring.coords[:-1]], closed=True)


def _by_area(part: Polygon) -> float:
    return -float(part.area)


def _polygons(shape: object) -> list[Polygon]:
    parts = getattr(shape, "geoms", [shape])
    return [part for part in parts if isinstance(part, Polygon) and not part.is_empty]
