"""Which bags share a marker and how many plies are spread: the cutting plan of one cloth.

A *marker's ratio* says how many of each bag one ply gives (face to face: two plies); a
*spread* is one marker cut through so many plies. Orders of b bags are met if
Σ plies × ratio = b (or no more than the overage above it). CP-SAT decides over every
ratio that the rules allow; what a marker of some ratio is long comes from the caller, who
estimates it first, lays the markers that were chosen, and asks again with the true
lengths.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from nesting.errors import JobError
from nesting.planning.orders.decided import solved
from nesting.planning.orders.effort import Effort
from nesting.planning.orders.ratios import Aims, CutPlan, Ratio, Rules, ratios
from nesting.planning.orders.relaxed import relaxed, rounded

__all__ = ["cut_plan"]
_MOST_RATIOS = 20_000
# So many of them are weighed in a second.
_RATIOS_A_SECOND = 10_000
# Of more than these only the best are decided about, and are the relaxed plan rounded to.
_MOST_DECIDED, _MOST_ROUNDED = 300, 3_000


def cut_plan(
    demand: Sequence[int],
    length_of: Callable[[Ratio], float | None],
    *,
    rules: Rules,
    aims: Aims | None = None,
    effort: Effort = Effort(),  # noqa: B008
    names: Sequence[str] | None = None,
) -> CutPlan:
    """Decide which markers to lay and how many plies of each to spread.

    Parameters
    ----------
    demand
        How many of each bag are ordered.
    length_of
        Marker length (mm) for a ratio; None if it can't be laid at all.
    rules, aims
        What must be kept to, and what is paid for besides cloth.
    effort
        Limit, seed and threads of the solver.
    names
        What the bags are called, for messages.

    Raises
    ------
    JobError
        No plan meets the order; the rule that stands in the way is named.

    """
    aims = aims or Aims()
    if not any(demand):
        return CutPlan(spreads=(), cloth=0.0, made=tuple(0 for _ in demand), optimal=True)
    upper = [wanted + rules.over for wanted in demand]
    most = min(_MOST_RATIOS, int(_RATIOS_A_SECOND * effort.seconds))
    found, all_of_them = _candidates(upper, rules.bags, most=most)
    names = names or [f"bag {index + 1} of the order" for index in range(len(demand))]
    laid = {ratio: length_of(ratio) for ratio in found}
    lengths = {
        ratio: length
        for ratio, length in laid.items()
        if length is not None
        and (rules.table is None or length + 2.0 * rules.ends <= rules.table + 1e-6)
    }
    _explain_empty(demand, laid, lengths, rules, names=names)
    start = _apart(demand, lengths, rules)
    kept, bound = lengths, 0.0
    if len(lengths) > _MOST_DECIDED:
        kept, bound, start = _promising(demand, lengths, rules, aims, start=start)
    plan = solved(demand, kept, rules, aims, start=start, effort=effort)
    if len(kept) < len(lengths):
        plan = replace(plan, optimal=False, bound=bound)
    return plan if all_of_them else replace(plan, optimal=False, bound=0.0)


def _promising(
    demand: Sequence[int],
    lengths: dict[Ratio, float],
    rules: Rules,
    aims: Aims,
    *,
    start: dict[Ratio, int],
) -> tuple[dict[Ratio, float], float, dict[Ratio, int]]:
    """Return the ratios that plies are decided for, if there are many, a bound and a plan."""
    most = math.floor(rules.plies / rules.multiple)
    cost = {
        ratio: rules.multiple * (length + 2.0 * rules.ends)
        + (aims.spread + aims.cutting * length) / most
        for ratio, length in lengths.items()
    }
    found = relaxed(demand, cost, over=rules.over)
    if found is None:
        return lengths, 0.0, start
    best = sorted(lengths, key=found.reduced.__getitem__)
    rounding = {ratio: cost[ratio] for ratio in (*best[:_MOST_ROUNDED], *start)}
    start = rounded(demand, rounding, over=rules.over) or start
    wanted = {*best[:_MOST_DECIDED], *start}
    return {r: length for r, length in lengths.items() if r in wanted}, found.bound, start


def _candidates(demand: Sequence[int], bags: int, *, most: int) -> tuple[list[Ratio], bool]:
    """Return the ratios to choose from, and whether they are all that the rules allow.

    Where there are too many the largest markers are left out.
    """
    for size in range(bags, 0, -1):
        found = list(itertools.islice(ratios(demand, bags=size), most + 1))
        if len(found) <= most or size == 1:
            break
    return found, size == bags


def _explain_empty(
    demand: Sequence[int],
    laid: Mapping[Ratio, float | None],
    lengths: Mapping[Ratio, float],
    rules: Rules,
    *,
    names: Sequence[str],
) -> None:
    """Name the rule that leaves some bag without a marker."""
    for index, wanted in enumerate(demand):
        if not wanted or any(ratio[index] for ratio in lengths):
            continue
        mine = [laid[ratio] for ratio in laid if ratio[index]]
        known = [length for length in mine if length is not None]
        if not known:
            raise JobError(f"{names[index]} can't be laid on this cloth at all")
        say = rules.amounts
        shortest = min(known) + 2.0 * rules.ends
        raise JobError(
            f"the table of {say.room(rules.table or 0.0)} is shorter than the marker of one "
            f"{names[index]} with its ends, {say.needed(shortest)}",
            hint="a longer table, a wider cloth, or more time to search",
        )


def _apart(demand: Sequence[int], lengths: Mapping[Ratio, float], rules: Rules) -> dict[Ratio, int]:
    """Return plies of markers that hold one kind of bag each; empty if they don't meet the order.

    It is where the solver starts from, and what is taken if it finds nothing in its time.
    """
    found: dict[Ratio, int] = {}
    for index, wanted in enumerate(demand):
        alone = [r for r in lengths if r[index] and sum(r) == r[index]]
        for ratio in sorted(alone, key=lambda r: r[index]) if wanted else ():
            plies = -(-wanted // ratio[index])
            if plies * ratio[index] <= wanted + rules.over:
                found[ratio] = plies
                break
        else:
            if wanted:
                return {}
    return found
