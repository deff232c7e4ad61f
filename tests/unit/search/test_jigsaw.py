"""Parts that leave no waste are put together; other lays are left as they were."""

from __future__ import annotations

import math
import random
from dataclasses import replace

import numpy as np
import pytest
from shapely import Polygon, affinity
from shapely.geometry import LineString
from shapely.ops import split

from nesting.marker.check import check
from nesting.marker.figures import figures
from nesting.marker.lay import Edge, Lay, Part, Strip, Turns
from nesting.pattern.path import Bezier, Line, Path
from nesting.pattern.piece import Piece
from nesting.search import problem as made
from nesting.search.result import Limits, Stopped
from nesting.search.solve import search
from nesting.search.starting import jigsaw
from nesting.search.starting.jigsaw import put_together

QUARTERS = (0.0, 90.0, 180.0, 270.0)


def cut_up(seed: int, count: int) -> list[Polygon]:
    """Cut a rectangle of 500 × 300 mm into polygons, some of them with a step."""
    dice = random.Random(seed)
    parts = [Polygon([(0, 0), (500, 0), (500, 300), (0, 300)])]
    while len(parts) < count:
        parts.sort(key=lambda part: part.area)
        largest = parts.pop()
        x, y = largest.representative_point().coords[0]
        a = dice.uniform(0.0, math.pi)
        c, s, step = math.cos(a), math.sin(a), dice.choice((0.0, 12.0))
        line = [(-2e3 * c, -2e3 * s), (0, 0), (-step * s, step * c)]
        line.append((2e3 * c - step * s, 2e3 * s + step * c))
        found = split(largest, LineString([(x + u, y + v) for u, v in line]))
        parts += [one for one in found.geoms if isinstance(one, Polygon)]
    return parts


def lay_of(polygons: list[Polygon], turns: tuple[float, ...], **rules: object) -> Lay:
    parts = []
    for n, polygon in enumerate(polygons):
        ring = list(polygon.exterior.coords)[:-1]
        ring = ring if polygon.exterior.is_ccw else ring[::-1]
        piece = Piece(name=f"{n}", cut=Path.polyline(ring, closed=True))
        parts.append(Part(name=f"{n}", piece=piece, turns=Turns(angles=turns), **rules))
    return Lay(name="jigsaw", parts=tuple(parts), stock=Strip(width=300.0))


@pytest.mark.parametrize(
    ("count", "turns", "flip"),
    [(10, (0.0,), False), (40, (0.0,), False), (25, QUARTERS, False), (12, (0.0, 180.0), True)],
)
def test_a_rectangle_that_was_cut_up_is_put_together(
    count: int, turns: tuple[float, ...], flip: bool
) -> None:
    for seed in (1, 2, 3):
        polygons = cut_up(seed, count)
        if flip:
            polygons = [affinity.scale(p, (-1) ** n, 1.0) for n, p in enumerate(polygons)]
        lay = lay_of(polygons, turns, flip=flip)
        result = search(lay, limits=Limits(seconds=None, rounds=3), workers=1)
        assert figures(result.marker).length == pytest.approx(500.0, abs=1e-5)
        assert not check(result.marker)
        assert result.stopped is Stopped.OPTIMAL


def test_equal_shapes_that_tile_are_put_together() -> None:
    tee = Polygon([(0, 0), (60, 0), (60, 20), (40, 20), (40, 40), (20, 40), (20, 20), (0, 20)])
    lay = replace(lay_of([tee] * 16, QUARTERS), stock=Strip(width=80.0))
    problem, _ = made.prepare(lay)
    first = made.first_marker(problem, stop=lambda: False)
    assert first.world.used_length(first.layout) > 320.1
    _, found = put_together(problem, first, stop=lambda: False)
    assert found.world.used_length(found.layout) == pytest.approx(320.0)
    assert found.world.overlap() <= 0.0


def inset(polygon: Polygon, by: float) -> Polygon:
    """Move each edge inwards, corners as sharp as they are."""
    ring = np.array(polygon.exterior.coords)[:-1][:: -1 if polygon.exterior.is_ccw else 1]
    ahead = np.roll(ring, -1, axis=0) - ring
    ahead /= np.hypot(ahead[:, 0], ahead[:, 1])[:, None]
    after = np.stack([ahead[:, 1], -ahead[:, 0]], axis=1)
    before = np.roll(after, 1, axis=0)
    flat = 1.0 + np.sum(before * after, axis=1)[:, None]
    return Polygon(ring + by * (before + after) / flat)


