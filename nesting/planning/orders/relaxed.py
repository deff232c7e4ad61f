"""Cutting plans with parts of plies: a bound for whole ones, and which markers matter.

The linear relaxation of the cutting plan. Where there are thousands of ratios the solver
of whole plies is given those alone whose reduced cost is least (the restricted master of
Gilmore and Gomory, Operations Research 9, 1961, with all columns known).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ortools.linear_solver import pywraplp

__all__ = ["Relaxation", "relaxed", "rounded"]

Ratio = tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Relaxation:
    """The best plan of plies that need not be whole.

    `bound`: no plan costs less. `times`: how often each ratio is cut, the reduced cost of
    each: what a ply of it would add.
    """

    bound: float
    times: dict[Ratio, float]
    reduced: dict[Ratio, float]


def relaxed(demand: Sequence[int], cost: Mapping[Ratio, float], *, over: int) -> Relaxation | None:
    """Return the relaxed plan; None if there is none.

    `cost`: of cutting a ratio once. Σ times × ratio is from the demand to `over` above it.
    """
    solver = pywraplp.Solver.CreateSolver("GLOP")
    rows = [solver.Constraint(wanted, wanted + over) for wanted in demand]
    objective = solver.Objective()
    times = {}
    for ratio, each in cost.items():
        variable = solver.NumVar(0.0, solver.infinity(), "")
        for row, count in zip(rows, ratio, strict=True):
            if count:
                row.SetCoefficient(variable, count)
        objective.SetCoefficient(variable, each)
        times[ratio] = variable
    objective.SetMinimization()
    if solver.Solve() != pywraplp.Solver.OPTIMAL:
        return None
    return Relaxation(
        # Less what rounding may be worth: never above the truth.
        bound=objective.Value() * (1.0 - 1e-6),
        times={ratio: variable.solution_value() for ratio, variable in times.items()},
        reduced={ratio: variable.reduced_cost() for ratio, variable in times.items()},
    )


def rounded(demand: Sequence[int], cost: Mapping[Ratio, float], *, over: int) -> dict[Ratio, int]:
    """Return a good plan of whole plies, or nothing if none was found.

    The relaxed plan is rounded down (or the largest rest of it up), what is left is relaxed
    again, and so on.
    """
    plan: dict[Ratio, int] = {}
    left = list(demand)
    while any(wanted > 0 for wanted in left):
        fitting = {
            ratio: each
            for ratio, each in cost.items()
            if all(n <= wanted + over for n, wanted in zip(ratio, left, strict=True))
        }
        found = relaxed(left, fitting, over=over)
        if found is None:
            return {}
        whole = {ratio: int(times + 1e-6) for ratio, times in found.times.items()}
        if not any(whole.values()):
            whole = {max(found.times, key=found.times.__getitem__): 1}
        for ratio, times in whole.items():
            if times:
                plan[ratio] = plan.get(ratio, 0) + times
                left = [n - times * r for n, r in zip(left, ratio, strict=True)]
    return plan
