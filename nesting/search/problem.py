"""A lay made ready to be searched, and the first marker for it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import shapely

from nesting.marker.fits import may_fit
from nesting.marker.lay import Lay
from nesting.search.prepared.boards import Board, boards_of
from nesting.search.prepared.convex import convex_parts
from nesting.search.prepared.kinds import Kinds, kinds_of, outlines_of
from nesting.search.prepared.outlines import Outline
from nesting.search.prepared.pair_records import Capacity
from nesting.search.prepared.polygons import Floats
from nesting.search.prepared.state import Layout
from nesting.search.prepared.world import World
from nesting.search.result import Unplaced
from nesting.search.starting import bottom_left
from nesting.search.starting.bottom_left import never

__all__ = ["COARSE", "FINE", "Problem", "Start", "prepare"]

FINE = 0.0005
"""Area (share) that the simplification of outlines may add for the last squeeze."""
COARSE = 0.012
"""The same for the search itself, for outlines of many corners."""
MANY_PARTS = 10
"""With an outline of more convex parts a lay is searched coarsely first…"""
SOME_PARTS = 4
"""…and then all of its outlines are coarse that have more than so many."""

SNUG = 0.7
"""What goes into a hole that fills this share of its length and width is searched as it is."""

MANY_PAIRS = 2e7
"""From so many pairs of convex parts on the first marker is laid with hulls."""

_SMALL = Capacity(singles=1, ints=1, hits=0)


@dataclass(frozen=True, slots=True, eq=False)
class Problem:
    """What is searched: the lay's parts that can be laid, and their outlines at two levels.

    `index`: each part's place in the whole lay's list. `coarse` is `fine` if no outline
    has many corners.
    """

    lay: Lay
    index: tuple[int, ...]
    kinds: Kinds
    fine: list[Outline]
    coarse: list[Outline]
    outline_of_kind: list[int]
    capacity: Capacity

    @property
    def gap(self) -> float:
        """A safe distance between boards (mm)."""
        return 2.0 * self.lay.spacing + 4.0 * max((o.size for o in self.fine), default=1.0)

    def world(self, boards: tuple[Board, ...], *, fine: bool) -> World:
        """Lay the arrays out for certain boards."""
        outlines = self.fine if fine else self.coarse
        length = boards[-1].high - boards[-1].low if boards else 0.0
        return World(
            self.lay, boards, self.kinds, outlines, self.outline_of_kind, self.capacity, length,
            steps=4 if self.coarse is not self.fine else 24,
        )  # fmt: skip

    @property
    def open_length(self) -> float:
        """A strip length that surely holds everything that can be laid (mm)."""
        reach = []
        for kind, part in enumerate(self.kinds.parts):
            diagonal = float(np.hypot(*np.ptp(self.fine[self.outline_of_kind[kind]].ring, axis=0)))
            repeat = (part.binding.lattice.along or 0.0) if part.binding is not None else 0.0
            reach.append(diagonal + self.lay.spacing + 2.0 * repeat)
        kept = [part.held.x + reach[q] for q, part in enumerate(self.kinds.parts) if part.held]
        return 1.01 * sum(reach[q] for q in self.kinds.of) + max(kept, default=0.0)

    def boards(self, most: int) -> tuple[Board, ...]:
        """Return the stock's first boards."""
        return boards_of(self.lay, most=most, gap=self.gap, length=self.open_length)


@dataclass(frozen=True, slots=True, eq=False)
class Start:
    """The first marker: the world it is in, its layout, and parts that found no room."""

    world: World
    layout: Layout
    left: tuple[int, ...]


def prepare(lay: Lay, *, capacity: Capacity | None = None) -> tuple[Problem, tuple[Unplaced, ...]]:
    """Group, simplify and split the outlines; set aside parts that fit nowhere."""
    capacity = capacity or Capacity()
    whole = _problem(lay, tuple(range(len(lay.parts))), capacity)
    barred = {
        i: "its outline encloses no area"
        for i, q in enumerate(whole.kinds.of)
        if not whole.fine[whole.outline_of_kind[q]].parts
    }
    problem = _without(whole, barred)
    unfit = {problem.index[i]: why for i, why in _unfit(problem).items()}
    barred.update(unfit)
    if unfit:
        problem = _without(whole, barred)
    lay, kinds, fine = problem.lay, problem.kinds, problem.fine
    if any(len(o.parts) > MANY_PARTS for o in fine):
        coarse, _ = outlines_of(lay, kinds, share=COARSE, finer=FINE)
        snug = _snug(problem)
        several = [len(o.parts) > SOME_PARTS and n not in snug for n, o in enumerate(fine)]
        some = [c if many else f for c, f, many in zip(coarse, fine, several, strict=True)]
        problem = replace(problem, coarse=some)
    unplaced = tuple(Unplaced(part=i, why=why) for i, why in sorted(barred.items()))
    return problem, unplaced


