"""The results that commands tell machines, one for each command (`told.tell` wraps them).

Lengths are in mm, areas in mm², angles in degrees, times in seconds, shares from 0 to 1.
What is null is not known, or does not apply. Quantities are told as numbers.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

from nesting.errors import Finding
from nesting.planning.buying.shopping import BagCost, Purchase, ShoppingList
from nesting.planning.compare import Trial, compared
from nesting.planning.orders.most_bags import MostBags
from nesting.planning.plan import Entry, Plan
from nesting.planning.records import WidthTried
from nesting.planning.summary import OrderLine, Summary, order_lines, summary
from nesting.quantity import Quantity, Unit
from nesting.reading.listing import Row as PieceRow

from .advised import AdviceResult
from .handed_out import PatternResult

__all__ = [
    "RESULTS",
    "CheckResult",
    "CompareResult",
    "CutResult",
    "DoneResult",
    "FlawRecord",
    "HideResult",
    "MarkerRecord",
    "PiecesResult",
    "PlanResult",
    "PrintResult",
    "RepeatResult",
    "TrialRecord",
    "WriteResult",
    "bags_result",
    "marker_record",
    "plan_result",
    "trials_result",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkerRecord:
    """A marker: its name, what it comes to, what the judge found.

    `bags`: how many of each bag one ply gives, of an order's; `spreads`: plies of each.
    """

    marker: str
    figures: Summary
    bags: dict[str, int]
    spreads: tuple[int, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderRecord:
    """One material of an order: cloth over all plies with ends (mm), or sheets; the bound.

    `bound`: what no plan can go below under the same rules. `gap`: how far above it.
    """

    material: str
    cloth: float
    sheets: int | None
    bound: float
    gap: float
    spreads: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PurchaseRecord:
    """A line of the buying list; `unit`: "mm", "sheets", "mm²", or a notion's own.

    `net`: what the markers take; `gross`: with ends, shrinkage and spare; `stock`: what of it is
    at hand; `to_buy`: the rest, at the shop's steps; `remnants`: those that give parts.
    """

    name: str
    unit: str
    net: Quantity
    gross: Quantity
    stock: Quantity
    to_buy: Quantity
    cost: float | None
    width: float | None
    remnants: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanResult:
    """A plan of `lay` or `order`: its markers, the widths tried, what is taken and bought.

    `buying`: every line of the list, `stock` being what is at hand; `cost` is their sum.
    `materials`: what each comes to beside its bound, in an order. `folder`: its files.
    """

    markers: tuple[MarkerRecord, ...]
    materials: tuple[OrderRecord, ...]
    widths: tuple[WidthTried, ...]
    buying: tuple[PurchaseRecord, ...]
    unpriced: tuple[str, ...]
    cost: float | None
    cost_per_bag: float | None
    bag_costs: tuple[BagCost, ...]
    assumptions: tuple[str, ...]
    folder: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialRecord:
    """A cloth on a width: what it comes to (`tried`), and how the width compares.

    `why_not`: why it can't be used, empty if it can. `area`: of the cloth bought. `marker`:
    what is laid besides what remnants give. `needed`: the length in each seed's marker.
    """

    material: str
    width: float
    fold: str
    why_not: str
    area: float | None
    waste: float | None
    cheapest: bool | None
    cheapest_in: int
    least: bool
    least_in: int
    taken: bool
    tried: WidthTried | None
    seeds: int
    needed: tuple[float, ...]
    marker: MarkerRecord | None
    remnants: MarkerRecord | None


@dataclass(frozen=True, slots=True, kw_only=True)
class CompareResult:
    """Widths compared, and all cloths on their best: least `area`, least `cost`.

    With ``--bags`` only `bags` and `at_most` are told: how many whole bags what is at hand
    gives, and how many its area would do for.
    """

    trials: tuple[TrialRecord, ...] = ()
    area: float | None = None
    cost: float | None = None
    bags: int | None = None
    at_most: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckResult:
    """What the judge found of each marker."""

    markers: tuple[MarkerRecord, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WriteResult:
    """The files that were written."""

    files: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CutResult:
    """The files that were written, and what is to be known of them."""

    files: tuple[str, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintResult:
    """The file; of markers and templates how many drawings on how many sheets."""

    file: str
    drawings: int | None = None
    sheets: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DoneResult:
    """What changed in the stock."""

    changes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PiecesResult:
    """What a pattern file holds; `why`: how its unit is known.

    `kept`: what people had added to the file that was written, and stays.
    """

    kind: str
    unit: str
    why: str
    pieces: tuple[PieceRow, ...]
    kept: tuple[str, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FlawRecord:
    """A flaw or patch of a hide: its box from the lower left corner `x`, `y`, and its area."""

    x: float
    y: float
    length: float
    width: float
    area: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HideResult:
    """A hide that was photographed; `scale`: what gave it, `uncertainty`: of its outline.

    `unsaid`: patches of another colour that are taken for no flaw.
    `file`, `picture`: what was written, to be included in a job.
    """

    name: str
    length: float
    width: float
    area: float
    uncertainty: float
    scale: str
    flaws: tuple[FlawRecord, ...]
    unsaid: tuple[FlawRecord, ...]
    backbone: float
    backbone_guessed: bool
    backbone_why: str
    file: str | None
    picture: str | None
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RepeatResult:
    """A print's repeat; null along a stripe. `sure`: 0 to 1, that it
    is the repeat and lies within half a per cent. `seen`: how many repeats there are.

    `uncertainty`: of one repeat. `two_way`: it looks the same upside down. `turn`: degrees by
    which it leans counter-clockwise in the picture. `middle`: of a motif, from the lower left
    corner of the flat picture. `origin`: of the first motif, along and across from the corner where
    the cloth can first be cut, if that was named. `file`, `picture`: what was written, to be
    included in a job.
    """

    along: float | None
    across: float | None
    drop: float
    uncertainty: float
    two_way: bool
    turn: float
    sure: float
    seen: float
    middle: tuple[float, float]
    middle_clear: bool
    origin: tuple[float, float] | None
    scale: str
    file: str | None
    picture: str | None
    findings: tuple[Finding, ...]


RESULTS: dict[str, type] = {
    "repeat": RepeatResult,
    "hide": HideResult,
    "pieces": PiecesResult,
    "lay": PlanResult,
    "compare": CompareResult,
    "advise": AdviceResult,
    "order": PlanResult,
    "pattern": PatternResult,
    "check": CheckResult,
    "write": WriteResult,
    "cut": CutResult,
    "print": PrintResult,
    "done": DoneResult,
}
"""What each command tells."""


def marker_record(entry: Entry) -> MarkerRecord:
    """Return what is told of a marker."""
    return MarkerRecord(
        marker=entry.marker.lay.name,
        figures=summary(entry),
        bags=dict(entry.bags),
        spreads=entry.spreads,
        findings=entry.findings,
    )


def order_record(line: OrderLine) -> OrderRecord:
    """Return what is told of a material of an order, in plain numbers."""
    on_cloth = line.taken.unit == Unit.LENGTH
    return OrderRecord(
        material=line.material,
        cloth=line.taken.value if on_cloth else 0.0,
        sheets=None if on_cloth else int(line.taken.value),
        bound=line.least.value,
        gap=line.gap,
        spreads=line.spreads,
    )


def purchase_record(line: Purchase) -> PurchaseRecord:
    """Return what is told of a line of the buying list."""
    told = {field.name: getattr(line, field.name) for field in fields(line)}
    return PurchaseRecord(unit=line.net.unit, **told)


def plan_result(plan: Plan, bought: ShoppingList, *, folder: str) -> PlanResult:
    """Return what is told of a plan."""
    return PlanResult(
        markers=tuple(map(marker_record, plan.entries)),
        materials=tuple(map(order_record, order_lines(plan))),
        widths=plan.widths_tried,
        buying=tuple(map(purchase_record, bought.lines)),
        unpriced=bought.unpriced,
        cost=bought.cost,
        cost_per_bag=bought.cost_per_bag,
        bag_costs=bought.bag_costs,
        assumptions=plan.job.assumptions,
        folder=folder,
    )


def trials_result(trials: tuple[Trial, ...]) -> CompareResult:
    """Return what is told of widths that were compared."""
    total = compared(trials)
    return CompareResult(
        trials=tuple(map(_trial, trials)),
        area=total.area if any(trial.least for trial in trials) else None,
        cost=total.cost,
    )


def bags_result(found: MostBags) -> CompareResult:
    """Return what is told of how many bags there is enough for."""
    return CompareResult(bags=found.bags, at_most=found.at_most)


def _trial(trial: Trial) -> TrialRecord:
    return TrialRecord(
        material=trial.material,
        width=trial.width.booked,
        fold=trial.fold,
        why_not=trial.why,
        area=trial.area,
        waste=trial.waste,
        cheapest=trial.cheapest,
        cheapest_in=trial.cheapest_in,
        least=trial.least,
        least_in=trial.least_in,
        taken=trial.taken,
        tried=trial.tried,
        seeds=len(trial.needed),
        needed=trial.needed,
        marker=None if trial.entry is None else marker_record(trial.entry),
        remnants=None if trial.offcut is None else marker_record(trial.offcut),
    )
