"""The first marker: part after part as far left, then as low, as it will go."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from nesting.search.kernels import core as k
from nesting.search.shapes import Floats
from nesting.search.world import World

__all__ = ["orders", "place_all", "place_each"]

LINES = 24
"""Tries across the board for each part and turn, besides its stackings from both edges."""


def orders(world: World) -> list[list[int]]:
    """Return sequences worth trying: by area, by length, by width; groups of mates together."""
    one = [world.outlines[world.outline_of_kind[q]] for q in world.kinds.of]
    area = [o.area for o in one]
    long = [float(np.ptp(o.ring, axis=0).max()) for o in one]
    wide = [float(np.ptp(o.ring, axis=0).min()) for o in one]
    hull = [o.hull for o in one]
    first: dict[str, int] = {}
    out = []
    for measure in (area, long, hull, wide):
        ranks = sorted(range(world.items), key=lambda i: (-measure[i], world.kinds.of[i], i))
        place = {i: r for r, i in enumerate(ranks)}
        first.clear()
        for i in ranks:
            mates = world.lay.parts[i].mates
            if mates is not None:
                first.setdefault(mates, place[i])
        key = {i: (first.get(world.lay.parts[i].mates or "", place[i]), place[i]) for i in ranks}
        sequence = sorted(ranks, key=key.__getitem__)
        if sequence not in out:
            out.append(sequence)
    return out


def _fresh(world: World) -> tuple[list[Floats], Floats]:
    shapes = max(len(world.shapes), 1)
    memos = [np.full((shapes, 3 * LINES), -k.FAR) for _ in world.sheets]
    return memos, np.empty((20_000, 2))


def place_all(
    world: World, order: list[int], *, stop: Callable[[], bool] = lambda: False
) -> list[int]:
    """Lay all parts in order, and return those that found no room."""
    for i in range(world.items):
        k.remove(world.I, world.F, i)
    return place_each(world, order, stop=stop)


def place_each(
    world: World, order: list[int], *, stop: Callable[[], bool] = lambda: False
) -> list[int]:
    """Lay the given parts among those that lie already; return those that found no room."""
    memos, out = _fresh(world)
    parts = world.lay.parts
    turn_of = _turns(world)
    groups: list[list[int]] = []
    for i in order:
        mates = parts[i].mates
        if mates is not None and groups and parts[groups[-1][0]].mates == mates:
            groups[-1].append(i)
        else:
            groups.append([i])
    left: list[int] = []
    for group in groups:
        if stop():
            left.extend(group)
            continue
        for sheet in range(len(world.sheets)):
            if all(_place(world, i, sheet, memos[sheet], out, turn_of) for i in group):
                break
            for i in group:
                k.remove(world.I, world.F, i)
            if len(group) > 1:
                memos[sheet][:] = -k.FAR
        else:
            left.extend(group)
    return left


def _turns(world: World) -> dict[str, int]:
    """Return the turn of each group of which something lies already."""
    found: dict[str, int] = {}
    for i, part in enumerate(world.lay.parts):
        if part.turn_group is not None and world.I[world.I[k.AT_SHEET] + i] >= 0:
            shape = int(world.I[world.I[k.AT_SHAPE] + i])
            found[part.turn_group] = int(world.I[world.I[k.TURN_ID] + shape])
    return found


def _place(
    world: World, i: int, sheet: int, memo: Floats, out: Floats, turn_of: dict[str, int]
) -> bool:
    group = world.lay.parts[i].turn_group
    turn = turn_of.get(group, -1) if group else -1
    if not k.bottom_left(world.I, world.F, world.J, i, sheet, LINES, memo, out, turn):
        return False
    if group and turn < 0:
        shape = int(world.I[world.I[k.AT_SHAPE] + i])
        turn_of[group] = int(world.I[world.I[k.TURN_ID] + shape])
    return True
