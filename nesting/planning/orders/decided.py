"""How many plies of each ratio are spread, decided by CP-SAT."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from ortools.sat.python import cp_model

from nesting.errors import JobError
from nesting.planning.orders.effort import Effort
from nesting.planning.orders.ratios import Aims, CutPlan, Ratio, Rules, Spread

__all__ = ["solved"]

# CP-SAT counts in whole numbers: lengths in tenths of a millimetre.
_UNITS_PER_MM = 10


def solved(
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
