"""Disturbances: from a layout that is stuck to one worth another attempt."""

from __future__ import annotations

import random
from collections.abc import Sequence

import numpy as np

from nesting.search.prepared.polygons import Floats
from nesting.search.prepared.state import Layout
from nesting.search.prepared.world import World
from nesting.search.turn_groups import at_turn, bound_in_turn, common_turns, groups_of

__all__ = ["clear_board", "disturb", "scatter", "throw_in"]

_RING = 6
"""So many items at most change places in a ring."""


def disturb(world: World, dice: random.Random) -> None:
    """Change the present layout: near an overlap, six parts in a ring, or those of a window.

    What is held stays.
    """
    if not world.loose:
        return
    way = dice.random()
    if way < 0.5:
        _nudge(world, dice)
    elif way < 0.75:
        _permute(world, dice)
    else:
        _deal(world, dice, around=dice.choice(world.loose), count=dice.randint(3, 9))
    if world.phases and dice.random() < 0.3:
        _shift_phases(world, dice)
    if bound_in_turn(world, range(world.items)) and dice.random() < 0.3:
        _turn_group(world, dice)


def _middle(world: World, layout: Layout, i: int) -> Floats:
    box = world.grown[layout.shape[i]]
    return np.asarray(layout.at[i] + (box[:2] + box[2:]) / 2)


def _centred(world: World, shape: int, at: Floats) -> Floats:
    box = world.grown[shape]
    return np.asarray(at - (box[:2] + box[2:]) / 2)


def _exchange(world: World, layout: Layout, targets: dict[int, int]) -> Layout:
    """Put each item where another one is (its middle on the other's middle)."""
    at, sheet = layout.at.copy(), layout.sheet.copy()
    shape = layout.shape.copy()
    for i, j in targets.items():
        board = int(layout.sheet[j])
        if not world.may(i, board):
            continue
        if int(shape[i]) not in world.options_of(i, board):
            shape[i] = world.options_of(i, board)[0]
        at[i] = _centred(world, int(shape[i]), _middle(world, layout, j))
        sheet[i] = board
    return _agreed(world, Layout(at, shape, sheet))


def _agreed(world: World, layout: Layout) -> Layout:
    """Return the layout with one turn for all of a group, where a change of board parted them."""
    at, shape = layout.at.copy(), layout.shape.copy()
    for group in groups_of(world).values():
        members = [i for i in group if layout.sheet[i] >= 0]
        now = [world.shapes[int(shape[i])].angle for i in members]
        if len(set(now)) < 2:
            continue
        options = [world.options_of(i, int(layout.sheet[i])) for i in members]
        common = common_turns(world, options)
        if not common:
            continue
        angle = next((a for a in now if a in common), min(common))
        for i, of in zip(members, options, strict=True):
            s = at_turn(world, of, angle)[0]
            at[i] = _centred(world, s, _middle(world, layout, i))
            shape[i] = s
    return Layout(at, shape, layout.sheet)


def _nudge(world: World, dice: random.Random) -> None:
    """Exchange two of nearly the same size, one of them near an overlap; or deal a few anew."""
    layout = world.save()
    world.overlap()
    kinds, loose = world.kinds.of, world.loose
    may = {*loose}
    hot = [int(i) for i in world.state.overlapping.ravel() if int(i) in may]
    i = dice.choice(hot) if hot and dice.random() < 0.7 else dice.choice(loose)
    others = [j for j in loose if kinds[j] != kinds[i]]
    if others and dice.random() < 0.6:
        size = [world.outlines[world.outline_of_kind[q]].hull for q in kinds]
        draws = dice.sample(others, min(4, len(others)))
        j = min(draws, key=lambda j: abs(size[j] - size[i]))
        world.load(_exchange(world, layout, {i: j, j: i}))
        return
    _deal(world, dice, around=i, count=dice.randint(2, 4))


def _permute(world: World, dice: random.Random) -> None:
    """Let some items take each other's places, in a ring."""
    layout = world.save()
    some = dice.sample(world.loose, min(_RING, len(world.loose)))
    world.load(_exchange(world, layout, dict(zip(some, some[1:] + some[:1], strict=True))))


