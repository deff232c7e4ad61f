"""Which width an order's cloth is bought at: each on sale is planned, the cheapest is taken."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from nesting.errors import JobError
from nesting.job.job import Job
from nesting.marker.figures import figures
from nesting.material.material import Cloth, Width
from nesting.planning.buying import buying
from nesting.planning.cloth_order import ClothOrder
from nesting.planning.entry import entry_for
from nesting.planning.plan import Entry, WidthTried
from nesting.planning.settle import best_width, settled, tried_at
from nesting.planning.spreads import CutPlan, Ratio

__all__ = ["Contest"]


class Contest:
    """The orders of one cloth, one for each width it may be bought at.

    What is chosen is what any plan would take (`best_width`), the lengths at hand counted.
    """

    def __init__(
        self, job: Job, cloth: Cloth, *, width: Width | None = None, spare: float = 0.0
    ) -> None:
        self.job, self.cloth, self.spare = job, cloth, spare
        self._wanted = cloth.widths if width is None else (width,)
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

    def choose(self, *, seed: int) -> tuple[WidthTried, ...]:
        """Keep the best width only; return what each would have come to, if there are several.

        Raises
        ------
        JobError
            What is at hand is too short on every width that can't be bought.

        """
        tried = [self._tried(width, seed=seed) for width in self._wanted]
        taken = best_width(tried)
        if taken is None:
            raise JobError(f"{self.cloth.name}: {tried[0].why}", file=self.job.file)
        best = self._wanted[taken]
        self.orders, self.plans = {best: self.orders[best]}, {best: self.plans[best]}
        if len(self._wanted) < 2:
            return ()
        return tuple(replace(one, chosen=i == taken) for i, one in enumerate(tried))

    def entries(self, *, seed: int) -> tuple[Entry, ...]:
        """Return the markers at the width that was chosen, the lengths at hand counted."""
        return self._entries(self.order.width, seed=seed)

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

    def _entries(self, width: Width, *, seed: int) -> tuple[Entry, ...]:
        made = tuple(_order_entries(self.orders[width], self.plans[width]))
        return settled(made, self.cloth, table=self.job.table, seed=seed, spare=self.spare)

    def _tried(self, width: Width, *, seed: int) -> WidthTried:
        if width in self._refused:
            return WidthTried(material=self.cloth.name, width=width, why=self._refused[width].what)
        entries = self._entries(width, seed=seed)
        return tried_at(width, entries, self.cloth, spare=self.spare)


def _order_entries(order: ClothOrder, plan: CutPlan) -> Iterator[Entry]:
    """Yield one entry a marker, with the plies of its spreads; markers are lettered."""
    found = plan.ratios
    for number, ratio in enumerate(found):
        result = order.laid[ratio]
        name = order.cloth.name if len(found) == 1 else _letters(number)
        marker = replace(result.marker, lay=replace(result.marker.lay, name=name))
        spreads = tuple(s.plies for s in plan.spreads if s.ratio == ratio)
        yield replace(
            entry_for(order.cloth, replace(result, marker=marker), width=order.width),
            bags=tuple(
                (kind.name, count) for kind, count in zip(order.kinds, ratio, strict=True) if count
            ),
            spreads=spreads,
            buying=buying(
                marker,
                order.cloth,
                width=order.width,
                length=figures(marker).length,
                plies=sum(spreads),
            ),
        )


def _letters(number: int) -> str:
    """Return A, B, … Z, AA and so on."""
    text, number = "", number + 1
    while number:
        number, letter = divmod(number - 1, 26)
        text = chr(ord("A") + letter) + text
    return text
