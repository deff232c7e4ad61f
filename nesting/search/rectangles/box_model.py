"""Boxes on a strip as a CP-SAT model: decide a length, or find the least."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from ortools.sat.python import cp_model

from nesting.search.rectangles.boxes import Boxes, Spot, reachable
from nesting.search.rectangles.effort import Effort

__all__ = ["Answer", "solve_boxes"]

_MOST_PLACES = 4000  # of a box, in its domain; beyond it the domain is a range


@dataclass(frozen=True, slots=True)
class Answer:
    """What CP-SAT found: spots, if any, and the bound it proved (units)."""

    spots: tuple[Spot, ...] | None
    bound: int


def _places(bits: int | None, limit: int) -> cp_model.Domain:
    if bits is not None and 0 <= limit <= _MOST_PLACES:
        text = bin(bits)[:1:-1][: limit + 1]
        return cp_model.Domain.from_values([i for i, bit in enumerate(text) if bit == "1"])
    return cp_model.Domain(0, limit)


class _Model:
    """The model: two interval variables a box and way, their no-overlap, what it implies."""

    def __init__(self, boxes: Boxes, low: int, high: int) -> None:
        self.boxes = boxes
        self.cp = cp_model.CpModel()
        self.length = self.cp.new_int_var(low, high, "length")
        self.x: list[cp_model.IntVar] = []
        self.y: list[cp_model.IntVar] = []
        self.way: list[list[cp_model.IntVar]] = []
        self._place(high)
        self._order_equals()
        self._break_mirrors()

    def _place(self, high: int) -> None:
        cp, boxes = self.cp, self.boxes
        sums_x = reachable(boxes, high, axis=0)
        sums_y = reachable(boxes, boxes.width, axis=1)
        flat, upright = [], []
        demand_up: list[int] = []
        demand_flat: list[int] = []
        for box in boxes.items:
            least_l = min(size[0] for size in box.sizes)
            least_h = min(size[1] for size in box.sizes)
            x = cp.new_int_var_from_domain(_places(sums_x, high - least_l), "")
            y = cp.new_int_var_from_domain(_places(sums_y, boxes.width - least_h), "")
            ways = [cp.new_bool_var("") for _ in box.sizes] if len(box.sizes) > 1 else []
            for k, (length, height) in enumerate(box.sizes):
                if ways:
                    on = ways[k]
                    flat.append(cp.new_optional_fixed_size_interval_var(x, length, on, ""))
                    upright.append(cp.new_optional_fixed_size_interval_var(y, height, on, ""))
                    cp.add(x + length <= self.length).only_enforce_if(on)
                    cp.add(y + height <= boxes.width).only_enforce_if(on)
                else:
                    flat.append(cp.new_fixed_size_interval_var(x, length, ""))
                    upright.append(cp.new_fixed_size_interval_var(y, height, ""))
                    cp.add(x + length <= self.length)
                demand_up.append(height)
                demand_flat.append(length)
            if ways:
                cp.add_exactly_one(ways)
            self.x.append(x)
            self.y.append(y)
            self.way.append(ways)
        cp.add_no_overlap_2d(flat, upright)
        cp.add_cumulative(flat, demand_up, boxes.width)
        cp.add_cumulative(upright, demand_flat, self.length)

    def _order_equals(self) -> None:
        """Equal boxes lie in the order of their numbers."""
        equals: dict[object, list[int]] = defaultdict(list)
        for i, box in enumerate(self.boxes.items):
            equals[box.sizes].append(i)
        for group in equals.values():
            for i, j in pairwise(group):
                self.cp.add(self.x[i] <= self.x[j])

    def _break_mirrors(self) -> None:
        """One box of the largest lies in the lower left quarter by its middle.

        A packing can be mirrored to make it so, then pushed to the lower left, which
        keeps it so. Only a box that has no equal: those are in order already.
        """
        sizes = [box.sizes for box in self.boxes.items]
        alone = [i for i, s in enumerate(sizes) if sizes.count(s) == 1]
        if not alone:
            return
        i = max(alone, key=lambda k: (sizes[k][0][0] * sizes[k][0][1], -k))
        for k, (length, height) in enumerate(sizes[i]):
            on = [self.way[i][k]] if self.way[i] else []
            self.cp.add(2 * self.x[i] + length <= self.length).only_enforce_if(on)
            self.cp.add(2 * self.y[i] + height <= self.boxes.width).only_enforce_if(on)

    def hint(self, spots: Sequence[Spot]) -> None:
        for i, spot in enumerate(spots):
            self.cp.add_hint(self.x[i], spot.x)
            self.cp.add_hint(self.y[i], spot.y)
            for k, on in enumerate(self.way[i]):
                self.cp.add_hint(on, int(k == spot.way))

    def spots(self, value: Callable[[cp_model.IntVar], int]) -> tuple[Spot, ...]:
        return tuple(
            Spot(value(x), value(y), next((k for k, on in enumerate(ways) if value(on)), 0))
            for x, y, ways in zip(self.x, self.y, self.way, strict=True)
        )


class _Watch(cp_model.CpSolverSolutionCallback):
    def __init__(self, model: _Model, found: Callable[[tuple[Spot, ...]], None]) -> None:
        super().__init__()
        self._model = model
        self._found = found

    def on_solution_callback(self) -> None:
        self._found(self._model.spots(self.value))


def _solver(effort: Effort) -> cp_model.CpSolver:
    solver = cp_model.CpSolver()
    p = solver.parameters
    p.num_workers = effort.workers
    p.random_seed = effort.seed
    if effort.seconds is not None:
        p.max_time_in_seconds = max(0.0, effort.seconds)
    if effort.deterministic is not None:
        p.max_deterministic_time = effort.deterministic
        p.interleave_search = effort.workers > 1
    p.use_energetic_reasoning_in_no_overlap_2d = True
    p.use_area_energetic_reasoning_in_no_overlap_2d = True
    p.use_timetabling_in_no_overlap_2d = True
    p.use_timetable_edge_finding_in_cumulative = True
    p.use_overload_checker_in_cumulative = True
    p.use_dual_scheduling_heuristics = True
    p.catch_sigint_signal = False
    return solver


def solve_boxes(
    boxes: Boxes,
    *,
    low: int,
    high: int,
    effort: Effort,
    hint: Sequence[Spot] | None = None,
    found: Callable[[tuple[Spot, ...]], None] | None = None,
    keep: Callable[[Callable[[], None]], None] | None = None,
) -> Answer:
    """Find the least length in low…high (units) that the boxes need.

    Parameters
    ----------
    boxes
        Every box has a size.
    low, high
        `low` is no more than the least length. With ``low == high`` that one length is decided.
    effort
        Time, threads and seed.
    hint
        Spots to start from.
    found
        Called with the spots of every better packing.
    keep
        Is given a callable that ends the search from another thread.

    Returns
    -------
    Answer
        The bound is above `high` if there is no packing.

    """
    model = _Model(boxes, low, high)
    if hint is not None:
        model.hint(hint)
    if low < high:
        model.cp.minimize(model.length)
    solver = _solver(effort)
    if keep is not None:
        keep(solver.stop_search)
    status = solver.solve(model.cp, _Watch(model, found) if found else None)
    if status == cp_model.INFEASIBLE:
        return Answer(None, high + 1)
    if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        bound = low if low == high else round(solver.best_objective_bound)
        return Answer(model.spots(solver.value), max(low, bound))
    if status == cp_model.MODEL_INVALID:
        raise AssertionError(model.cp.validate())
    bound = low if low == high else round(solver.best_objective_bound)
    return Answer(None, max(low, bound))
