"""Names beside parts: each at the best of its places, which are weighed a ring at a time."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence

import pytest
import shapely
from shapely import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry as Area

from nesting.marker.lay import Lay, Part, Strip
from nesting.marker.marker import Marker, Placement
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import rectangle
from nesting.writing.neutral import beside, draw
from nesting.writing.neutral.beside import Ground
from nesting.writing.neutral.drawing import Drawing, Label, Role
from nesting.writing.neutral.font import text_width
from nesting.writing.neutral.lettering import Lettering, ink_box, text_box, widest

FARS = (1.0, 2.0, 4.0, 7.0, 11.0, 16.0, 24.0, 36.0, 54.0, 80.0)
TEXT = "B 12"


def crowd(seed: int) -> Ground:
    """Return a ground of scattered polygons, with a name on it already."""
    dice = random.Random(seed)
    taken = []
    for _ in range(30):
        x, y, r = dice.uniform(10, 390), dice.uniform(10, 190), dice.uniform(2, 12)
        angles = sorted(dice.uniform(0, math.tau) for _ in range(6))
        points = [(x + r * math.cos(t), y + r * math.sin(t)) for t in angles]
        taken.append(Polygon(points).convex_hull)
    ground = Ground(
        taken=taken,
        edges=[LineString([(200, 0), (200, 200)])],
        borders=[LineString([(0, 100), (400, 110)])],
        size=shapely.box(0, 0, 400, 200),
        lettering=Lettering(),
    )
    ground.add(shapely.box(50, 50, 120, 60))
    return ground


def plain(ground: Ground, area: Area) -> tuple[float, Polygon] | None:
    """Weigh place after place: the cost of the best one, and the name's box."""
    height = ground.lettering.readable
    x, y, _ = widest(area)
    half = text_width(TEXT) * height / 2.0
    weighed = []
    for far in FARS:
        if weighed and min(weighed)[0] < far:
            break
        for k in range(24):
            dx, dy = math.cos(math.tau * k / 24), math.sin(math.tau * k / 24)
            shared = LineString([(x, y), (x + 500 * dx, y + 500 * dy)]).intersection(area)
            reach = Point(x, y).hausdorff_distance(shared) + far * height
            box = ink_box(TEXT, (x + dx * (reach + half), y + dy * (reach + height)), height=height)
            cost = cost_of(ground, box, shapely.shortest_line(box, Point(x, y)), area)
            if cost is not None:
                weighed.append((cost + far, len(weighed), box))
    return (min(weighed)[0], min(weighed)[2]) if weighed else None


def cost_of(ground: Ground, box: Polygon, line: LineString, own: Area) -> float | None:
    wide = box.buffer(ground.lettering.clear)
    if any(wide.intersects(other) or line.intersects(other) for other in ground.names):
        return None
    if any(wide.intersects(other) for other in (*ground.edges, *ground.taken)):
        return None
    crossed = [o for o in ground.taken if line.intersects(o) and not o.intersects(own)]
    border = any(wide.intersects(edge) for edge in ground.borders)
    return 6.0 * len(crossed) + 6.0 * border + (0.0 if ground.size.contains(wide) else 40.0)


@pytest.mark.parametrize("seed", [1, 2])
def test_a_name_stands_at_the_place_that_costs_least(seed: int) -> None:
    ground = crowd(seed)
    found = 0
    for area in ground.taken[:12]:
        best = plain(ground, area)
        label = next((item for item in ground.lead([TEXT], area) if isinstance(item, Label)), None)
        if best is None:
            assert label is None
            continue
        assert label is not None
        box = text_box(TEXT, label.at, height=label.height)
        assert box.hausdorff_distance(best[1]) < 1e-6
        found += 1
    assert found


def test_places_are_weighed_a_ring_at_a_time(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each of them alone took four minutes where 2,000 parts had no room for their names."""
    calls = []
    real = shapely.shortest_line
    monkeypatch.setattr(
        beside.shapely, "shortest_line", lambda *what: (calls.append(1), real(*what))[1]
    )
    ground = crowd(1)
    ground.add(shapely.box(-1e3, -1e3, 1e3, 1e3))  # so that no place is good
    assert not list(ground.lead([TEXT, "B"], ground.taken[0]))
    assert len(calls) == 2 * len(FARS)


def specks(count: int) -> Drawing:
    piece = Piece(name="Speck", cut=rectangle(1.5, 1.5))
    parts = tuple(Part(name=f"s{i}", piece=piece, copy=i + 1, copies=count) for i in range(count))
    placements = tuple(Placement(part=i, x=40.0 * i, y=100.0) for i in range(count))
    lay = Lay(name="Canvas", parts=parts, stock=Strip(width=200.0))
    return draw.draw(Marker(lay=lay, placements=placements))


def leaders(drawing: Drawing) -> Sequence[object]:
    return [stroke for stroke in drawing.strokes if stroke.role is Role.LEADER]


def test_of_too_many_names_none_stands_beside_its_part_and_that_is_said(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    assert draw._MOST_BESIDE == 150
    monkeypatch.setattr(draw, "_MOST_BESIDE", 3)
    few, many = specks(3), specks(4)
    assert len(leaders(few)) == len(few.labels) == 3
    assert not few.notes
    assert not leaders(many)
    assert not many.labels
    (note,) = many.notes
    assert "names of 4 parts" in note


def test_names_that_stand_there_are_put_in_order_once_for_each(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Anew for each ring of places, it was 20 times and more for a name without room."""
    ground = crowd(1)
    real, calls = shapely.STRtree, []
    monkeypatch.setattr(beside.shapely, "STRtree", lambda what: (calls.append(1), real(what))[1])
    assert list(ground.lead([TEXT, "B"], ground.taken[0]))
    assert len(calls) == 1


def test_what_lies_on_parts_anyway_is_not_looked_at_further(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    ground = crowd(1)
    full = Ground(
        taken=[*ground.taken, shapely.box(-1e3, -1e3, 1e3, 1e3)],
        edges=ground.edges,
        borders=ground.borders,
        size=ground.size,
        lettering=ground.lettering,
    )
    calls: list[int] = []
    monkeypatch.setattr(beside.shapely, "buffer", lambda *_, **__: calls.append(1))
    assert not list(full.lead([TEXT, "B"], full.taken[0]))
    assert not calls
