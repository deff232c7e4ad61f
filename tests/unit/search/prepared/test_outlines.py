"""What the search works on contains what is cut, with the spacing around it."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely import Polygon, box

from nesting.marker.lay import Lay, Part, Strip, Turns
from nesting.pattern.path import Arc, Line, Path
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import circle, rectangle
from nesting.search.prepared.convex import convex_parts
from nesting.search.prepared.easing import narrowest, simplified, without_pockets
from nesting.search.prepared.growing import grown
from nesting.search.prepared.outlines import outline
from nesting.search.problem import prepare


def star(points: int, rough: float, seed: int) -> Polygon:
    dice = np.random.default_rng(seed)
    angles = np.linspace(0, 2 * math.pi, points, endpoint=False)
    radius = 100 * (1 - rough * dice.random(points))
    return Polygon(np.stack([radius * np.cos(angles), radius * np.sin(angles)], axis=1))


SHAPES = [
    box(0, 0, 100, 50),
    Polygon([(0, 0), (100, 0), (100, 20), (20, 20), (20, 90), (0, 90)]),
    box(0, 0, 100, 100).difference(box(30, 30, 70, 60)),
    *[star(n, rough, n) for n in (3, 8, 40, 200) for rough in (0.1, 0.8)],
]


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("by", [0.02, 1.5, 12.0])
def test_growing_contains_every_nearer_point_and_little_more(shape: Polygon, by: float) -> None:
    done = grown(shape, by)
    # A finer round buffer of shapely's lies inside the true one, so it must lie inside ours.
    inside = shape.buffer(by, quad_segs=90)
    assert inside.difference(done).area <= 1e-9 * shape.area
    # Tangents 15 degrees apart reach out to by / cos(7.5 degrees).
    assert done.difference(shape.buffer(by / math.cos(math.radians(7.5)) * 1.001, 90)).area < 1e-6


def comb(teeth: int) -> Polygon:
    tips = [(900 * i / teeth, i % 2) for i in range(teeth)]
    return Polygon([*tips, (900, 900), (0, 900)])


@pytest.mark.parametrize("shape", [comb(20_000), star(5_000, 0.01, 1)], ids=["comb", "star"])
@pytest.mark.parametrize("by", [0.5, 3.0])
def test_growing_a_crowd_of_corners_contains_what_is_near(shape: Polygon, by: float) -> None:
    """Near the edge the hull of each run of corners is held, so a millimetre more."""
    done = grown(shape, by)
    assert shape.difference(done).area <= 1e-9 * shape.area
    edge = shapely.get_coordinates(shape)[::7]
    angles = np.linspace(0, 2 * math.pi, 12, endpoint=False)[:, None]
    circle = by * np.concatenate([np.cos(angles), np.sin(angles)], axis=1)
    around = shapely.points((edge[:, None] + circle[None]).reshape(-1, 2))
    shapely.prepare(done)
    assert shapely.covers(done, around).all()
    assert done.area - shape.area < shape.convex_hull.length * (by + 1.5)


@pytest.mark.parametrize("shape", SHAPES)
def test_simplified_outlines_contain_the_true_one(shape: Polygon) -> None:
    done = simplified(shape, share=0.01, height=1.0)
    assert shape.difference(done).area <= 1e-9 * shape.area
    assert done.area <= 1.0101 * shape.area + 1e-9
    assert shapely.get_num_coordinates(done) <= shapely.get_num_coordinates(shape)


@pytest.mark.parametrize("shape", SHAPES)
def test_convex_parts_cover_the_shape_once(shape: Polygon) -> None:
    parts = [Polygon(ring) for ring in convex_parts(shape)]
    assert sum(part.area for part in parts) == pytest.approx(shape.area)
    assert shapely.union_all(parts).symmetric_difference(shape).area < 1e-6
    assert all(part.convex_hull.area == pytest.approx(part.area) for part in parts)


def keyhole(mouth: float) -> Polygon:
    """Return a plate of 100 by 60 mm with a round hole of 20 mm, open to its edge by a slot."""
    hole = shapely.Point(50, 20).buffer(10.0, quad_segs=16)
    slot = box(50 - mouth / 2, -1, 50 + mouth / 2, 20)
    return box(0, 0, 100, 60).difference(hole.union(slot))


@pytest.mark.parametrize("mouth", [4.0, 8.0])
def test_a_pocket_is_filled_that_has_a_narrow_mouth(mouth: float) -> None:
    """With it the plate is 100 by 60 mm again."""
    shape = keyhole(mouth)
    assert shape.area < 5_800.0
    done = without_pockets(shape, mouth + 0.1)
    assert done.area == pytest.approx(6_000.0)
    assert shape.difference(done).area == pytest.approx(0.0, abs=1e-9)
    # The slot is as wide all along it, so with a mouth a little narrower nothing is filled.
    assert without_pockets(shape, mouth - 0.1).equals(shape)


def test_bays_that_are_no_deeper_than_wide_stay_open() -> None:
    bay = box(0, 0, 100, 60).difference(box(40, -1, 50, 9))
    assert without_pockets(bay, 12.0).equals(bay)  # 28 mm round it, three times 10 are more
    deep = box(0, 0, 100, 60).difference(box(40, -1, 50, 11))
    assert without_pockets(deep, 12.0).area == pytest.approx(6_000.0)  # 32 mm round it


def test_how_wide_nearly_all_of_a_shape_is() -> None:
    """A tongue of 6 mm is 600 of 10,600 mm²; of the corners discs lose 0.1 % at that width."""
    tongued = box(0, 0, 100, 100).union(box(100, 40, 200, 46))
    assert narrowest(tongued, share=0.02, most=50.0) == pytest.approx(6.0, abs=50.0 / 2**7)
    assert narrowest(tongued, share=0.02, most=4.0) == 4.0
    assert narrowest(tongued, share=0.08, most=20.0) == 20.0


def test_a_coarse_outline_without_pockets_contains_the_finer_one() -> None:
    shape = shapely.union(keyhole(6.0), star(60, 0.4, 5).buffer(0.0))
    cut = Path.polyline([(x, y) for x, y in shape.exterior.coords[:-1]], closed=True)
    common = {"spacing": 1.0, "least_hole": 0.0}
    fine = outline(cut, (), share=0.0005, **common)
    coarse = outline(cut, (), share=0.006, mouth=8.0, finer=0.0005, **common)
    one, other = (shapely.union_all([Polygon(r) for r in o.parts]) for o in (fine, coarse))
    assert one.difference(other).area < 1e-9 * shape.area
    assert len(coarse.parts) < len(fine.parts)


@pytest.mark.parametrize(("tooth", "open_"), [(10.0, True), (12.0, False)])
def test_slots_stay_open_that_teeth_go_into(tooth: float, open_: bool) -> None:
    """Slots of 10.2 mm in one piece: teeth of 10 mm of another go in, of 12 mm do not."""
    slots = [box(24.0 * i, 20, 24.0 * i + 10.2, 60) for i in range(1, 13)]
    teeth = [box(22.0 * i, 20, 22.0 * i + tooth, 60) for i in range(1, 14)]
    slotted = box(0, 0, 336, 60).difference(shapely.union_all(slots))
    toothed = shapely.union_all([box(0, 0, 330, 20), *teeth])
    pieces = [
        Piece(name=name, cut=Path.polyline(list(shape.exterior.coords[:-1]), closed=True))
        for name, shape in (("slotted", slotted), ("toothed", toothed))
    ]
    parts = tuple(
        Part(name=piece.name, piece=piece, turns=Turns(angles=(0.0,))) for piece in pieces
    )
    problem, _ = prepare(Lay(name="teeth", parts=parts, stock=Strip(width=400.0)))
    whole = shapely.union_all([Polygon(ring) for ring in problem.coarse[0].parts])
    there = problem.coarse[0].centre
    inside = shapely.Point(24.0 + 5.1 - there[0], 40 - there[1])
    assert whole.covers(inside) is not open_


def test_a_prepared_outline_contains_the_piece_and_half_the_spacing() -> None:
    shape = star(60, 0.4, 5)
    cut = Path.polyline([(x, y) for x, y in shape.exterior.coords[:-1]], closed=True)
    done = outline(cut, (), spacing=5.0, share=0.01, least_hole=0.0)
    wide = shapely.union_all([Polygon(ring) for ring in done.parts])
    plain = shapely.union_all([Polygon(ring) for ring in done.plain])
    there = shapely.transform(shape, lambda xy: xy - np.array(done.centre))
    assert there.difference(plain).area < 1e-9 * shape.area
    assert there.buffer(2.5, quad_segs=90).difference(wide).area < 1e-9 * shape.area


def test_edges_that_all_but_coincide_do_not_defeat_growing():
    """A turned rectangle whose grown edges end a rounding error apart."""
    corners = (
        *((-62.81850744216116, -75.12010153074303), (-0.1645019512607249, -97.92429458698199)),
        *((62.81850744216116, 75.12010153074303), (0.1645019512607249, 97.924294586982)),
    )
    shape = shapely.Polygon(corners)
    found = grown(shape, 1.5875)
    assert found.covers(shapely.buffer(shape, 1.5875 - 1e-6, quad_segs=64))
    assert shapely.hausdorff_distance(found, shapely.buffer(shape, 1.5875, quad_segs=64)) < 0.02


def test_growing_loses_no_side() -> None:
    """Of this shield a union of 120 strips lost the right-hand one without a word."""
    r = 18.7676367585182
    arc = Arc((0.0, 0.0), (r, 0.0), (0.0, 0.7 * r), 0.0, math.pi)
    low = Line((-r, -r), (r, -r))
    shield = Path((arc, Line(arc.end, low.start), low, Line(low.end, (r, 0.0))))
    one = outline(shield, (), spacing=2.0, share=0.0005, least_hole=10.0)
    corners = np.concatenate(one.parts)
    assert (corners.min(axis=0) <= one.ring.min(axis=0) - 1.0).all()
    assert (corners.max(axis=0) >= one.ring.max(axis=0) + 1.0).all()


def test_convex_parts_have_no_edges_of_roundings_length():
    # Two zones that share a border leave such a hair: the edge at the top runs back.
    ring = [
        (0.0, 0.0),
        (263.4, 0.0),
        (263.4, 175.3),
        (263.4 + 2.7e-11, 175.3 + 8e-14),
        (0.0, 175.3),
    ]
    for part in convex_parts(Polygon(ring)):
        edges = np.roll(part, -1, axis=0) - part
        length = np.hypot(*edges.T)
        after = np.roll(edges, -1, axis=0)
        turn = edges[:, 0] * after[:, 1] - edges[:, 1] * after[:, 0]
        assert length.min() > 1e-6
        assert (turn / (length * np.roll(length, -1))).min() > -1e-6
    assert sum(Polygon(part).area for part in convex_parts(Polygon(ring))) == pytest.approx(
        263.4 * 175.3
    )


@pytest.mark.parametrize("teeth", [(20_000, 3.0), (10_000, 0.4)])
def test_thousands_of_teeth_are_eased_and_the_outline_still_contained(
    teeth: tuple[int, float],
) -> None:
    count, height = teeth
    angles = np.arange(count) * (math.tau / count)
    radius = 100.0 + height * (np.arange(count) % 2)
    ring = np.stack([radius * np.cos(angles), radius * np.sin(angles)], axis=1)
    path = Path.polyline([(float(x), float(y)) for x, y in ring], closed=True)
    made = outline(path, (), spacing=0.0, share=0.0025, least_hole=0.0)
    assert sum(len(part) for part in made.parts) < 10_000
    whole = shapely.union_all([Polygon(part) for part in made.parts])
    true = Polygon(ring - np.array(made.centre))
    assert true.difference(whole.buffer(1e-6)).area == pytest.approx(0.0, abs=1e-9)
    assert whole.area < math.pi * (100.0 + height + 0.5) ** 2


def test_holes_that_nothing_fits_in_cost_no_growing() -> None:
    """A plate of 300 holes too small for any part is, grown for spacing, one without them."""
    plate, screw = rectangle(400.0, 300.0), 8.0
    holes = tuple(
        circle(screw, centre=(15.0 + 20.0 * (i % 18), 12.0 + 17.0 * (i // 18))) for i in range(300)
    )
    how = {"spacing": 2.0, "share": 0.0025, "least_hole": 20.0}
    drilled, whole = outline(plate, holes, **how), outline(plate, (), **how)
    assert drilled.area == pytest.approx(whole.area - 300 * math.pi * (screw / 2) ** 2, rel=1e-4)
    for mine, its in ((drilled.parts, whole.parts), (drilled.plain, whole.plain)):
        assert [part.tolist() for part in mine] == [part.tolist() for part in its]
