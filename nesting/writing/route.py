"""The shortest open tour through points with an entry and an exit, by OR-Tools routing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from ortools.constraint_solver import pywrapcp, routing_enums_pb2

from nesting.pattern.path import Point

__all__ = ["route"]

_UNIT = 100.0
"""Distances are whole hundredths of a mm to the solver."""


def route(
    entries: Sequence[Point],
    exits: Sequence[Point],
    *,
    start: Point | None = None,
    end: Point | None = None,
    seconds: float = 1.0,
    solutions: int | None = None,
) -> list[int]:
    """Return an order of visits with little travel from each exit to the next entry.

    Parameters
    ----------
    entries, exits
        Where each visit begins and ends, in mm.
    start, end
        Where the tour begins and ends; None leaves that open.
    seconds
        Time limit for improving it.
    solutions
        Stop after so many solutions, whatever the time: the same answer every time.

    """
    n = len(entries)
    if n < 2 or (n == 2 and start is None and end is None):
        return list(range(n))
    costs = np.zeros((n + 1, n + 1), dtype=np.int64)
    costs[1:, 1:] = _distances(exits, entries)
    if start is not None:
        costs[0, 1:] = _distances([start], entries)[0]
    if end is not None:
        costs[1:, 0] = _distances(exits, [end])[:, 0]
    if n == 2:
        forth = costs[0, 1] + costs[1, 2] + costs[2, 0]
        back = costs[0, 2] + costs[2, 1] + costs[1, 0]
        return [0, 1] if forth <= back else [1, 0]
    return _solved(costs, seconds=seconds, solutions=solutions)


def _distances(a: Sequence[Point], b: Sequence[Point]) -> Any:
    p, q = np.asarray(a, dtype=float), np.asarray(b, dtype=float)
    return np.rint(_UNIT * np.hypot(*(p[:, None] - q[None]).transpose(2, 0, 1))).astype(np.int64)


def _solved(costs: Any, *, seconds: float, solutions: int | None) -> list[int]:
    manager = pywrapcp.RoutingIndexManager(len(costs), 1, 0)
    model = pywrapcp.RoutingModel(manager)
    model.SetArcCostEvaluatorOfAllVehicles(model.RegisterTransitMatrix(costs.tolist()))
    search = pywrapcp.DefaultRoutingSearchParameters()
    search.first_solution_strategy = routing_enums_pb2.FirstSolutionStrategy.PATH_CHEAPEST_ARC
    many = len(costs) > 12
    meta = routing_enums_pb2.LocalSearchMetaheuristic
    search.local_search_metaheuristic = (
        meta.GUIDED_LOCAL_SEARCH if many else meta.GREEDY_DESCENT
    )
    if solutions is None:
        search.time_limit.FromMilliseconds(max(1, round(1000.0 * seconds)))
    else:
        search.solution_limit = solutions
    found = model.SolveWithParameters(search)
    order, at = [], found.Value(model.NextVar(model.Start(0)))
    while not model.IsEnd(at):
        order.append(manager.IndexToNode(at) - 1)
        at = found.Value(model.NextVar(at))
    return order
