"""From a marker to what is bought and what it costs."""

from __future__ import annotations

from nesting.marker.marker import Marker
from nesting.material.material import Cloth, Hides, Material, Width
from nesting.material.sums import before_shrinking
from nesting.pattern.polygon import polygon
from nesting.planning.lay.ground import hides_used
from nesting.planning.records import Buying
from nesting.quantity import NO_LENGTH, Quantity, Unit, of_area, of_length, of_sheets
from nesting.units import round_up

__all__ = ["buying", "cloth_to_buy", "cost_of"]


def buying(
    marker: Marker, material: Material, *, width: Width | None, length: float, plies: int = 1
) -> Buying:
    """Return what one marker of `material` asks to be bought.

    `length` is the marker's length (mm), cut through `plies` layers of cloth. Cloth
    washed before cutting is bought as need / (1 − s), since it is the bought cloth
    that loses the share s.
    """
    if material.taken_in is Unit.LENGTH:
        return _cloth(material, width=width, length=length, plies=plies)
    if material.taken_in is Unit.SHEETS:
        new = sum(1 for kind in marker.sheets if kind >= len(material.remnants))
        held = min(material.at_hand, new)
        cost = None if material.price is None else round((new - held) * material.price, 2)
        return Buying(
            needed=of_length(length),
            gross=of_length(length),
            to_buy=of_sheets(new - held),
            step=of_sheets(1),
            sheets=new,
            cost=cost,
            from_stock=of_sheets(held),
        )
    return _hides(marker, material)


def _cloth(material: Cloth, *, width: Width | None, length: float, plies: int) -> Buying:
    needed = plies * (length + 2.0 * material.ends) if length > 0 else 0.0
    shrink = material.shrinkage
    gross = needed if shrink.cut_larger else before_shrinking(needed, share=shrink.along)
    to_buy = cloth_to_buy(of_length(gross), NO_LENGTH, material, spare=0.0)
    price = None if width is None else width.price
    cost = None if price is None else round(to_buy.value / 1000.0 * price, 2)
    return Buying(
        needed=of_length(needed),
        gross=of_length(gross),
        to_buy=to_buy,
        step=of_length(material.step),
        cost=cost,
        from_stock=NO_LENGTH,
    )


def _hides(marker: Marker, material: Hides) -> Buying:
    used = hides_used(marker, material)
    bought = of_area(sum(polygon(hide.outline).area for hide in used if not hide.remnant))
    cost = None if material.price is None else round(bought.value / 1e6 * material.price, 2)
    return Buying(
        needed=bought,
        gross=bought,
        to_buy=bought,
        step=of_area(0.0),
        sheets=len(used),
        cost=cost,
        from_stock=of_area(0.0),
    )


def cloth_to_buy(gross: Quantity, from_stock: Quantity, cloth: Cloth, *, spare: float) -> Quantity:
    """Return the length to buy, rounded up to the cloth's step."""
    short = max(0.0, (gross * (1.0 + spare) - from_stock).value)
    return of_length(round_up(short, step=cloth.step) if cloth.step else short)


def cost_of(to_buy: Quantity, width: Width | None) -> float | None:
    """Return what a length costs: nothing if nothing is bought, None if no price is known."""
    if not to_buy:
        return 0.0
    if width is None or width.price is None:
        return None
    return round(to_buy.value / 1000.0 * width.price, 2)
