"""What a print costs in cloth: the same parts laid with and without it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from nesting.job.job import Job
from nesting.marker.figures import figures
from nesting.marker.lay import Lay
from nesting.planning.buying.bought import buying
from nesting.planning.plan import Entry
from nesting.quantity import Quantity

__all__ = ["PrintPrice", "is_bound", "price_of", "print_price", "unprinted"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintPrice:
    """Marker lengths (mm) with and without matching and centring; what more has to be bought.

    `to_buy`: more cloth at the shop's steps, None if it is from stock; `cost`: of that, None
    without a price.
    """

    matched: float
    plain: float
    to_buy: Quantity | None
    cost: float | None

    @property
    def extra(self) -> float:
        """How much longer the marker is (mm)."""
        return self.matched - self.plain


def is_bound(lay: Lay) -> bool:
    """Whether a print binds any part of a lay."""
    return any(part.binding is not None for part in lay.parts)


def unprinted(job: Job) -> Job:
    """Return the job as it would be without its prints: no motif centred, no seam matched.

    All else stays: what has a right way up keeps it, and what shares the plies of folded
    cloth still does.
    """
    plain = {cloth.name: replace(cloth, print=None) for cloth in job.cloths}
    materials = tuple(plain.get(material.name, material) for material in job.materials)
    bags = tuple(
        replace(
            bag,
            cuts=tuple(
                replace(cut, centred=False, matches=None, match_left=None) for cut in bag.cuts
            ),
        )
        for bag in job.bags
    )
    return replace(job, materials=materials, bags=bags)


def print_price(entry: Entry) -> PrintPrice | None:
    """Return what the print of a marker costs; None where none binds, or none was compared."""
    return None if entry.unmatched is None else price_of(entry, entry.unmatched)


def price_of(entry: Entry, plain: float) -> PrintPrice | None:
    """Return what a rule costs without which the marker would be `plain` long (mm).

    Of cloth that comes from stock it is not said what more has to be bought.
    """
    if not entry.marker.lay.stock.open_ended:
        return None
    matched = figures(entry.marker).length
    without = buying(entry.marker, entry.material, width=entry.width, length=plain)
    if entry.buying.from_stock:
        return PrintPrice(matched=matched, plain=plain, to_buy=None, cost=None)
    cost = None
    if entry.buying.cost is not None and without.cost is not None:
        cost = round(entry.buying.cost - without.cost, 2)
    more = entry.buying.to_buy - without.to_buy
    return PrintPrice(matched=matched, plain=plain, to_buy=more, cost=cost)