def _problem(lay: Lay, index: tuple[int, ...], capacity: Capacity) -> Problem:
    kinds = kinds_of(lay)
    fine, of = outlines_of(lay, kinds, share=FINE)
    return Problem(lay, index, kinds, fine, fine, of, capacity)


def _snug(problem: Problem) -> set[int]:
    """Return the outlines that just go into a hole of another.

    What is coarser by half a millimetre does not.
    """
    boxes = [
        sorted(np.ptp(np.array(hole.points(0.5)), axis=0))
        for part in problem.kinds.parts
        for hole in part.piece.holes
    ]
    found = set()
    for n, one in enumerate(problem.fine if boxes else ()):
        short, long = sorted(np.ptp(one.ring, axis=0))
        if any(SNUG * w < short < w and SNUG * h < long < h for w, h in boxes):
            found.add(n)
    return found


def _without(problem: Problem, barred: dict[int, str]) -> Problem:
    """Return the problem without some parts."""
    if not barred:
        return problem
    keep = tuple(i for i in problem.index if i not in barred)
    parts = tuple(problem.lay.parts[i] for i in keep)
    return _problem(replace(problem.lay, parts=parts), keep, problem.capacity)


def _unfit(problem: Problem) -> dict[int, str]:
    """Return the parts that no board can take in any of their turns, and why."""
    boards = problem.boards(_distinct_boards(problem.lay))
    found: dict[int, str] = {}
    fits: dict[int, bool] = {}
    regions = {name for board in boards for name in board.areas}
    for i, part in enumerate(problem.lay.parts):
        kind = problem.kinds.of[i]
        if kind not in fits:
            alone = _alone(problem, kind, boards)
            fits[kind] = any(_fits(alone, 0, b) for b in range(len(boards)))
        if not fits[kind]:
            if may_fit(part, problem.lay.stock):
                found[i] = "no room was found for it by itself"
            elif part.region is not None and part.region not in regions:
                found[i] = f"no sheet has a usable region {part.region!r}"
            elif problem.lay.stock.open_ended:
                found[i] = "wider or longer than the strip in every allowed turn"
            else:
                found[i] = "larger than every sheet or region in every allowed turn"
    return found


def _alone(problem: Problem, kind: int, boards: tuple[Board, ...]) -> World:
    """Return a world of one part: one of all would relate every part to every other."""
    part = problem.kinds.parts[kind]
    one = problem.fine[problem.outline_of_kind[kind]]
    lay = replace(problem.lay, parts=(part,))
    length = boards[-1].high - boards[-1].low if boards else 0.0
    return World(lay, boards, Kinds((0,), (part,)), [one], [0], _SMALL, length)


def _distinct_boards(lay: Lay) -> int:
    return sum(sheet.count or 1 for sheet in lay.stock.sheets) or 1


def _fits(world: World, i: int, board: int) -> bool:
    for s in world.options_of(i, board):
        x0, y0, x1, y1 = world.state.domain(i, s, board)
        if x1 < x0 or y1 < y0:
            continue
        if world.kinds.parts[world.kinds.of[i]].binding is None:
            return True
        ok, _, _ = world.state.admit(i, s, board, (x0 + x1) / 2, (y0 + y1) / 2)
        if ok:
            return True
    return False


def first_marker(
    problem: Problem, *, stop: Callable[[], bool], hurry: Callable[[], bool] = never
) -> Start:
    """Lay all parts bottom-left on as few boards as that takes.

    From `stop` on nothing else is tried; from `hurry` on the parts that are left are laid
    behind the others, as quickly as can be.
    """
    if _part_pairs(problem) > MANY_PAIRS and any(len(o.parts) > 1 for o in problem.coarse):
        return _loosely(problem, stop=stop, hurry=hurry)
    if problem.lay.stock.open_ended:
        world = problem.world(problem.boards(1), fine=False)
        layout, left = _best_order(world, stop, hurry)
        return Start(world, layout, tuple(left))
    most, enough = _guess(problem), len(problem.lay.parts) + _distinct_boards(problem.lay)
    while True:
        boards = problem.boards(most)
        if not boards:
            world = problem.world(boards, fine=False)
            return Start(world, world.save(), tuple(range(world.items)))
        world = problem.world(boards, fine=False)
        layout, left = _best_order(world, stop, hurry)
        if not left or boards[-1].number + 1 < most or most > enough:
            break
        most *= 2
    start = Start(world, layout, tuple(left))
    return start if left else on_used(problem, start)


