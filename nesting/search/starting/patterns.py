"""Many copies on sheets of one kind: sheets laid once and cut as often as they are wanted.

A search of thousands of parts on hundreds of sheets does the same work over and over. So a
*portion* of the lay is laid, each of its full sheets is a *pattern* that may be cut many
times, and what no pattern covers is laid again, until little is left. CP-SAT decides how
often each pattern is cut: at first so that none gives more than is wanted, at the end so
that the fewest sheets give everything. (Patterns and their multiplicity: P. C. Gilmore,
R. E. Gomory, "A linear programming approach to the cutting stock problem", Operations
Research 9, 1961; here the patterns come from the search.)
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from nesting.marker.bound import least_and_how
from nesting.marker.impossible import fits_nowhere, too_little
from nesting.marker.lay import Lay, Part
from nesting.marker.marker import Marker, Placement
from nesting.marker.measure import piece_area
from nesting.search.result import Result, Stopped, Unplaced

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

__all__ = ["SheetPatterns", "may_repeat"]

_MOST_PARTS, _MOST_SHEETS = 300, 12
"""What is laid at once: of several times as much of either a portion is laid."""

_FEWEST_SHEETS = 5
"""A portion fills so many at least: its last sheet, which is not full, is no pattern."""

_FEWEST_TIMES = 3
"""What would be laid fewer times is laid whole: that is as quick, and a little denser."""

_MIX = (0.4, 1.6)
"""How often, as a share of the whole, a kind is in what is laid for its sheets."""

_GOOD = 0.95
"""A pattern this near to the full sheets' mean density is as good as what may follow."""


@dataclass(frozen=True, slots=True)
class _Pattern:
    """A sheet as it was laid: (kind, placement), and how many of each kind (by number)."""

    laid: tuple[tuple[int, Placement], ...]
    counts: tuple[int, ...]
    area: float