def _deal(world: World, dice: random.Random, *, around: int, count: int) -> None:
    """Give the items around one random places among theirs, and random turns."""
    layout = world.save()
    loose = world.loose
    centre = _middle(world, layout, around)
    middles = np.array([_middle(world, layout, i) for i in loose])
    distance = np.abs(middles - centre).max(axis=1)
    near = [loose[i] for i in np.argsort(distance, kind="stable")[:count]]
    mixed = dice.sample(near, len(near))
    changed = _exchange(world, layout, dict(zip(near, mixed, strict=True)))
    for i in near:
        options = world.options_of(i, int(changed.sheet[i]))
        if options and not bound_in_turn(world, [i]):
            s = dice.choice(options)
            middle = _middle(world, changed, i)
            changed.shape[i] = s
            changed.at[i] = _centred(world, s, middle)
    world.load(changed)


def scatter(world: World, dice: random.Random) -> None:
    """Put all items anywhere."""
    layout = world.save()
    at, shape, sheet = layout.at.copy(), layout.shape.copy(), layout.sheet.copy()
    for i in range(world.items):
        board = dice.choice([b for b in range(len(world.sheets)) if world.may(i, b)] or [0])
        options = world.options_of(i, board)
        if not options:
            continue
        if not bound_in_turn(world, [i]):
            shape[i] = dice.choice(options)
        elif int(shape[i]) not in options:
            shape[i] = options[0]
        x0, y0, x1, y1 = world.state.domain(i, int(shape[i]), board)
        at[i] = dice.uniform(x0, max(x0, x1)), dice.uniform(y0, max(y0, y1))
        sheet[i] = board
    world.load(_agreed(world, Layout(at, shape, sheet)))


def throw_in(
    world: World, dice: random.Random, items: Sequence[int], board: int, *, angle: float | None
) -> bool:
    """Put items that belong together anywhere on a board, all at one turn if they must.

    `angle`: the turn that others of their group have (degrees). Return whether the board
    has a turn for them all.
    """
    options = {i: world.options_of(i, board) for i in items}
    if bound_in_turn(world, items):
        common = common_turns(world, options.values())
        if angle is not None:
            common &= {angle}
        if not common:
            return False
        angle = dice.choice(sorted(common))
        options = {i: at_turn(world, options[i], angle) for i in items}
    if not all(options.values()):
        return False
    for i in items:
        s = dice.choice(options[i])
        x0, y0, x1, y1 = world.state.domain(i, s, board)
        x, y = dice.uniform(x0, max(x0, x1)), dice.uniform(y0, max(y0, y1))
        _, x, y = world.state.admit(i, s, board, x, y)
        world.state.put(i, s, board, x, y)
    return True


def clear_board(world: World, dice: random.Random, board: int) -> None:
    """Send the items of a board anywhere on the others, with their mates."""
    layout = world.save()
    at, shape, sheet = layout.at.copy(), layout.shape.copy(), layout.sheet.copy()
    where: dict[str, int] = {}
    for i in np.flatnonzero(layout.sheet == board):
        item = int(i)
        open_to = [b for b in range(len(world.sheets)) if b != board and world.may(item, b)]
        if not open_to:
            continue
        mates = world.lay.parts[item].mates
        b = where.setdefault(mates, dice.choice(open_to)) if mates else dice.choice(open_to)
        options = world.options_of(item, b)
        if int(shape[item]) not in options:
            shape[item] = options[0]
        x0, y0, x1, y1 = world.state.domain(item, int(shape[item]), b)
        at[item] = dice.uniform(x0, max(x0, x1)), dice.uniform(y0, max(y0, y1))
        sheet[item] = b
    world.load(_agreed(world, Layout(at, shape, sheet)))


def _shift_phases(world: World, dice: random.Random) -> None:
    """Let the print fall differently for parts that share a phase, if all have a place then."""
    lattices = {
        part.binding.phase: part.binding.lattice
        for part in world.kinds.parts
        if part.binding is not None and part.binding.phase
    }
    before, layout = world.state.phases, world.save()
    grids = [lattices[name] for name in world.phases]
    world.state.phases = np.array(
        [dice.uniform(0.0, period or 0.0) for grid in grids for period in (grid.along, grid.across)]
    )
    if not world.load(layout):
        world.state.phases = before
        world.load(layout)


def _turn_group(world: World, dice: random.Random) -> None:
    """Give all parts of a group another common turn."""
    groups = groups_of(world)
    members = groups[dice.choice(sorted(groups))]
    layout = world.save()
    options = {i: world.options_of(i, int(layout.sheet[i])) for i in members}
    common = common_turns(world, options.values())
    if not common:
        return
    angle = dice.choice(sorted(common))
    shape, at = layout.shape.copy(), layout.at.copy()
    for i in members:
        s = dice.choice(at_turn(world, options[i], angle))
        at[i] = _centred(world, s, _middle(world, layout, i))
        shape[i] = s
    world.load(Layout(at, shape, layout.sheet))