def laid_on(
    problem: Problem,
    boards: tuple[Board, ...],
    *,
    stop: Callable[[], bool],
    hurry: Callable[[], bool] = never,
) -> Start:
    """Lay all parts bottom-left on certain boards, as far as they find room."""
    world = problem.world(boards, fine=False)
    layout, left = _best_order(world, stop, hurry)
    return Start(world, layout, tuple(left))


def on_used(problem: Problem, start: Start) -> Start:
    """Return a first marker on the boards that it uses alone."""
    boards, layout = start.world.sheets, start.layout
    on = {boards[b].number for b in np.unique(layout.sheet[layout.sheet >= 0])}
    used = [b for b, board in enumerate(boards) if board.number in on]
    if not used or len(used) == len(boards):
        return start
    moved = {b: n for n, b in enumerate(used)}
    fresh = problem.world(tuple(boards[b] for b in used), fine=False)
    return Start(fresh, renumbered(start.world, fresh, layout, moved), start.left)


def _part_pairs(problem: Problem) -> float:
    """Return how many pairs of convex parts there are at most, with relative turns."""
    used = set(problem.outline_of_kind)
    turns = max((len(part.turns.angles) for part in problem.kinds.parts), default=1)
    return 0.5 * max(turns, 1) * float(sum(len(problem.coarse[o].parts) for o in used)) ** 2


def _loosely(problem: Problem, *, stop: Callable[[], bool], hurry: Callable[[], bool]) -> Start:
    """Lay the hulls of all parts: to relate each outline to all others would take too long."""
    hulls = [replace(o, parts=_hull(o.parts), plain=_hull(o.plain)) for o in problem.coarse]
    start = first_marker(replace(problem, coarse=hulls), stop=stop, hurry=hurry)
    world = problem.world(start.world.sheets, fine=False)
    moved = {b: b for b in range(len(world.sheets))}
    layout = renumbered(start.world, world, start.layout, moved)
    world.load(layout)
    return Start(world, layout, start.left)


def _hull(parts: tuple[Floats, ...]) -> tuple[Floats, ...]:
    """Return the convex hull of convex parts, as one ring."""
    hull = shapely.convex_hull(shapely.MultiPoint(np.concatenate(parts)))
    return convex_parts(hull)


def renumbered(old: World, new: World, layout: Layout, moved: dict[int, int]) -> Layout:
    """Return a layout of one world in the numbers of another; boards as `moved` says."""
    number = {shape: s for s, shape in enumerate(new.shapes)}
    shape, sheet = layout.shape.copy(), layout.sheet.copy()
    for i in range(old.items):
        shape[i] = number.get(old.shapes[int(layout.shape[i])], 0)
        sheet[i] = moved.get(int(layout.sheet[i]), -1)
    return Layout(layout.at.copy(), shape, sheet)


def _guess(problem: Problem) -> int:
    """Return how many boards to try first."""
    boards = problem.boards(1)
    free = max((a.free for b in boards for a in b.areas.values()), default=1.0)
    area = sum(problem.fine[problem.outline_of_kind[q]].area for q in problem.kinds.of)
    return int(min(math.ceil(1.6 * area / free) + 1, max(len(problem.lay.parts), 1)))


def _best_order(
    world: World, stop: Callable[[], bool], hurry: Callable[[], bool]
) -> tuple[Layout, list[int]]:
    """Try orders as long as that is quick; return the best layout and what found no room."""
    best: tuple[tuple[float, ...], Layout, list[int]] | None = None
    parts = [len(world.outlines[world.outline_of_kind[q]].parts) for q in world.kinds.of]
    tries = 4 if sum(parts) <= 500 else 1
    for order in bottom_left.orders(world)[:tries]:
        if best is None:  # a marker of all parts, whatever happens
            left = bottom_left.place_all(world, order, hurry=hurry)
        else:
            left = bottom_left.place_all(world, order, stop=lambda: stop() or hurry())
        layout = world.save()
        last = int(layout.sheet.max()) if world.items else 0
        ends = layout.at[layout.sheet == last, 0]
        score = (float(len(left)), float(last), float(ends.max()) if len(ends) else 0.0)
        if len(world.sheets) == 1:
            score = (float(len(left)), 0.0, world.used_length(layout))
        if best is None or score < best[0]:
            best = (score, layout, left)
        if stop() or hurry():
            break
    if best is None:
        return world.save(), list(range(world.items))
    return best[1], best[2]