class SheetPatterns:
    """A large lay on sheets; what is to be laid next; all of it put together.

    `solver` makes what decides, within its limits.
    """

    def __init__(self, lay: Lay, solver: Callable[[], cp_model.CpSolver]) -> None:
        self.lay, self.solver = lay, solver
        self.bound, self.bound_by = least_and_how(lay)
        number: dict[Part, int] = {}
        alike: dict[tuple[int, object], int] = {}
        self._kind: list[int] = []
        for part in lay.parts:
            key = (id(part.piece), (part.turns, part.flip, part.region))
            if key not in alike:
                alike[key] = number.setdefault(_bare(part), len(number))
            self._kind.append(alike[key])
        self._demand = [self._kind.count(kind) for kind in range(len(number))]
        self._areas = [piece_area(part.piece) for part in number]
        self._patterns: dict[tuple[int, ...], _Pattern] = {}
        self._often: dict[tuple[int, ...], int] = {}
        self._stuck = not may_repeat(lay)
        self._dense = 0.0
        self._results: list[Result] = []

    @property
    def short(self) -> int:
        """How many sheets or hides there are too few, for certain (0: it may be enough)."""
        return int(max(0.0, int(self.bound.value) - self.lay.stock.most))

    def portion(self) -> Lay | None:
        """Return the part of what is left that is to be laid next; None: all that is left.

        Its sheets will be cut several times.
        """
        left = self._left()
        share = self.bound.value * _area(left, self._areas) / _area(self._demand, self._areas)
        times = max(sum(left) // _MOST_PARTS, int(share // _MOST_SHEETS))
        times = min(times, int(share // _FEWEST_SHEETS))
        if self._stuck or times < _FEWEST_TIMES:
            return None
        return self._lay([count // times for count in left])

    def rest(self) -> Lay | None:
        """Return what no pattern covers so far; None if nothing is left."""
        left = self._left()
        return self._lay(left) if any(left) else None

    def note(self, result: Result) -> None:
        """Take the sheets of a portion, or of the rest, as patterns; decide what is cut of them."""
        full = self.keep(result)[:-1]
        if not full:
            self._stuck = True
        else:
            self._dense = max(self._dense, sum(p.area for p in full) / len(full))
        before = sum(self._often.values())
        self._often = self._covered()
        self._stuck = self._stuck or sum(self._often.values()) <= before

    def mixed(self, dice: random.Random, *, area: float, parts: int) -> Lay:
        """Return a lay of some parts, more of some kinds and fewer of others than of the whole.

        They cover `area` (mm²) and are `parts` at most, or nearly so.
        """
        mix = [count * dice.uniform(*_MIX) for count in self._demand]
        share = min(area / _area(mix, self._areas), parts / sum(mix))
        return self._lay(
            [min(most, round(share * n)) for n, most in zip(mix, self._demand, strict=True)]
        )

    def keep(self, result: Result) -> list[_Pattern]:
        """Take the sheets of a result as patterns; return them, the last one last."""
        self._results.append(result)
        found = self._found(result)
        for pattern in found:
            self._patterns.setdefault(pattern.counts, pattern)
        return found

    def whole(self, last: Result | None) -> Result:
        """Return the whole marker: patterns as often as decided, `last` of what was left."""
        if not self._results:
            assert last is not None
            return replace(last, bound=max(last.bound, self.bound))
        if last is not None:
            for pattern in self.keep(last):
                self._often[pattern.counts] = self._often.get(pattern.counts, 0) + 1
        return self._result(self._fewest())

    # ------------------------------------------------------------ lays and patterns

    def _left(self) -> list[int]:
        cut = Counter[int]()
        for counts, times in self._often.items():
            cut.update({kind: times * count for kind, count in enumerate(counts)})
        return [wanted - cut[kind] for kind, wanted in enumerate(self._demand)]

    def _lay(self, counts: Sequence[int]) -> Lay:
        """Return the lay of so many parts of each kind."""
        taken = [0] * len(counts)
        parts = []
        for part, kind in zip(self.lay.parts, self._kind, strict=True):
            if taken[kind] < counts[kind]:
                taken[kind] += 1
                parts.append(part)
        return replace(self.lay, parts=tuple(parts))

    def _found(self, result: Result) -> list[_Pattern]:
        """Return the sheets of a result, the last one last."""
        number = {part.name: kind for part, kind in zip(self.lay.parts, self._kind, strict=True)}
        sheets: list[list[tuple[int, Placement]]] = [[] for _ in result.marker.sheets]
        for p in result.marker.placements:
            sheets[p.sheet].append((number[result.marker.lay.parts[p.part].name], p))
        found = []
        for laid in sheets:
            counts = Counter(kind for kind, _ in laid)
            each = tuple(counts[kind] for kind in range(len(self._demand)))
            found.append(_Pattern(tuple(laid), each, _area(each, self._areas)))
        return found

    # ------------------------------------------------------------ decisions

    def _covered(self) -> dict[tuple[int, ...], int]:
        """Decide how often to cut each pattern so that nothing is cut too often.

        What is left is reckoned to fill sheets as densely as the best full ones.
        """
        from ortools.sat.python import cp_model  # it loads much, and few decide by it

        model = cp_model.CpModel()
        times = self._times(model)
        for kind, wanted in enumerate(self._demand):
            model.add(sum(counts[kind] * n for counts, n in times.items()) <= wanted)
        gain = {c: round(self._patterns[c].area - _GOOD * self._dense) for c in times}
        model.maximize(sum(gain[counts] * n for counts, n in times.items()))
        return _solved(model, times, self.solver()) or self._often

    def _fewest(self) -> dict[tuple[int, ...], int]:
        """Decide how often to cut each pattern so that the fewest sheets give everything."""
        from ortools.sat.python import cp_model  # it loads much, and few decide by it

        model = cp_model.CpModel()
        times = self._times(model)
        for kind, wanted in enumerate(self._demand):
            model.add(sum(counts[kind] * n for counts, n in times.items()) >= wanted)
        for counts, n in times.items():
            model.add_hint(n, self._often.get(counts, 0))
        model.minimize(sum(times.values()))
        found = _solved(model, times, self.solver())
        if found is None or (not any(self._left()) and _sheets(found) >= _sheets(self._often)):
            return self._often
        return found

    def _times(self, model: cp_model.CpModel) -> dict[tuple[int, ...], cp_model.IntVar]:
        most = sum(self._demand)
        return {
            counts: model.new_int_var(0, most, f"sheet {i}")
            for i, counts in enumerate(self._patterns)
        }

    # ------------------------------------------------------------ the whole

    def _result(self, often: dict[tuple[int, ...], int]) -> Result:
        """Lay all: full sheets first, on each what is still wanted."""
        waiting: list[list[int]] = [[] for _ in self._demand]
        for index, kind in reversed(list(enumerate(self._kind))):
            waiting[kind].append(index)
        placements, sheets = [], 0
        chosen = sorted(often, key=lambda counts: -self._patterns[counts].area)
        for counts in chosen:
            for _ in range(often[counts]):
                here = [
                    replace(p, part=waiting[kind].pop(), sheet=sheets)
                    for kind, p in self._patterns[counts].laid
                    if waiting[kind]
                ]
                placements += here
                sheets += bool(here)
        marker = Marker(lay=self.lay, placements=tuple(placements), sheets=(0,) * sheets)
        last = self._results[-1]
        why = last.unplaced[0].why if last.unplaced else ""
        left = sorted(index for indices in waiting for index in indices)
        stopped = last.stopped
        if not left:
            stopped = Stopped.OPTIMAL if sheets <= self.bound.value else stopped
        elif stopped is not Stopped.INTERRUPTED:
            # What one sheet can't hold says nothing of the whole.
            none = fits_nowhere(self.lay) or too_little(self.lay)
            stopped = Stopped.INFEASIBLE if none else Stopped.NOT_FOUND
        return replace(
            last,
            marker=marker,
            stopped=stopped,
            bound=self.bound,
            bound_by=self.bound_by,
            seconds=sum(result.seconds for result in self._results),
            first_seconds=self._results[0].first_seconds,
            rounds=sum(result.rounds for result in self._results),
            unplaced=tuple(Unplaced(part=index, why=why) for index in left),
        )


def _bare(part: Part) -> Part:
    """Return a part less what tells it from others that are cut alike."""
    return replace(part, name="", copy=1, copies=1, bag=1, variant="", design="")


def may_repeat(lay: Lay) -> bool:
    """Whether sheets of a lay can be cut again: plenty of one kind, no part bound to another."""
    stock = lay.stock
    return (
        len(stock.sheets) == 1
        and stock.sheets[0].count is None
        and all(
            part.mates is None and part.binding is None and part.turn_group is None
            for part in lay.parts
        )
    )


def _sheets(often: dict[tuple[int, ...], int]) -> int:
    return sum(often.values())


def _area(counts: Sequence[float], areas: Sequence[float]) -> float:
    return sum(count * area for count, area in zip(counts, areas, strict=True))


def _solved(
    model: cp_model.CpModel,
    times: dict[tuple[int, ...], cp_model.IntVar],
    solver: cp_model.CpSolver,
) -> dict[tuple[int, ...], int] | None:
    from ortools.sat.python import cp_model

    if solver.solve(model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    return {counts: solver.value(n) for counts, n in times.items() if solver.value(n)}
