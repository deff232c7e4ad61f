"""The last squeeze: on fine outlines, and with turns that may vary."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence

from nesting.marker.marker import Placement
from nesting.search import disturb
from nesting.search.prepared.state import Ending, Layout
from nesting.search.prepared.world import World
from nesting.search.problem import Problem, Start
from nesting.search.squeezing import squeeze
from nesting.search.squeezing.gather import TRIES, gather, has_matches, has_mates
from nesting.search.squeezing.turn import squeeze_turning
from nesting.search.squeezing.upright import upright
from nesting.search.starting import bottom_left

__all__ = ["finish", "insert", "share_of_time"]


_PASSES = 8
"""So often parts that found no room are thrown in again where no clock ends it."""

_PATIENCE, _QUOTA = 120, 20_000
"""Rounds without improvement until a separation is given up; positions between two looks."""

_SQUEEZE_TURNS = 0.15
_SQUEEZE = 0.06
_GATHER = 0.25
_SHARED_OUT = 0.03
_MATCHED, _MATCHED_LAST = 0.05, 0.01


def share_of_time(problem: Problem) -> float:
    """Return which share of the time is to be kept for what comes after the search."""
    lay = problem.lay
    own = _squeeze_share(problem) + (_MATCHED if has_matches(lay) else 0.0)
    return own + (_GATHER if has_mates(lay) else 0.0)


def _squeeze_share(problem: Problem) -> float:
    if _turning(problem) and problem.lay.stock.open_ended:
        return _SQUEEZE_TURNS
    return _SQUEEZE if _turning(problem) or problem.coarse is not problem.fine else 0.0


def _turning(problem: Problem) -> bool:
    """Whether turns may vary, so that they are squeezed at the end."""
    turns = [part.turns for part in problem.lay.parts]
    regions = [region for sheet in problem.lay.stock.sheets for region in sheet.regions]
    turns += [region.turns for region in regions if region.turns is not None]
    return any(of.slack > 0.0 for of in turns)


def finish(
    problem: Problem,
    world: World,
    layout: Layout,
    *,
    seed: int,
    ends: Callable[[float], bool],
    left: squeeze.Clock,
) -> list[Placement]:
    """Draw together what belongs together, squeeze and straighten a layout for the last time.

    Return placements. `ends`: whether that share of the time is spent; `left`: seconds left of it.
    """
    matched = _MATCHED if has_matches(problem.lay) else 0.0
    turning = _turning(problem)

    def over() -> bool:
        return ends(1.0)

    def squeezed() -> bool:
        return ends(1.0 - matched)

    if has_mates(problem.lay):
        until = 1.0 - matched - _squeeze_share(problem)
        layout = gather(
            world, layout, seed=seed,
            ends=lambda: ends(until), late=lambda: ends(until - _SHARED_OUT),
        )  # fmt: skip
    if problem.coarse is not problem.fine and not squeezed():
        fine = problem.world(world.sheets, fine=True)
        fine.state.phases = world.state.phases
        fine.load(layout)
        if fine.overlap() <= 0.0:
            world, layout = fine, squeeze.compact(fine, steps=12, ends=squeezed, left=left)
    if matched:  # what is as short as it gets stays so
        layout = gather(
            world, layout, seed=seed, tries=0 if turning else TRIES,
            ends=over, late=lambda: ends(1.0 - _MATCHED_LAST),
        )  # fmt: skip
    angles = None
    if turning and not over():
        if (turned := squeeze_turning(world, layout, ends=over, left=left)) is not None:
            layout, angles = turned
        if (square := upright(world, layout, angles, ends=over, left=left)) is not None:
            layout, angles = square
    return world.placements(layout, angles=angles)


def insert(
    start: Start, *, seed: int, ends: Callable[[], bool], timed: bool, tries: int = 6
) -> Start:
    """Find room for parts that are left over, by separation on the boards there are.

    Parts that found none are tried again as long as there is time and any hope. At last, of
    parts that belong on one sheet those are laid that find room.
    """
    world = start.world
    if not world.sheets:
        return start
    dice = random.Random(seed)
    world.state.seed(seed)
    layout, left = _throw_in(world, start.layout, start.left, dice, ends=ends, tries=tries)
    passes = 0
    while left and not ends() and _hope(world, left) and (timed or passes < _PASSES):
        passes += 1
        layout, left = _throw_in(
            world, layout, dice.sample(left, len(left)), dice, ends=ends, tries=tries
        )
    if left:  # of parts that belong together, as many as there is room for
        world.load(layout)
        left = bottom_left.place_some(world, left, stop=ends)
        layout = world.save()
    return Start(world, layout, tuple(left))


def _hope(world: World, items: Sequence[int]) -> bool:
    """Whether each part may lie on some board, and the parts are less than the boards hold."""
    areas = [max((a.free for a in b.areas.values()), default=0.0) for b in world.sheets]
    return world.area < sum(areas) and all(
        any(world.may(i, b) for b in range(len(world.sheets))) for i in items
    )


def _throw_in(
    world: World,
    layout: Layout,
    items: Sequence[int],
    dice: random.Random,
    *,
    ends: Callable[[], bool],
    tries: int,
) -> tuple[Layout, list[int]]:
    """Throw parts in, group by group; return the layout, and those that found no room."""
    left: list[int] = []
    for group in _together(world, items):
        if ends():
            left.extend(group)
            continue
        boards, angle = _open_to(world, layout, group)
        placed = False
        for attempt in range(tries):
            if ends() or not boards:
                break
            world.load(layout)
            if not disturb.throw_in(world, dice, group, dice.choice(boards), angle=angle):
                continue
            if attempt > 1:
                disturb.disturb(world, dice)
            if _separated(world, ends):
                placed = True
                layout = world.save()
                break
        if not placed:
            left.extend(group)
    world.load(layout)
    if left and not ends():
        rest = bottom_left.place_each(world, left)
        layout = world.save()
        left = rest
    return layout, left


def _together(world: World, items: Sequence[int]) -> list[list[int]]:
    """Group items that must lie on one sheet, or at one turn."""
    groups: dict[tuple[str | None, str | None] | int, list[int]] = {}
    for i in items:
        part = world.lay.parts[i]
        alone = part.mates is None and part.turn_group is None
        groups.setdefault(i if alone else (part.mates, part.turn_group), []).append(i)
    return list(groups.values())


def _open_to(world: World, layout: Layout, group: Sequence[int]) -> tuple[list[int], float | None]:
    """Return the boards that a group may lie on, and its turn, as those of it that lie ask for."""
    boards = [b for b in range(len(world.sheets)) if all(world.may(i, b) for i in group)]
    part, angle = world.lay.parts[group[0]], None
    for j, other in enumerate(world.lay.parts):
        if layout.sheet[j] < 0:
            continue
        if part.mates is not None and other.mates == part.mates:
            boards = [b for b in boards if b == layout.sheet[j]]
        if part.turn_group is not None and other.turn_group == part.turn_group:
            angle = world.shapes[int(layout.shape[j])].angle
    return boards, angle


def _separated(world: World, ends: Callable[[], bool]) -> bool:
    world.state.start(_PATIENCE)
    while not ends():
        ending = world.state.separate(_QUOTA)
        if ending is Ending.APART:
            return True
        if ending is Ending.STALLED:
            world.load(world.state.layout(least=True))
            return squeeze.repair(world, steps=4)
    return False