@pytest.mark.parametrize(("count", "turns"), [(10, QUARTERS), (25, (0.0, 180.0))])
def test_spacing_takes_nothing_from_how_parts_fit(count: int, turns: tuple[float, ...]) -> None:
    for seed in (4, 6, 8):  # no edge vanishes
        polygons = [inset(polygon, 1.0) for polygon in cut_up(seed, count)]
        assert all(polygon.is_valid for polygon in polygons)
        lay = replace(lay_of(polygons, turns), spacing=2.0, stock=Strip(width=298.0))
        result = search(lay, limits=Limits(seconds=None, rounds=1), workers=1)
        assert figures(result.marker).length == pytest.approx(498.0, abs=1e-5)
        assert not check(result.marker)


def curved(seed: int, columns: int, rows: int) -> list[Path]:
    """Cut a rectangle of 500 × 300 mm along curves that run both ways."""
    dice = random.Random(seed)
    corners = {
        (i, j): (
            500.0 * (i + (0 < i < columns) * dice.uniform(-0.2, 0.2)) / columns,
            300.0 * (j + (0 < j < rows) * dice.uniform(-0.2, 0.2)) / rows,
        )
        for i in range(columns + 1)
        for j in range(rows + 1)
    }
    edges: dict[tuple[tuple[int, int], tuple[int, int]], Line | Bezier] = {}
    for (i, j), start in corners.items():
        for k, to in enumerate(((i + 1, j), (i, j + 1))):
            if to in corners:
                (x, y), (u, v) = start, corners[to]
                bow = dice.choice((-0.15, 0.15)) * (0 < (j, i)[k] < (rows, columns)[k])
                one, two = (
                    (x + t * (u - x) - bow * (v - y), y + t * (v - y) + bow * (u - x))
                    for t in (0.3, 0.7)
                )
                curve = Bezier(start, one, two, corners[to]) if bow else Line(start, corners[to])
                edges[(i, j), to], edges[to, (i, j)] = curve, curve.reversed()
    paths = []
    for i in range(columns):
        for j in range(rows):
            ring = [(i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1)]
            paths.append(
                Path(tuple(edges[a, b] for a, b in zip(ring, ring[1:] + ring[:1], strict=True)))
            )
    return paths


@pytest.mark.parametrize(("chord", "columns"), [(None, 4), (0.5, 4), (None, 8)])
def test_parts_that_share_curves_are_put_together(chord: float | None, columns: int) -> None:
    for seed in (1, 2) if columns == 4 else (3,):
        paths = curved(seed, columns, 3)
        if chord is not None:  # drawn by straight lines, more than the search would keep
            paths = [Path.polyline(path.points(chord), closed=True) for path in paths]
        random.Random(seed).shuffle(paths)
        parts = [
            Part(name=f"{n}", piece=Piece(name=f"{n}", cut=path), turns=Turns(angles=(0.0, 180.0)))
            for n, path in enumerate(paths)
        ]
        lay = Lay(name="curves", parts=tuple(parts), stock=Strip(width=300.0))
        result = search(lay, limits=Limits(seconds=None, rounds=1), workers=1)
        assert figures(result.marker).length == pytest.approx(500.0, abs=1e-3)
        assert not check(result.marker)


@pytest.mark.parametrize("why", ["waste", "spacing", "rule", "late"])
def test_what_is_no_jigsaw_stays_as_it_was(why: str) -> None:
    polygons = cut_up(4, 12)
    if why == "waste":
        polygons[3] = affinity.scale(polygons[3], 0.97, 0.97)
    lay = lay_of(polygons, QUARTERS, edge=Edge.LOW if why == "rule" else None)
    if why == "spacing":
        lay = replace(lay, spacing=1.0)
    problem, _ = made.prepare(lay)
    first = made.first_marker(problem, stop=lambda: False)
    world = first.world
    before, length = world.save(), world.length
    assert put_together(problem, first, stop=lambda: why == "late") == (problem, first)
    assert np.array_equal(world.save().at, before.at)
    assert world.length == length


def test_a_corner_that_stands_twice_is_no_edge_to_go_by(monkeypatch: pytest.MonkeyPatch) -> None:
    plain = jigsaw._rings

    def twice(*arguments: object) -> list[np.ndarray]:
        return [np.concatenate([ring[:1], ring]) for ring in plain(*arguments)]

    lay = lay_of(cut_up(1, 10), (0.0,))
    problem, _ = made.prepare(lay)
    start = made.first_marker(problem, stop=lambda: False)
    monkeypatch.setattr(jigsaw, "_rings", twice)
    with np.errstate(all="raise"):
        _, found = put_together(problem, start, stop=lambda: False)
    assert found.world.used_length(found.layout) == pytest.approx(500.0, abs=1e-5)
