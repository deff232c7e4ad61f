"""An order of many bags: for each material the spreads, their markers, all laid for real."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

from nesting.errors import JobError
from nesting.job.job import Bag, Cut, Job, Spreading
from nesting.marker.bound import lower_bound
from nesting.marker.figures import figures
from nesting.marker.lay import Lay
from nesting.marker.measure import piece_area
from nesting.material.material import Cloth, Fold, Material, Width
from nesting.planning.buying import buying
from nesting.planning.laying import LayObserver, lay_all
from nesting.planning.lays import lays
from nesting.planning.make import entry_for, program
from nesting.planning.plan import Entry, Plan
from nesting.planning.pool import Executor, processes
from nesting.planning.spreads import Aims, CutPlan, Ratio, Rules, cut_plan
from nesting.planning.store import Store
from nesting.search.result import Result

__all__ = ["ClothOrder", "make_order_plan"]

# Marker efficiency first assumed for markers that are not laid yet; the true lengths of
# laid markers of the same cloth replace it.
_ASSUMED = 0.80
_MOST_DECISIONS = 8
# Share of the time for finding out which markers the plan is made of.
_DECIDING = 0.6


@dataclass(frozen=True, slots=True, kw_only=True)
class _Kind:
    """Bags that are cut alike from one material: they may take each other's place."""

    names: tuple[str, ...]
    demand: int
    bag: Bag


class ClothOrder:
    """The order as one cloth sees it: kinds of bags, markers laid so far, decisions."""

    def __init__(self, job: Job, cloth: Cloth, width: Width) -> None:
        self.job, self.cloth, self.width = job, cloth, width
        self.kinds = _kinds(job, cloth)
        self.rules = _rules(job, cloth)
        self.laid: dict[Ratio, Result] = {}
        self._lays: dict[Ratio, Lay] = {}

    def lay(self, ratio: Ratio) -> Lay:
        """Return the lay of a marker that holds so many of each kind."""
        if ratio not in self._lays:
            bags = tuple(
                replace(kind.bag, count=count)
                for kind, count in zip(self.kinds, ratio, strict=True)
                if count
            )
            job = replace(self.job, bags=bags)
            found = lays(job, only=(self.cloth.name,), widths={self.cloth.name: self.width})
            self._lays[ratio] = replace(found[0], name=self.key(ratio))
        return self._lays[ratio]

    def key(self, ratio: Ratio) -> str:
        """Name a marker: the cloth, and how many of what."""
        held = ", ".join(
            f"{count} × {kind.names[0]}"
            for kind, count in zip(self.kinds, ratio, strict=True)
            if count
        )
        return f"{self.cloth.name}: {held}"

    def decide(self, *, seconds: float, seed: int, only_laid: bool = False) -> CutPlan:
        """Choose the spreads by the lengths known now (estimated where not laid yet)."""
        table = self.job.table
        return cut_plan(
            [kind.demand for kind in self.kinds],
            self._true_length if only_laid else self._length,
            rules=self.rules,
            aims=Aims(
                spread=table.spread_cost, marker=table.marker_cost, cutting=table.cutting_cost
            ),
            seconds=seconds,
            seed=seed,
        )

    def bound(self, *, seconds: float, seed: int) -> float:
        """Return a length of cloth (mm) no plan can go below under the same rules."""
        plan = cut_plan(
            [kind.demand for kind in self.kinds],
            lambda ratio: max(self._area(ratio) / self.width.usable, self._longest(ratio)),
            rules=replace(self.rules, table=None),
            seconds=seconds,
            seed=seed,
        )
        return plan.cloth if plan.optimal else self._area_bound()

    def _area_bound(self) -> float:
        demand = tuple(kind.demand for kind in self.kinds)
        return self._area(demand) / self.width.usable

    def _true_length(self, ratio: Ratio) -> float | None:
        result = self.laid.get(ratio)
        if result is None or result.unplaced:
            return None
        return figures(result.marker).length

    def _length(self, ratio: Ratio) -> float | None:
        if ratio in self.laid:
            return self._true_length(ratio)
        return max(self._area(ratio) / (self.width.usable * self._filled()), self._longest(ratio))

    def _filled(self) -> float:
        found = [figures(result.marker).efficiency for result in self.laid.values()]
        return sum(found) / len(found) if found else _ASSUMED

    def _unit(self, index: int) -> Ratio:
        return tuple(int(i == index) for i in range(len(self.kinds)))

    def _area(self, ratio: Ratio) -> float:
        return math.fsum(
            count * math.fsum(piece_area(part.piece) for part in self.lay(self._unit(i)).parts)
            for i, count in enumerate(ratio)
            if count
        )

    def _longest(self, ratio: Ratio) -> float:
        return max(lower_bound(self.lay(self._unit(i))) for i, n in enumerate(ratio) if n)


def _kinds(job: Job, cloth: Cloth) -> tuple[_Kind, ...]:
    """Group the bags that are cut alike from this cloth (colourways share a lining)."""
    alike: dict[object, list[Bag]] = {}
    for bag in job.bags:
        cuts = tuple(cut for cut in bag.cuts if cut.material == cloth.name)
        if cuts and bag.count:
            alike.setdefault(_likeness(bag, cuts), []).append(bag)
    return tuple(
        _Kind(
            names=tuple(bag.name for bag in bags),
            demand=sum(bag.count for bag in bags),
            bag=bags[0],
        )
        for bags in alike.values()
    )


def _likeness(bag: Bag, cuts: Sequence[Cut]) -> object:
    used = {cut.piece for cut in cuts}
    return (tuple(cuts), tuple(piece for piece in bag.pieces if piece.name in used))


