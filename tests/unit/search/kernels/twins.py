"""Random lays for the kernels, and plain twins that say in a few lines what overlaps."""

from __future__ import annotations

import math
import random

import numpy as np

from nesting.marker.lay import Lay, Part, Sheet, Sheets, Strip, Turns
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.search import problem as made
from nesting.search.kernels import weights as heavier
from nesting.search.prepared.forms import turned
from nesting.search.prepared.pair_records import Capacity
from nesting.search.prepared.state import Layout
from nesting.search.prepared.world import World

TURNS = Turns(angles=(0.0, 90.0, 200.0))


def star(name: str, points: int, radius: float, **rules: object) -> Part:
    """Return a star, which is of several convex parts."""
    angles = [math.pi * n / points for n in range(2 * points)]
    reach = [radius if n % 2 else 0.45 * radius for n in range(2 * points)]
    ring = [(r * math.cos(a), r * math.sin(a)) for a, r in zip(angles, reach, strict=True)]
    piece = Piece(name=name, cut=Path.polyline(ring, closed=True))
    return Part(name=name, piece=piece, **{"turns": TURNS, "flip": True} | rules)


def world_of(parts: list[Part], *, sheets: bool = False, meetings: int = 10**9) -> World:
    """Return parts laid on a strip, or on hides with slanting edges, with room to spare."""
    hide = Path.polyline([(0, 30), (300, 0), (420, 160), (380, 330), (40, 310)], closed=True)
    on = Sheets(sheets=(Sheet(name="hide", outline=hide, count=2),))
    lay = Lay(name="k", parts=tuple(parts), stock=on if sheets else Strip(width=300.0), spacing=1.0)
    capacity = Capacity(singles=400_000, ints=400_000, hits=meetings)
    problem, _ = made.prepare(lay, capacity=capacity)
    world = made.first_marker(problem, stop=lambda: False).world
    world.state.seed(5)
    if not sheets:
        world.set_length(1.2 * world.used_length(world.save()))
    return world


def throw(world: World, dice: random.Random) -> Layout:
    """Put everything anywhere; return the layout."""
    layout = world.save()
    for i in range(world.items):
        sheet = dice.randrange(len(world.sheets))
        options = world.options_of(i, sheet)
        layout.shape[i], layout.sheet[i] = dice.choice(options), sheet
        x0, y0, x1, y1 = world.state.domain(i, int(layout.shape[i]), sheet)
        layout.at[i] = dice.uniform(x0, x1), dice.uniform(y0, y1)
    world.load(layout)
    return world.save()


def stars(count: int, **rules: object) -> list[Part]:
    return [star(f"{n}", 3 + n % 3, 30.0 + 4 * (n % 4), **rules) for n in range(count)]


def rings_of(world: World, s: int, x: float, y: float, *, plain: bool = False) -> list[np.ndarray]:
    """Return the convex parts of a placed shape, or of an obstacle, counter-clockwise."""
    if s >= len(world.shapes):
        body, along = world._domains.placed[s - len(world.shapes)]
        return [np.add(ring, (along, 0.0)) for ring in world._domains.bodies[body]]
    shape = world.shapes[s]
    outline = world.outlines[shape.outline]
    parts = [np.add(turned(r, shape), (x, y)) for r in (outline.plain if plain else outline.parts)]
    return [ring[::-1] if shape.flipped else ring for ring in parts]


def normals_of(ring: np.ndarray) -> np.ndarray:
    """Return the outward normals of a ring's edges."""
    ahead = np.roll(ring, -1, axis=0) - ring
    return np.stack([ahead[:, 1], -ahead[:, 0]], axis=1) / np.hypot(*ahead.T)[:, None]


def depth_of(one: np.ndarray, two: np.ndarray) -> float:
    """Return how far two convex rings must move apart along a normal of either, at least."""
    normals = np.concatenate([normals_of(one), -normals_of(two)])
    return float(((normals @ one.T).max(axis=1) - (normals @ two.T).min(axis=1)).min())


def depths_of(world: World, one: tuple, two: tuple) -> np.ndarray:
    """Return the depths of all pairs of convex parts of two placed shapes (shape, x, y)."""
    (a, *p), (b, *q) = sorted((one, two), key=lambda o: o[0])
    region = b >= len(world.shapes)
    first, second = rings_of(world, a, *p, plain=region), rings_of(world, b, *q)
    return np.array([depth_of(r, t) for r in first for t in second])


def overlap_of(world: World, one: tuple, two: tuple) -> float:
    """Return the summed depths times the size factors of two placed shapes."""
    table = world.state._arrays["shapes"]["factor"]
    depths = depths_of(world, one, two)
    return float(depths[depths > 0.0].sum() * table[one[0]] * table[two[0]])


def placed(world: World, i: int) -> tuple:
    """Return an item's shape and position, or the obstacle on item `-sheet - 1`'s sheet."""
    layout = world.save()
    return int(layout.shape[i]), float(layout.at[i, 0]), float(layout.at[i, 1])


def obstacle_of(world: World, i: int, sheet: int) -> tuple | None:
    """Return what bounds an item on a sheet as (shape, x, y), if anything does."""
    arrays = world.state._arrays
    s = int(arrays["obstacles"][world.kinds.of[i] * len(world.sheets) + sheet])
    return None if s < 0 else (s, float(arrays["shapes"]["x"][s]), 0.0)


def others(world: World, i: int, sheet: int) -> list[tuple[int, tuple]]:
    """Return all that an item may meet on a sheet: its number, shape and position."""
    layout = world.save()
    found = [(j, placed(world, j)) for j in range(world.items) if j != i and layout.sheet[j] >= 0]
    bounds = obstacle_of(world, i, sheet)
    return found + ([(world.items, bounds)] if bounds else [])


def weights_of(world: World) -> np.ndarray:
    """Return what all pairs count for (items, items + 1), faded up to this round."""
    state, arrays, n = world.state._state, world.state._arrays, world.items
    lists = [arrays[name].reshape(n, n + 1) for name in ("raised", "weights")]
    found = np.ones((n, n + 1))
    for i, item in enumerate(arrays["items"]):
        against, heavy = (table[i, : item["raised"]] for table in lists)
        assert len(set(against.tolist())) == len(against)
        faded = heavy.astype(float) * state.decay ** int(state.rounds - item["faded"])
        found[i, against] = np.maximum(faded, 1.0)
    return found


def weigh_pairs(world: World, weights: np.ndarray) -> None:
    """Let all pairs count for what a matrix (items, items + 1) says."""
    state, n = world.state._state, world.items
    heavier.unweigh(state)
    for i in range(n):
        for j in range(n + 1):
            heavier.grow(state, i, j, float(weights[i, j]))
