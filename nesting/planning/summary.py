"""What a marker of the plan comes to, in figures for tables, reports and machines."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from nesting.errors import Finding, Severity
from nesting.marker.check import check
from nesting.planning.joins import Together, Unjoined, joined, unjoined
from nesting.planning.plan import Entry, Plan
from nesting.planning.records import MaterialBound
from nesting.quantity import Quantity, Unit, total

__all__ = ["OrderLine", "Summary", "judge_plan", "order_lines", "summary", "taken_and_least"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Summary:
    """One material in numbers: lengths in mm, areas in mm², shares from 0 to 1.

    `bound`: what no marker of its parts goes below; `gap` is
    (length − bound) ÷ bound, or that of the sheets. `unmatched`: length without centring
    and matching a print, where that was tried; `freed`: the same without ("nap", "bias").
    `loads`: of a bed smaller than the lay.
    `joined`: what is put together from several; `could_join`: straps that alone keep it long.
    `mates_apart`: the longest distance between mates that found no room close together (mm);
    `match_apart`: between parts of a match that are more than a repeat apart (in repeats).
    """

    material: str
    good: bool
    width: float | None
    parts: int
    length: float
    efficiency: float
    utilisation: float
    needed: Quantity
    to_buy: Quantity
    sheets: int
    cost: float | None
    bound: Quantity
    gap: float
    stopped: str
    faults: int
    unplaced: tuple[str, ...]
    first_seconds: float
    first_length: float
    unmatched: float | None = None
    freed: tuple[tuple[str, float], ...] = ()
    loads: int = 0
    mates_apart: float = 0.0
    match_apart: float = 0.0
    joined: tuple[Together, ...] = ()
    could_join: tuple[Unjoined, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderLine:
    """One material of an order: cloth over all plies with ends, or sheets or hides.

    `least`: what no plan can go below under the same rules. `gap`: how far above it, as a share.
    """

    material: str
    taken: Quantity
    least: Quantity
    gap: float
    spreads: int


def order_lines(plan: Plan) -> tuple[OrderLine, ...]:
    """Return what each material of an order comes to, all its markers together."""
    lines = []
    for bound in plan.bounds:
        taken, least = taken_and_least(plan, bound)
        spreads = [
            entry.spreads
            for entry in plan.entries_of(bound.material)
            if entry.marker.lay.stock.open_ended
        ]
        lines.append(
            OrderLine(
                material=bound.material,
                taken=taken,
                least=least,
                gap=taken.above(least),
                spreads=sum(map(len, spreads)),
            )
        )
    return tuple(lines)


def taken_and_least(plan: Plan, bound: MaterialBound) -> tuple[Quantity, Quantity]:
    """Return what an order takes of a material, and what no plan of it can go below."""
    entries, unit = plan.entries_of(bound.material), bound.amount.unit
    if unit == Unit.LENGTH:
        spread = (entry for entry in entries if entry.marker.lay.stock.open_ended)
        return total((entry.buying.needed for entry in spread), unit), bound.amount
    taken = float(sum(len(entry.marker.sheets) for entry in entries))
    return Quantity(taken, unit), bound.amount


def summary(entry: Entry) -> Summary:
    """Reckon one entry of a plan."""
    found = entry.figures
    return Summary(
        material=entry.material.name,
        good=entry.good,
        width=entry.width.booked if entry.width else None,
        parts=found.parts,
        length=found.length,
        efficiency=found.efficiency,
        utilisation=found.utilisation,
        needed=entry.buying.needed,
        to_buy=entry.buying.to_buy,
        sheets=found.sheets,
        cost=entry.buying.cost,
        bound=entry.bound,
        gap=entry.taken.above(entry.bound),
        stopped=entry.search.stopped,
        faults=sum(f.severity is Severity.FAULT for f in entry.findings),
        unplaced=tuple(name for name, _ in entry.unplaced),
        first_seconds=entry.search.first_seconds,
        first_length=entry.search.first_length,
        unmatched=entry.unmatched,
        freed=entry.freed,
        loads=len(entry.loads),
        joined=joined(entry),
        could_join=unjoined(entry),
        mates_apart=max((f.amount or 0.0 for f in _notes(entry, "mates")), default=0.0),
        match_apart=max((f.amount or 0.0 for f in _notes(entry, "match")), default=0.0),
    )


def _notes(entry: Entry, kind: str) -> Iterator[Finding]:
    return (f for f in entry.findings if f.kind == kind and f.severity is Severity.NOTE)


def judge_plan(plan: Plan) -> Plan:
    """Return the plan with each marker judged again; stored findings are not believed."""
    return replace(
        plan,
        entries=tuple(
            replace(entry, findings=check(entry.marker, amounts=plan.job.amounts))
            for entry in plan.entries
        ),
    )
