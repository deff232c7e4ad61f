"""What a print costs in cloth: the same parts laid with and without it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from nesting.marker.figures import figures
from nesting.marker.lay import Lay
from nesting.material.material import Cloth
from nesting.planning.buying import buying
from nesting.planning.plan import Entry

__all__ = ["PrintPrice", "is_bound", "print_price", "unbound"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintPrice:
    """Marker lengths (mm) with and without matching and centring; what more has to be bought.

    `to_buy`: more cloth at the shop's steps (mm); `cost`: of that, None without a price.
    """

    matched: float
    plain: float
    to_buy: float
    cost: float | None

    @property
    def extra(self) -> float:
        """How much longer the marker is (mm)."""
        return self.matched - self.plain


def is_bound(lay: Lay) -> bool:
    """Whether a print binds any part of a lay."""
    return any(part.binding is not None for part in lay.parts)


def unbound(lay: Lay) -> Lay:
    """Return the lay as it would be without the print: no motif centred, no seam matched.

    Parts keep their turns: a print that isn't matched still has a right way up.
    """
    parts = tuple(
        replace(part, binding=None, turn_group=None) if part.binding is not None else part
        for part in lay.parts
    )
    return replace(lay, parts=parts)


def print_price(entry: Entry) -> PrintPrice | None:
    """Return what the print of a marker costs; None where none binds, or none was compared."""
    if entry.unmatched is None or not isinstance(entry.material, Cloth):
        return None
    matched = figures(entry.marker).length
    without = buying(entry.marker, entry.material, width=entry.width, length=entry.unmatched)
    cost = None
    if entry.buying.cost is not None and without.cost is not None:
        cost = round(entry.buying.cost - without.cost, 2)
    return PrintPrice(
        matched=matched,
        plain=entry.unmatched,
        to_buy=entry.buying.to_buy - without.to_buy,
        cost=cost,
    )
