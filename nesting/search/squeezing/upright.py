"""Parts that lie askew for nothing, turned square to the grain, ruler and knife.

A search among many turns leaves parts at odd ones that nothing needs. Each is turned to the
nearest right angle, its neighbours make room by moving (the program of the last squeeze, without
turns), and it stays so if that works out and the marker is no longer.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from nesting.search.prepared.polygons import Floats
from nesting.search.prepared.state import Layout
from nesting.search.prepared.world import World
from nesting.search.square import may_turn
from nesting.search.squeezing.squeeze import Clock, endless
from nesting.search.squeezing.turn import Turned, inside, state_of, step, worst

__all__ = ["upright"]

_SQUARE = 1e-9
"""What is off a right angle by no more (degrees) is square to the grain."""

_PROGRAMS = 5
"""So many programs at most make room for one part."""

_MOST = 100
"""So many parts at most are tried."""


def upright(
    world: World,
    layout: Layout,
    angles: Floats | None,
    *,
    ends: Callable[[], bool],
    left: Clock = endless,
) -> tuple[Layout, Floats] | None:
    """Turn what need not lie askew; return positions and angles (degrees), None if all stays.

    `angles`: of the items, if not those of their shapes.
    """
    if (layout.sheet < 0).any() or not may_turn(world.lay):
        return None
    turns = [world.shapes[int(s)].angle for s in layout.shape] if angles is None else angles
    degrees, done = np.array(turns, dtype=float), False
    state = state_of(world, layout, degrees)
    length = state.length()
    for i in _askew(state, degrees)[:_MOST]:
        if ends():
            break
        right = 90.0 * round(degrees[i] / 90.0)
        got = _room_for(_turned(state, i, right, layout), length, ends, left)
        if got is not None:
            state, degrees[i], done = replace(got, moved=state.moved), right % 360.0, True
    return (Layout(state.at, layout.shape, layout.sheet), degrees) if done else None


def _askew(state: Turned, degrees: Floats) -> list[int]:
    """Return the items that may turn freely and lie askew, those by the least first."""
    parts = state.world.lay.parts
    off = np.abs(degrees - 90.0 * np.round(degrees / 90.0))
    free = [part.turns.free and part.turn_group is None for part in parts]
    some = np.flatnonzero((off > _SQUARE) & state.loose & np.array(free))
    return [int(i) for i in some[np.argsort(off[some], kind="stable")]]


def _turned(state: Turned, i: int, right: float, layout: Layout) -> Turned:
    """Return the state with one item turned about its middle; it and its neighbours may move."""
    angle, at = state.angle.copy(), state.at.copy()
    before = _middle(state.ring(i))
    angle[i] = math.radians(right)
    turned = replace(state, angle=angle, at=at)
    at[i] += before - _middle(turned.ring(i))
    low, high = state.low.copy(), state.high.copy()
    low[i] = high[i] = angle[i]
    return replace(turned, low=low, high=high, moved=_near(state, i, layout))


def _near(state: Turned, i: int, layout: Layout) -> npt.NDArray[np.bool_]:
    """Return which items lie on the same sheet within a part's size of an item, itself too."""
    reach = 0.5 * np.array([state.outline(j).size for j in range(len(state.angle))])
    apart = np.hypot(*(state.at - state.at[i]).T) - reach - reach[i]
    near = (apart < state.world.median) & (layout.sheet == layout.sheet[i])
    return np.asarray(near & state.loose)


def _middle(ring: Floats) -> Floats:
    return np.asarray(0.5 * (ring.min(axis=0) + ring.max(axis=0)))


def _room_for(state: Turned, length: float, ends: Callable[[], bool], left: Clock) -> Turned | None:
    """Return the state without overlap and no longer than before, by moves alone, or None."""
    tolerance, trust = 1e-8 * state.world.median, 0.1 * state.world.median
    before = math.inf
    for _ in range(_PROGRAMS):
        deepest = max(inside(state), worst(state), state.moved_length() - length)
        if deepest <= tolerance:
            return state
        if deepest > 0.8 * before or ends():
            return None
        before = deepest
        got = step(state, trust=trust, spin=0.0, mend=True, length=length, left=left)
        if got is None:
            return None
        state = got
    return None
