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
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from ortools.sat.python import cp_model

from nesting.amounts import METRIC, Amounts
from nesting.errors import JobError
from nesting.planning.orders.effort import Effort
from nesting.planning.orders.relaxed import relaxed, rounded

__all__ = ["Aims", "CutPlan", "Ratio", "Rules", "Spread", "cut_plan", "ratios"]

Ratio = tuple[int, ...]
"""How many of each bag a marker holds, in the order of the demand."""

# CP-SAT counts in whole numbers: lengths in tenths of a millimetre.
_UNITS_PER_MM = 10
_MOST_RATIOS = 20_000
# So many of them are weighed in a second.
_RATIOS_A_SECOND = 10_000
# Of more than these only the best are decided about, and are the relaxed plan rounded to.
_MOST_DECIDED, _MOST_ROUNDED = 300, 3_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """What every spread must keep to.

    `table`: longest marker with its ends (mm). `plies`: most plies in a spread.
    `multiple`: plies come in multiples of this (2 face to face), and so many plies
    together give the ratio's bags. `bags`: most bags of a ratio. `over`: how many more
    than ordered may be cut, of each bag. `ends`: what is lost at each end of each ply (mm).
    `amounts`: how lengths are said.
    """

    table: float | None = None
    plies: int = 1
    multiple: int = 1
    bags: int = 6
    over: int = 0
    ends: float = 0.0
    amounts: Amounts = METRIC


@dataclass(frozen=True, slots=True, kw_only=True)
class Aims:
    """What a spread, a marker and a metre of cutting cost, in mm of cloth.

    With all of them 0 only cloth counts; ties go to fewer spreads, then fewer markers.
    """

    spread: float = 0.0
    marker: float = 0.0
    cutting: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """One marker cut through `plies` layers; `length` of the marker in mm, without ends."""

    ratio: Ratio
    plies: int
    length: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CutPlan:
    """The spreads of one cloth.

    `cloth`: Σ plies × (length + both ends), mm. `made`: bags cut, in the order of the
    demand. `optimal`: no plan of these lengths is better by the aims. `bound`: no plan of
    these lengths costs less, by the aims (mm); 0 if nothing is known.
    """

    spreads: tuple[Spread, ...]
    cloth: float
    made: tuple[int, ...]
    optimal: bool
    bound: float = 0.0

    @property
    def ratios(self) -> tuple[Ratio, ...]:
        """Its markers, each once."""
        return tuple(dict.fromkeys(spread.ratio for spread in self.spreads))


def ratios(demand: Sequence[int], *, bags: int) -> Iterator[Ratio]:
    """Yield every ratio of 1 to `bags` bags that asks for no more of a bag than is wanted."""
    ranges = [range(min(wanted, bags) + 1) for wanted in demand]
    yield from (ratio for ratio in _within(ranges, bags) if any(ratio))


def _within(ranges: Sequence[range], left: int) -> Iterator[Ratio]:
    """Yield every choice of one number a range that adds up to `left` at most."""
    if not ranges:
        yield ()
        return
    for count in ranges[0]:
        if count > left:
            return
        for rest in _within(ranges[1:], left - count):
            yield (count, *rest)


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
    plan = _solve(demand, kept, rules, aims, start=start, effort=effort)
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


def _solve(
    demand: Sequence[int],
    lengths: Mapping[Ratio, float],
    rules: Rules,
    aims: Aims,
    *,
    start: dict[Ratio, int],
    effort: Effort,
) -> CutPlan:
    """Decide the plies of each ratio; `start`: a plan that is known, or nothing."""
    model = cp_model.CpModel()
    upper = [wanted + rules.over for wanted in demand]
    plies: dict[Ratio, cp_model.IntVar] = {}
    counts: dict[Ratio, cp_model.IntVar] = {}
    markers: dict[Ratio, cp_model.IntVar] = {}
    cost: list[cp_model.LinearExprT] = []
    most = math.floor(rules.plies / rules.multiple)
    for ratio, length in lengths.items():
        top = min((wanted + rules.over) // r for r, wanted in zip(ratio, demand, strict=True) if r)
        layers = model.new_int_var(0, top, f"plies {ratio}")
        count = model.new_int_var(0, -(-top // most), f"spreads {ratio}")
        used = model.new_bool_var(f"used {ratio}")
        model.add(layers <= most * count)
        model.add(layers >= 1).only_enforce_if(used)
        model.add(layers == 0).only_enforce_if(~used)
        plies[ratio], counts[ratio], markers[ratio] = layers, count, used
        ply = rules.multiple * round((length + 2.0 * rules.ends) * _UNITS_PER_MM)
        # A tie between plans of equal cloth goes to fewer spreads, then fewer markers.
        each_spread = round((aims.spread + aims.cutting * length) * _UNITS_PER_MM)
        cost += [ply * layers * 1000, (each_spread * 1000 + 2) * count]
        cost.append((round(aims.marker * _UNITS_PER_MM) * 1000 + 1) * used)
    for index, wanted in enumerate(demand):
        made = sum(ratio[index] * layers for ratio, layers in plies.items())
        model.add_linear_constraint(made, wanted, wanted + rules.over)
    model.minimize(sum(cost))
    for ratio, layers in plies.items() if start else ():
        model.add_hint(layers, start.get(ratio, 0))
        model.add_hint(counts[ratio], -(-start.get(ratio, 0) // most))
        model.add_hint(markers[ratio], int(ratio in start))
    solver = effort.solver()
    # Lengths are rounded to the unit, ties weigh a thousandth of one: no bound is above the truth.
    slack = sum(upper) * (0.5 * rules.multiple + 0.003) / _UNITS_PER_MM + 0.1
    status = solver.solve(model)
    if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        chosen = {ratio: solver.value(layers) for ratio, layers in plies.items()}
    elif status == cp_model.UNKNOWN and start:
        chosen = start
    else:
        raise _none(rules, proven=status == cp_model.INFEASIBLE)
    spreads = tuple(
        spread
        for ratio, layers in chosen.items()
        if layers
        for spread in _split(ratio, layers, lengths[ratio], most=most, multiple=rules.multiple)
    )
    return CutPlan(
        spreads=spreads,
        cloth=sum(s.plies * (s.length + 2.0 * rules.ends) for s in spreads),
        made=tuple(
            sum(s.plies // rules.multiple * s.ratio[index] for s in spreads)
            for index in range(len(demand))
        ),
        optimal=status == cp_model.OPTIMAL,
        bound=max(0.0, math.floor(solver.best_objective_bound / 1000.0) / _UNITS_PER_MM - slack),
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


def _none(rules: Rules, *, proven: bool) -> JobError:
    """Return the complaint that no plan was found."""
    many = f"spreads of at most {rules.plies} plies and {rules.bags} bags a marker"
    if not proven:
        return JobError(f"no {many} were found in the time that meet the order", hint="more time")
    how = "exactly" if not rules.over else f"with no more than {rules.over} of a bag over"
    return JobError(
        f"no {many} meet the order {how}",
        hint="allow an overage (over), more bags a marker, or other spreads",
    )


def _split(
    ratio: Ratio, layers: int, length: float, *, most: int, multiple: int
) -> Iterator[Spread]:
    """Yield the spreads of one marker: full ones first, the rest last."""
    while layers > 0:
        now = min(layers, most)
        yield Spread(ratio=ratio, plies=now * multiple, length=length)
        layers -= now
