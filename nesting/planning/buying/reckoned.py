"""From a marker to what is bought and what it costs."""

from __future__ import annotations

from nesting.marker.marker import Marker
from nesting.material.material import Cloth, Hides, Material, SheetGoods, Width
from nesting.material.sums import before_shrinking
from nesting.pattern.polygon import polygon
from nesting.planning.lay.ground import hides_used
from nesting.planning.plan import Buying
from nesting.units import round_up

__all__ = ["buying"]


def buying(
    marker: Marker, material: Material, *, width: Width | None, length: float, plies: int = 1
) -> Buying:
    """Return what one marker of `material` asks to be bought.

    `length` is the marker's length (mm), cut through `plies` layers of cloth. Cloth
    washed before cutting is bought as need / (1 − s), since it is the bought cloth
    that loses the share s.
    """
    if isinstance(material, Cloth):
        return _cloth(material, width=width, length=length, plies=plies)
    if isinstance(material, SheetGoods):
        new = sum(1 for kind in marker.sheets if kind >= len(material.remnants))
        held = min(material.at_hand, new)
        cost = None if material.price is None else round((new - held) * material.price, 2)
        return Buying(
            needed=length,
            gross=length,
            to_buy=float(new - held),
            step=1.0,
            sheets=new,
            cost=cost,
            from_stock=float(held),
        )
    return _hides(marker, material)


def _cloth(material: Cloth, *, width: Width | None, length: float, plies: int) -> Buying:
    needed = plies * (length + 2.0 * material.ends) if length > 0 else 0.0
    shrink = material.shrinkage
    gross = needed if shrink.cut_larger else before_shrinking(needed, share=shrink.along)
    to_buy = round_up(gross, step=material.step)
    price = None if width is None else width.price
    cost = None if price is None else round(to_buy / 1000.0 * price, 2)
    return Buying(needed=needed, gross=gross, to_buy=to_buy, step=material.step, cost=cost)


def _hides(marker: Marker, material: Hides) -> Buying:
    used = hides_used(marker, material)
    area = sum(polygon(hide.outline).area for hide in used if not hide.remnant)
    cost = None if material.price is None else round(area / 1e6 * material.price, 2)
    return Buying(needed=area, gross=area, to_buy=area, step=0.0, sheets=len(used), cost=cost)
