"""How an order's cloth is bought: each width on sale is planned, the cheapest is taken.

Where there are remnants each is planned with what they give, and without: a few parts less
may ask for a marker more.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from nesting.errors import JobError
from nesting.job.job import Job
from nesting.marker.figures import figures
from nesting.marker.lay import Lay
from nesting.material.material import Cloth, Width
from nesting.names import letters
from nesting.planning.buying.bought import buying
from nesting.planning.buying.settle import best_width, settled, tried_at
from nesting.planning.entry import entry_for
from nesting.planning.orders.cloth_order import ClothOrder
from nesting.planning.orders.effort import Effort
from nesting.planning.orders.order_remnants import Given, Offered, given, offered
from nesting.planning.orders.ratios import CutPlan, Ratio
from nesting.planning.plan import Entry
from nesting.planning.records import WidthTried
from nesting.search.result import Result

__all__ = ["Contest"]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Way:
    """A width, and whether remnants are cut first."""

    width: Width
    remnants: bool = False


class Contest:
    """The orders of one cloth, one for each way in which it may be bought and laid.

    What is chosen is what any plan would take (`best_width`), the lengths at hand counted.
    """

    def __init__(
        self, job: Job, cloth: Cloth, effort: Effort, *, width: Width | None, spare: float
    ) -> None:
        self.job, self.cloth, self.effort, self.spare = job, cloth, effort, spare
        self._wanted = [_Way(width=one) for one in (cloth.widths if width is None else (width,))]
        self._refused: dict[_Way, JobError] = {}
        self.orders: dict[_Way, ClothOrder] = {}
        self._given: dict[_Way, Given] = {}
        self._offered: dict[_Way, Offered] = {}
        for way in list(self._wanted):
            try:
                order = ClothOrder(job, cloth, way.width, label=self._label(way), effort=effort)
            except JobError as error:
                self._refuse(way, error)
                continue
            self.orders[way] = order
            if (what := offered(order)) is not None:
                self._offered[way] = what
        self.plans: dict[_Way, CutPlan] = {}

    def for_remnants(self) -> dict[str, Lay]:
        """Return what may be cut from remnants, for each width."""
        return {f"{self._label(way)}, remnants": what.lay for way, what in self._offered.items()}

    def take(self, results: Mapping[str, Result]) -> None:
        """Take what was laid on remnants: each width is planned with it, and without."""
        for way, what in self._offered.items():
            order = self.orders[way]
            found = given(order, what, results[f"{self._label(way)}, remnants"])
            if found is None:
                continue
            other = replace(way, remnants=True)
            # Of two that cost as much the one that uses what is there comes first.
            self._wanted.insert(self._wanted.index(way), other)
            self._given[other] = found
            self.orders[other] = ClothOrder(
                self.job,
                self.cloth,
                way.width,
                label=self._label(other),
                lacking=found.lacking,
                effort=self.effort,
            )

    def decide(self, *, only_laid: bool = False, hopeful: bool = False) -> None:
        """Decide the spreads of every way in which the order can be met.

        Raises
        ------
        JobError
            It can be met in none; says why not at the widest.

        """
        self.plans.clear()
        for way, order in list(self.orders.items()):
            if order.done:
                self.plans[way] = CutPlan(spreads=(), cloth=0.0, made=(), optimal=True)
                continue
            try:
                self.plans[way] = order.decide(only_laid=only_laid, hopeful=hopeful)
            except JobError as error:
                del self.orders[way]
                self._refuse(way, error)

    def choose(self) -> tuple[WidthTried, ...]:
        """Keep the best way only; return what each width would have come to, if several.

        Raises
        ------
        JobError
            What is at hand is too short on every width that can't be bought.

        """
        tried = [self._tried(way) for way in self._wanted]
        taken = best_width(tried)
        if taken is None:
            raise JobError(f"{self.cloth.name}: {tried[0].why}", file=self.job.file)
        best = self._wanted[taken]
        self.orders, self.plans = {best: self.orders[best]}, {best: self.plans[best]}
        told = []
        for width in dict.fromkeys(way.width for way in self._wanted):
            of = [i for i, way in enumerate(self._wanted) if way.width == width]
            first = best_width([tried[i] for i in of])
            i = taken if taken in of else of[first or 0]
            told.append(replace(tried[i], chosen=i == taken))
        return tuple(told) if len(told) > 1 else ()

    def entries(self) -> tuple[Entry, ...]:
        """Return the markers of the way that was chosen, the lengths at hand counted."""
        (way,) = self.orders
        return self._entries(way)

    def from_remnants(self) -> tuple[Entry, ...]:
        """Return the marker on remnants, if the way that was chosen has one."""
        (way,) = self.orders
        return (self._given[way].entry,) if way in self._given else ()

    @property
    def spared(self) -> bool:
        """Whether remnants would give something, but are better left alone."""
        (way,) = self.orders
        return bool(self._given) and way not in self._given

    def missing(self) -> dict[str, tuple[ClothOrder, Ratio]]:
        """Return the markers of the plans that are not laid yet, by their names."""
        return {
            order.key(ratio): (order, ratio)
            for way, order in self.orders.items()
            for ratio in self.plans[way].ratios
            if ratio not in order.laid
        }

    @property
    def order(self) -> ClothOrder:
        """The order in the way that was chosen."""
        (only,) = self.orders.values()
        return only

    @property
    def plan(self) -> CutPlan:
        """The spreads in the way that was chosen."""
        (only,) = self.plans.values()
        return only

    def _label(self, way: _Way) -> str:
        label = self.cloth.name
        if len({one.width for one in self._wanted}) > 1:
            label += f", {self.job.amounts.setting(way.width.booked)}"
        return f"{label}, after remnants" if way.remnants else label

    def _refuse(self, way: _Way, error: JobError) -> None:
        self._refused[way] = error
        if len(self._refused) == len(self._wanted):
            raise self._refused[max(self._wanted, key=lambda one: one.width.booked)]

    def _entries(self, way: _Way) -> tuple[Entry, ...]:
        made = tuple(_order_entries(self.orders[way], self.plans[way]))
        return settled(
            made, self.cloth, table=self.job.table, seed=self.effort.seed, spare=self.spare
        )

    def _tried(self, way: _Way) -> WidthTried:
        if way in self._refused:
            why = self._refused[way].what
            return WidthTried(material=self.cloth.name, width=way.width, why=why)
        entries = self._entries(way)
        return tried_at(way.width, entries, self.cloth, spare=self.spare)


def _order_entries(order: ClothOrder, plan: CutPlan) -> Iterator[Entry]:
    """Yield one entry a marker, with the plies of its spreads; markers are lettered."""
    found = plan.ratios
    for number, ratio in enumerate(found):
        result = order.laid[ratio]
        name = order.cloth.name if len(found) == 1 else letters(number)
        marker = replace(result.marker, lay=replace(result.marker.lay, name=name))
        spreads = tuple(s.plies for s in plan.spreads if s.ratio == ratio)
        yield replace(
            entry_for(
                order.cloth,
                replace(result, marker=marker),
                width=order.width,
                amounts=order.job.amounts,
            ),
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
