"""Which width an order's cloth is bought at: each on sale is planned, the cheapest is taken."""

from __future__ import annotations

from dataclasses import replace

from nesting.errors import JobError
from nesting.job.job import Job
from nesting.material.material import Cloth, Width
from nesting.material.sums import before_shrinking
from nesting.planning.cloth_order import ClothOrder
from nesting.planning.plan import WidthTried
from nesting.planning.spreads import CutPlan, Ratio
from nesting.units import round_up

__all__ = ["Contest"]


class Contest:
    """The orders of one cloth, one for each width it may be bought at.

    Cloth that is at hand has the first of its widths, and so has an order laid from it.
    Where each width has a price the cheapest is chosen, otherwise the one of which the
    least area is bought.
    """

    def __init__(self, job: Job, cloth: Cloth, *, width: Width | None = None) -> None:
        self.cloth = cloth
        wanted = cloth.widths if width is None else (width,)
        self._wanted = wanted[:1] if cloth.rolls else wanted
        self._refused: dict[Width, JobError] = {}
        self.orders: dict[Width, ClothOrder] = {}
        for one in self._wanted:
            label = cloth.name
            if len(self._wanted) > 1:
                label += f", {job.amounts.setting(one.booked)}"
            try:
                self.orders[one] = ClothOrder(job, cloth, one, label=label)
            except JobError as error:
                self._refuse(one, error)
        self.plans: dict[Width, CutPlan] = {}

    def decide(
        self, *, seconds: float, seed: int, only_laid: bool = False, hopeful: bool = False
    ) -> None:
        """Decide the spreads at every width at which the order can be met.

        Raises
        ------
        JobError
            It can be met at none; says why not at the widest.

        """
        self.plans.clear()
        for width, order in list(self.orders.items()):
            try:
                self.plans[width] = order.decide(
                    seconds=seconds, seed=seed, only_laid=only_laid, hopeful=hopeful
                )
            except JobError as error:
                del self.orders[width]
                self._refuse(width, error)

    def choose(self) -> tuple[WidthTried, ...]:
        """Keep the best width only; return what each would have come to, if there are several."""
        tried = [self._tried(width) for width in self._wanted]
        by_cost = all(one.cost is not None for one in tried if one.needed is not None)
        best = min(
            self.plans,
            key=lambda width: _rank(tried[self._wanted.index(width)], by_cost=by_cost),
        )
        self.orders, self.plans = {best: self.orders[best]}, {best: self.plans[best]}
        if len(self._wanted) < 2:
            return ()
        return tuple(replace(one, chosen=one.width == best) for one in tried)

    def missing(self) -> dict[str, tuple[ClothOrder, Ratio]]:
        """Return the markers of the plans that are not laid yet, by their names."""
        return {
            order.key(ratio): (order, ratio)
            for width, order in self.orders.items()
            for ratio in self.plans[width].ratios
            if ratio not in order.laid
        }

    @property
    def order(self) -> ClothOrder:
        """The order at the width that was chosen."""
        (only,) = self.orders.values()
        return only

    @property
    def plan(self) -> CutPlan:
        """The spreads at the width that was chosen."""
        (only,) = self.plans.values()
        return only

    def _refuse(self, width: Width, error: JobError) -> None:
        self._refused[width] = error
        if len(self._refused) == len(self._wanted):
            raise self._refused[max(self._wanted, key=lambda one: one.booked)]

    def _tried(self, width: Width) -> WidthTried:
        if width in self._refused:
            return WidthTried(material=self.cloth.name, width=width, why=self._refused[width].what)
        needed = self.plans[width].cloth
        shrinkage = self.cloth.shrinkage
        if not shrinkage.cut_larger:
            needed = before_shrinking(needed, share=shrinkage.along)
        to_buy = round_up(needed, step=self.cloth.step) if self.cloth.step else needed
        cost = None if width.price is None else round(to_buy / 1000.0 * width.price, 2)
        return WidthTried(
            material=self.cloth.name, width=width, needed=needed, to_buy=to_buy, cost=cost
        )


def _rank(tried: WidthTried, *, by_cost: bool) -> tuple[float, float]:
    area = tried.to_buy * tried.width.booked
    need = (tried.needed or 0.0) * tried.width.booked
    return (tried.cost, need) if by_cost and tried.cost is not None else (area, need)
