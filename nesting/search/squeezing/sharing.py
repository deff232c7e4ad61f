"""Copies shared out among groups: of alike parts each lies where those it belongs to are nearest.

Which of several alike parts lies in which of their places costs nothing. The copies of one
kind, one of each group of mates or match, are assigned to their places so that the distances
that link the groups are shortest together, all other parts fixed: a linear assignment, solved
exactly. Kind by kind, until none helps.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from nesting.search.prepared.world import World

__all__ = ["shared_out"]

_PASSES = 4
"""So often all kinds have a turn at most."""

_MOST = 200
"""Copies that are assigned together: the work grows with their square."""

_FINE = 100.0
"""Costs are whole hundredths of a millimetre."""

_BARRED = 1e7
"""What a place costs that a part may not have (mm)."""

_GAIN = 0.1
"""Distances that are shorter by less (mm) are not changed for."""

Ints = npt.NDArray[np.int64]
Group = TypeVar("Group")
May = Callable[[int, int, int], bool]
"""Whether an item whose place is the one may have the other."""


def shared_out(
    world: World,
    place: Ints,
    *,
    group_of: Mapping[int, Group],
    cost: Callable[[Group, Ints], float],
    may: May,
    ends: Callable[[], bool],
) -> Ints:
    """Return places in which alike items lie nearer to their groups; `place`: whose each has now.

    `cost`: how far the members of a group lie apart (mm), with every item in the place of some
    item.
    """
    rounds = list(_rounds(world, group_of))
    for _ in range(_PASSES):
        before = place
        for some in rounds:
            place = _assigned(some, place, group_of=group_of, cost=cost, may=may, ends=ends)
        if place is before:
            break
    return place


def _rounds(world: World, group_of: Mapping[int, Group]) -> Iterator[list[int]]:
    """Yield items of one kind, one at most of each group, and those that have none."""
    alike: defaultdict[int, defaultdict[int, list[int]]] = defaultdict(lambda: defaultdict(list))
    for i in world.loose:
        alike[world.kinds.of[i]][id(group_of[i]) if i in group_of else -1].append(i)
    for of_group in alike.values():
        free = of_group.pop(-1, [])
        for n in range(max(map(len, of_group.values()), default=0)):
            some = [members[n] for members in of_group.values() if n < len(members)]
            some = (some + free)[:_MOST]
            if len(some) > 1:
                yield some


def _assigned(
    some: Sequence[int],
    place: Ints,
    *,
    group_of: Mapping[int, Group],
    cost: Callable[[Group, Ints], float],
    may: May,
    ends: Callable[[], bool],
) -> Ints:
    """Return the places with those of some items shared out anew among them, if that helps."""
    from ortools.graph.python.linear_sum_assignment import SimpleLinearSumAssignment

    count = len(some)
    costs = np.zeros((count, count))
    for n, i in enumerate(some):
        if ends():
            return place
        trial = place.copy()
        for m, j in enumerate(some):
            trial[i] = place[j]
            if not may(i, int(place[i]), int(place[j])):
                costs[n, m] = _BARRED
            elif i in group_of:
                costs[n, m] = cost(group_of[i], trial)
    solver = SimpleLinearSumAssignment()
    rows, columns = (axis.ravel() for axis in np.indices(costs.shape))
    solver.add_arcs_with_cost(rows, columns, np.rint(_FINE * costs.ravel()).astype(np.int64))
    if solver.solve() != solver.OPTIMAL:
        return place
    mate = [int(solver.right_mate(n)) for n in range(count)]
    if costs[range(count), mate].sum() > costs.trace() - _GAIN:
        return place
    found = place.copy()
    found[list(some)] = place[[some[m] for m in mate]]
    return found