def _rules(job: Job, cloth: Cloth) -> Rules:
    table = job.table
    plies = table.plies
    if table.height is not None and cloth.thickness:
        plies = min(plies, int(table.height / cloth.thickness))
    multiple = 2 if table.spreading is Spreading.FACE_TO_FACE else 1
    if cloth.fold is Fold.FOLDED:
        multiple = 1
    if plies < multiple:
        raise JobError(
            f"{cloth.name}: a spread of {plies} plies is fewer than {multiple}",
            file=job.file,
            field="table.plies",
        )
    return Rules(
        table=min((x for x in (table.length, cloth.longest) if x is not None), default=None),
        plies=plies,
        multiple=multiple,
        bags=table.bags,
        over=table.over,
        ends=cloth.ends,
    )


def make_order_plan(
    job: Job,
    *,
    seconds: float | None = 60.0,
    rounds: int | None = None,
    seed: int = 1,
    workers: int | None = None,
    only: Collection[str] | None = None,
    widths: Mapping[str, Width] | None = None,
    observer: LayObserver | None = None,
    stop: Callable[[], bool] | None = None,
    executor: Executor | None = None,
    store: Store | None = None,
) -> Plan:
    """Plan an order: which markers, how many plies of each, for every material.

    Marker lengths are estimated first; the markers of the best plan are then laid for
    real and the plan is decided again with their true lengths, until every marker of
    the plan is a real one. Sheets and hides, which aren't spread, are laid whole.

    Raises
    ------
    JobError
        The order can't be met; the rule that stands in the way is named.

    """
    if executor is None:
        with processes(workers) as local:
            return make_order_plan(
                job,
                seconds=seconds,
                rounds=rounds,
                seed=seed,
                only=only,
                widths=widths,
                observer=observer,
                stop=stop,
                executor=local,
                store=store,
            )
    began = time.monotonic()
    wanted = [m for m in job.materials if (only is None or m.name in only) and _used(job, m)]
    orders = {
        m.name: ClothOrder(job, m, (widths or {}).get(m.name, m.widths[0]))
        for m in wanted
        if isinstance(m, Cloth)
    }
    laying = partial(
        lay_all,
        executor=executor,
        rounds=rounds,
        seed=seed,
        observer=observer,
        stop=stop,
        store=store,
    )
    deadline = None if seconds is None else began + _DECIDING * seconds
    plans = _decide_all(orders, laying, deadline=deadline, seed=seed)
    whole = [m.name for m in wanted if not isinstance(m, Cloth)]
    todo = {lay.name: lay for lay in (lays(job, only=whole) if whole else ())}
    for name, plan in plans.items():
        todo |= {orders[name].key(s.ratio): orders[name].lay(s.ratio) for s in plan.spreads}
    left = None if seconds is None else max(0.0, seconds - (time.monotonic() - began))
    results = laying(todo, seconds=left)
    entries: list[Entry] = []
    for material in wanted:
        if isinstance(material, Cloth):
            order = orders[material.name]
            entries += _entries(order, plans[material.name], results)
        else:
            entries.append(entry_for(material, results[material.name], width=None))
    return Plan(
        job=job, entries=tuple(entries), seconds=time.monotonic() - began, program=program()
    )


def _used(job: Job, material: Material) -> bool:
    return any(cut.material == material.name for bag in job.bags for cut in bag.cuts)


def _decide_all(
    orders: Mapping[str, ClothOrder],
    laying: Callable[..., dict[str, Result]],
    *,
    deadline: float | None,
    seed: int,
) -> dict[str, CutPlan]:
    """Decide, lay what was chosen, decide again, until the plans hold only laid markers."""
    for attempt in range(_MOST_DECISIONS):
        plans = {name: order.decide(seconds=5.0, seed=seed) for name, order in orders.items()}
        missing = {
            orders[name].key(spread.ratio): (name, spread.ratio)
            for name, plan in plans.items()
            for spread in plan.spreads
            if spread.ratio not in orders[name].laid
        }
        if not missing:
            return plans
        left = None if deadline is None else max(0.0, deadline - time.monotonic())
        share = None if left is None else min(left, 2.0 * left / (_MOST_DECISIONS - attempt))
        results = laying(
            {key: orders[name].lay(ratio) for key, (name, ratio) in missing.items()}, seconds=share
        )
        for key, (name, ratio) in missing.items():
            orders[name].laid[ratio] = results[key]
    return {
        name: order.decide(seconds=5.0, seed=seed, only_laid=True) for name, order in orders.items()
    }


def _entries(order: ClothOrder, plan: CutPlan, results: Mapping[str, Result]) -> Iterator[Entry]:
    """Yield one entry a marker, with the plies of its spreads."""
    for ratio in dict.fromkeys(spread.ratio for spread in plan.spreads):
        result = results[order.key(ratio)]
        earlier = order.laid[ratio]
        if figures(earlier.marker).length < figures(result.marker).length or result.unplaced:
            result = earlier
        entry = entry_for(order.cloth, result, width=order.width)
        spreads = tuple(s.plies for s in plan.spreads if s.ratio == ratio)
        yield replace(
            entry,
            bags=tuple(
                (" / ".join(kind.names), count)
                for kind, count in zip(order.kinds, ratio, strict=True)
                if count
            ),
            spreads=spreads,
            buying=buying(
                result.marker,
                order.cloth,
                width=order.width,
                length=figures(result.marker).length,
                plies=sum(spreads),
            ),
        )
