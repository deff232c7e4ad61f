"""A short open tour through visits with an entry and an exit, by OR-Tools routing.

The visits are first put in the order of a Hilbert curve (neighbours on it are
neighbours on the plane: Platzman and Bartholdi, J. ACM 36 (1989) 719–737). Then
stretches of the tour, their ends held, are improved by the solver's local search to
its own end, over and over at shifted places. No clock decides anything, so the same
visits give the same tour on every machine; the work grows with the number of stretches.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from ortools.constraint_solver import pywrapcp, routing_enums_pb2

from nesting.pattern.path import Point

__all__ = ["route"]

_UNIT = 100.0
"""Distances are whole hundredths of a mm to the solver."""
_STRETCH = 60
"""Visits that are rearranged at once."""
_SHIFTS = (0, _STRETCH // 2, _STRETCH // 4, 3 * _STRETCH // 4)


def route(
    entries: Sequence[Point],
    exits: Sequence[Point],
    *,
    start: Point | None = None,
    end: Point | None = None,
    rounds: int = 4,
) -> list[int]:
    """Return an order of visits with little travel from each exit to the next entry.

    Parameters
    ----------
    entries, exits
        Where each visit begins and ends, in mm.
    start, end
        Where the tour begins and ends; None leaves that open.
    rounds
        How often the whole tour is gone through; it ends earlier if nothing is gained.
    """
    n = len(entries)
    if n < 2:
        return list(range(n))
    p, q = np.asarray(entries, dtype=float), np.asarray(exits, dtype=float)
    order = _hilbert(p)
    for turn in range(rounds):
        gained = False
        shift = _SHIFTS[turn % len(_SHIFTS)] if n > _STRETCH else 0
        for a in range(-shift, n, _STRETCH):
            low, high = max(a, 0), min(a + _STRETCH, n)
            if high - low < 2:
                continue
            before = q[order[low - 1]] if low else start
            after = p[order[high]] if high < n else end
            new = _improved(order[low:high], p, q, ends=(before, after))
            gained = gained or new != order[low:high]
            order[low:high] = new
        if not gained and n <= _STRETCH:
            break
    return order


def _improved(visits: list[int], p: Any, q: Any, *, ends: tuple[Any, Any]) -> list[int]:
    n = len(visits)
    costs = np.zeros((n + 1, n + 1))
    costs[1:, 1:] = _distances(q[visits], p[visits])
    if ends[0] is not None:
        costs[0, 1:] = _distances(np.array([ends[0]]), p[visits])[0]
    if ends[1] is not None:
        costs[1:, 0] = _distances(q[visits], np.array([ends[1]]))[:, 0]
    whole = np.rint(_UNIT * costs).astype(np.int64)
    return [visits[i] for i in _solved(whole)]


def _distances(a: Any, b: Any) -> Any:
    return np.hypot(*(a[:, None] - b[None]).transpose(2, 0, 1))


def _solved(costs: Any) -> list[int]:
    """Return the visits 0…n−1 (rows 1…n of the costs) rearranged to a local optimum."""
    manager = pywrapcp.RoutingIndexManager(len(costs), 1, 0)
    model = pywrapcp.RoutingModel(manager)
    model.SetArcCostEvaluatorOfAllVehicles(model.RegisterTransitMatrix(costs.tolist()))
    search = pywrapcp.DefaultRoutingSearchParameters()
    search.local_search_metaheuristic = routing_enums_pb2.LocalSearchMetaheuristic.GREEDY_DESCENT
    model.CloseModelWithParameters(search)
    given = [manager.NodeToIndex(i) for i in range(1, len(costs))]
    found = model.SolveFromAssignmentWithParameters(
        model.ReadAssignmentFromRoutes([given], True), search
    )
    order, at = [], found.Value(model.NextVar(model.Start(0)))
    while not model.IsEnd(at):
        order.append(manager.IndexToNode(at) - 1)
        at = found.Value(model.NextVar(at))
    return order


def _hilbert(points: Any, *, bits: int = 12) -> list[int]:
    """Return the order of points along a Hilbert curve over the square around them."""
    low = points.min(axis=0)
    size = float((points.max(axis=0) - low).max()) or 1.0
    cells = np.minimum((points - low) / size * (1 << bits), (1 << bits) - 1).astype(int)
    keys = [_along(int(x), int(y), bits) for x, y in cells]
    return sorted(range(len(keys)), key=keys.__getitem__)


def _along(x: int, y: int, bits: int) -> int:
    """Return how far along the Hilbert curve a cell lies."""
    key, full = 0, (1 << bits) - 1
    for bit in reversed(range(bits)):
        right, up = x >> bit & 1, y >> bit & 1
        key = key << 2 | (3 * right) ^ up
        if not up:
            if right:
                x, y = full - x, full - y
            x, y = y, x
    return key
