"""Parts that fit each other, by recipe: jigsaws with spacing and along curves, combs, rings."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from shapely import Polygon

from benchmarks.search.freedom import jigsaw, lay_of
from nesting.marker.lay import Lay, Part, Strip, Turns
from nesting.pattern.path import Bezier, Line, Path, Point
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import circle

__all__ = ["combs", "curved", "hooks", "rings", "spaced"]

BOTH = Turns(angles=(0.0, 180.0))


def spaced(seed: int, count: int, spacing: float = 2.0) -> Lay:
    """Return a jigsaw of `freedom.py` whose cuts are as wide as the spacing (mm).

    Its parts fill 400 × 240 mm with half the spacing round them: 400 mm less the spacing is
    least, on a strip that is as much narrower. Of the seeds from this one on the first is
    taken with which no edge vanishes.
    """
    for trial in range(seed, seed + 10_000, 100):
        whole = [np.array(part.piece.cut.points(1.0)) for part in jigsaw(trial, count).parts]
        shrunk = [_inwards(ring, 0.5 * spacing) for ring in whole]
        if all(_runs_alike(a, b) for a, b in zip(whole, shrunk, strict=True)):
            lay = lay_of("jigsaw with spacing", [Polygon(ring) for ring in shrunk], 240.0 - spacing)
            return replace(lay, spacing=spacing)
    raise ValueError(f"no jigsaw of {count} parts leaves room for a spacing of {spacing} mm")


def _inwards(ring: np.ndarray, by: float) -> np.ndarray:
    """Move the edges of a counter-clockwise ring inwards, corners as sharp as they are."""
    ahead = np.roll(ring, -1, axis=0) - ring
    ahead = ahead / np.hypot(ahead[:, 0], ahead[:, 1])[:, None]
    after = np.stack([ahead[:, 1], -ahead[:, 0]], axis=1)
    before = np.roll(after, 1, axis=0)
    flat = 1.0 + np.sum(before * after, axis=1)[:, None]
    return np.asarray(ring - by * (before + after) / flat)


def _runs_alike(one: np.ndarray, two: np.ndarray) -> bool:
    """Whether the edges of two rings run the same ways."""
    a, b = (np.roll(ring, -1, axis=0) - ring for ring in (one, two))
    return bool((np.sum(a * b, axis=1) > 0.0).all())


def curved(seed: int, columns: int, rows: int) -> Lay:
    """Return a jigsaw of 400 × 240 mm, cut along curves whose ends are moved at random."""
    dice = random.Random(seed)
    ends: dict[tuple[int, int], Point] = {
        (i, j): (
            400.0 * (i + (0 < i < columns) * dice.uniform(-0.2, 0.2)) / columns,
            240.0 * (j + (0 < j < rows) * dice.uniform(-0.2, 0.2)) / rows,
        )
        for i in range(columns + 1)
        for j in range(rows + 1)
    }
    edges: dict[tuple[tuple[int, int], tuple[int, int]], Line | Bezier] = {}
    for (i, j), start in ends.items():
        for to, inner in (((i + 1, j), 0 < j < rows), ((i, j + 1), 0 < i < columns)):
            if to in ends:
                bow = dice.choice((-0.15, 0.15)) if inner else 0.0
                edge = _edge(start, ends[to], bow)
                edges[(i, j), to], edges[to, (i, j)] = edge, edge.reversed()
    parts = []
    for i in range(columns):
        for j in range(rows):
            ring = [(i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1)]
            cut = Path(tuple(edges[a, b] for a, b in zip(ring, ring[1:] + ring[:1], strict=True)))
            name = f"{i}, {j}"
            parts.append(Part(name=name, piece=Piece(name=name, cut=cut), turns=BOTH))
    dice.shuffle(parts)
    return Lay(name="curved jigsaw", parts=tuple(parts), stock=Strip(width=240.0))


def _edge(start: Point, end: Point, bow: float) -> Line | Bezier:
    (x, y), (u, v) = start, end
    if not bow:
        return Line(start, end)
    one, two = (
        (x + t * (u - x) - bow * (v - y), y + t * (v - y) + bow * (u - x)) for t in (0.3, 0.7)
    )
    return Bezier(start, one, two, end)


def combs(count: int, gap: float, width: float) -> Lay:
    """Return combs of five teeth of 10 × 30 mm, so far apart, on backs of 10 mm."""
    ring: list[Point] = [(0.0, 0.0), (4 * (10.0 + gap) + 10.0, 0.0)]
    for k in reversed(range(5)):
        x = k * (10.0 + gap)
        ring += [(x + 10.0, 40.0), (x, 40.0)]
        ring += [(x, 10.0), (x - gap, 10.0)] if k else []
    return _alike("combs", ring, count, width)


def hooks(count: int, width: float) -> Lay:
    """Return C of 60 × 61 mm, 20 mm thick, whose bays are 21 mm wide."""
    ring: list[Point] = [(0, 0), (60, 0), (60, 20), (20, 20), (20, 41), (60, 41), (60, 61), (0, 61)]
    return _alike("C", ring, count, width)


def _alike(name: str, ring: list[Point], count: int, width: float) -> Lay:
    piece = Piece(name=name, cut=Path.polyline(ring, closed=True))
    parts = tuple(Part(name=f"{name} {n}", piece=piece, turns=BOTH) for n in range(count))
    return Lay(name=name, parts=parts, stock=Strip(width=width))


def rings() -> Iterator[Lay]:
    """Yield rings that lie in one another, 1 mm apart: 200 mm long if they do, and thrice so."""
    sizes: list[tuple[float, float | None]] = [(200.0, 160.0), (157.0, 60.0), (57.0, None)]
    for count, width in ((1, 202.0), (3, 202.0)):
        parts = []
        for n in range(count):
            for size, within in sizes:
                hole = () if within is None else (_hole(size, within),)
                name = f"{size:g}, {n}"
                piece = Piece(name=f"{size:g}", cut=circle(size), holes=hole)
                parts.append(Part(name=name, piece=piece))
        yield Lay(name="rings in rings", parts=tuple(parts), stock=Strip(width=width), spacing=1.0)


def _hole(size: float, within: float) -> Path:
    return circle(within, centre=(0.5 * size, 0.5 * size)).reversed()
