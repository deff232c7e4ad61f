"""Which hides to open: those that cost least, and of these those that leave most in one piece."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from itertools import combinations

from nesting.marker.lay import Lay
from nesting.search.prepared.boards import Board
from nesting.search.problem import Problem, Start, laid_on, on_used

__all__ = ["cheapest", "has_costs"]

_TRIES = 24
"""So many choices of hides are laid, from the cheapest that may be enough."""

_ALL = 10
"""Of more hides than this not every choice is looked at: the cheaper ones are taken in turn."""

_FULL = 0.95
"""No choice is tried whose free area would have to be filled to more than this."""

_NEAR = 0.1
"""Where no more than this share of the parts found no room, room is looked for."""

_SAME = 1e-9
"""Costs within this share of each other are the same."""

_SHARE = 0.3
"""Share of the time in which that is done for a choice of hides that may not be enough."""


def has_costs(lay: Lay) -> bool:
    """Whether a lay's stock has sheets that cost something to open."""
    return any(s.cost > 0.0 for s in lay.stock.sheets)


def cheapest(
    problem: Problem,
    room_for: Callable[[Start, float], Start],
    *,
    stop: Callable[[], bool],
    hurry: Callable[[], bool],
) -> Start:
    """Return a first marker on the cheapest hides on which one is found.

    `room_for` looks for room for what is left over, in a share of the time. If no choice
    takes all parts the marker on all hides is returned, with what found no room. Of choices
    that cost the same the one is taken that leaves most on its last hide. The order of the
    stock's list decides nothing.
    """
    every = problem.boards(sum(sheet.count or 1 for sheet in problem.lay.stock.sheets))
    every = tuple(sorted(every, key=partial(_rank, problem)))
    best = laid_on(problem, every, stop=stop, hurry=hurry)
    least = _cost(problem, every)
    if not best.left:
        best = on_used(problem, best)
        least = _cost(problem, best.world.sheets)
    for cost, boards in _choices(problem, every):
        if stop() or hurry() or cost > least * (1.0 + _SAME):
            break
        start = laid_on(problem, boards, stop=stop, hurry=hurry)
        if start.left and len(start.left) <= max(1.0, _NEAR * len(problem.lay.parts)):
            start = room_for(start, _SHARE)
        if start.left:
            continue
        start = on_used(problem, start)
        price = _cost(problem, start.world.sheets)
        dearer = best.left or price < least * (1.0 - _SAME)
        if dearer or (price <= least * (1.0 + _SAME) and _rest(start) > _rest(best)):
            best, least = start, price
    return best


def _rest(start: Start) -> float:
    """Return how much is left of the last hide beyond what lies on it (mm²)."""
    board = start.world.sheets[-1]
    free = max(area.free for area in board.areas.values())
    used = start.world.used_length(start.layout)
    return free * max(0.0, 1.0 - used / (board.high - board.low))


def _rank(problem: Problem, board: Board) -> tuple[float, float, float, str, int]:
    """Return where a hide is filled: left-overs first, then the dearest.

    What can be emptied in the end is the last. The name is the last that tells two apart.
    """
    sheet = problem.lay.stock.sheets[board.index]
    free = max(area.free for area in board.areas.values())
    bought = sheet.cost > 0.0
    return float(bought), -sheet.cost, -free, sheet.name, board.number


def _cost(problem: Problem, boards: tuple[Board, ...]) -> float:
    sheets = problem.lay.stock.sheets
    return sum({sheets[b.index].origin: sheets[b.index].cost for b in boards}.values())


def _choices(
    problem: Problem, boards: tuple[Board, ...]
) -> Iterator[tuple[float, tuple[Board, ...]]]:
    """Yield choices of hides that may be enough, the cheapest first; left-overs are in all."""
    sheets = problem.lay.stock.sheets
    free: dict[int | None, float] = {}
    cost: dict[int | None, float] = {}
    for number in dict.fromkeys(board.number for board in boards):
        own = [board for board in boards if board.number == number]
        origin = sheets[own[0].index].origin
        room = max(area.free for board in own for area in board.areas.values())
        free[origin] = free.get(origin, 0.0) + room
        cost[origin] = sheets[own[0].index].cost
    kept = [origin for origin in cost if cost[origin] <= 0.0]
    # As the boards are: the dearest first, so that of equal ones no number decides.
    bought = [o for o in cost if cost[o] > 0.0][::-1]
    chosen = (
        [c for n in range(len(bought) + 1) for c in combinations(bought, n)]
        if len(bought) <= _ALL
        else [tuple(bought[i:j]) for i in range(len(bought)) for j in range(i, len(bought) + 1)]
    )
    area = sum(problem.fine[problem.outline_of_kind[q]].area for q in problem.kinds.of)
    priced = (
        (sum(cost[o] for o in some), some)
        for some in chosen
        if area <= _FULL * sum(free[o] for o in (*kept, *some))
    )
    ranked = sorted(priced, key=lambda pair: pair[0])
    for price, some in ranked[:_TRIES]:
        on = {*kept, *some}
        yield price, tuple(board for board in boards if sheets[board.index].origin in on)
