"""Seam allowances: closed forms, shapely's mitred buffers, corners between unlike edges."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely import LineString

from nesting.errors import PatternError, Severity
from nesting.pattern.measure import area, bounds, length, signed_area
from nesting.pattern.parallel.allowance import add_allowance, inset, sewing_line
from nesting.pattern.parallel.bands import grown, shrunk
from nesting.pattern.parallel.corner import MITRE
from nesting.pattern.parallel.offset import parallel_path
from nesting.pattern.path import Arc, Bezier, Line, Path
from nesting.pattern.polygon import polygon
from nesting.pattern.shapes import circle, ellipse, polygon_path, rectangle
from nesting.pattern.svg_path import parse_path

ELL = polygon_path([(0, 0), (100, 0), (100, 30), (30, 30), (30, 100), (0, 100)])
CURVY, *_ = parse_path("M0 0C30 -20 70 20 100 0L110 80Q60 40 0 90Z")
BAY = polygon_path(
    [(0, 0), (100, 0), (100, 100), (54, 100), (54, 20), (46, 20), (46, 100), (0, 100)]
)
BONE = polygon_path(
    [
        *[(0, 0), (30, 0), (30, 25), (70, 25), (70, 0), (100, 0), (100, 60)],
        *[(70, 60), (70, 35), (30, 35), (30, 50), (0, 50)],
    ]
)


def ring(path):
    points = path.points(1e-4)
    return LineString([*points, points[0]])


def points_of(path):
    return [segment.start for segment in path.segments]


def test_a_rectangle_grows_by_the_width_on_each_side():
    cut = add_allowance(rectangle(100, 50), 10)
    assert points_of(cut) == [(-10, -10), (110, -10), (110, 60), (-10, 60)]


def test_unlike_edges_meet_at_the_corner_of_their_parallels():
    cut = add_allowance(rectangle(100, 50), {1: 10, 3: 20, 4: 5})
    assert points_of(cut) == [(-5, -10), (100, -10), (100, 70), (-5, 70)]
    sew = sewing_line(cut, {1: 10, 3: 20, 4: 5})
    assert points_of(sew) == points_of(rectangle(100, 50))


def test_concave_corners():
    assert points_of(add_allowance(ELL, 10)) == [
        pytest.approx(p)
        for p in [(-10, -10), (110, -10), (110, 40), (40, 40), (40, 110), (-10, 110)]
    ]
    assert points_of(sewing_line(ELL, 10)) == [
        pytest.approx(p) for p in [(10, 10), (90, 10), (90, 20), (20, 20), (20, 90), (10, 90)]
    ]


@pytest.mark.parametrize("width", [2.0, 6.0, 10.0])
def test_steiner_on_arcs(width):
    # Steiner's formula: area + perimeter·w + π·w² for smooth convex outlines
    for shape in (circle(80), rectangle(100, 60, radius=12)):
        cut = add_allowance(shape, width)
        assert area(cut) == pytest.approx(
            area(shape) + length(shape) * width + math.pi * width**2, rel=1e-12
        )
        assert [type(s) for s in cut.segments] == [type(s) for s in shape.segments]
        assert sum(isinstance(s, Arc) for s in cut.segments) > 0


def test_steiner_on_an_ellipse():
    shape = ellipse(80, 30)
    cut = add_allowance(shape, 10)
    steiner = area(shape) + 10 * length(shape) + math.pi * 100
    assert area(cut) == pytest.approx(steiner, abs=1e-3 * length(shape))
    assert all(isinstance(s, Bezier) for s in cut.segments)


def test_mitred_polygon_grows_by_its_corners():
    # area + perimeter·w + w²·Σ tan(turn/2) over the corners of a convex polygon
    triangle = polygon_path([(0, 0), (90, 0), (30, 60)])
    turns = [math.radians(180 - a) for a in (63.43494882292201, 45.0, 71.56505117707799)]
    grown = area(triangle) + length(triangle) * 8 + 64 * sum(math.tan(t / 2) for t in turns)
    assert area(add_allowance(triangle, 8)) == pytest.approx(grown)


@pytest.mark.parametrize("width", [1.0, 5.0, 10.0, 14.0, 25.0])
@pytest.mark.parametrize("outline", [ELL, BAY, BONE, rectangle(100, 30), circle(90)])
def test_against_shapely_outwards(outline, width):
    # shapely (GEOS) buffers with mitred joins; no corner here reaches the mitre limit
    cut = add_allowance(outline, width)
    reference = polygon(outline, chord=1e-4).buffer(width, join_style="mitre", mitre_limit=MITRE)
    reference = shapely.Polygon(reference.exterior)
    apart = polygon(cut, chord=1e-4).symmetric_difference(reference).area
    assert apart < 2e-3 * length(cut)


@pytest.mark.parametrize("width", [1.0, 3.9, 5.5, 10.0, 14.0])
@pytest.mark.parametrize("outline", [ELL, BAY, BONE, rectangle(100, 30), circle(90)])
def test_against_shapely_inwards(outline, width):
    sew, _ = inset(outline, width)
    reference = polygon(outline, chord=1e-4).buffer(-width, join_style="mitre", mitre_limit=MITRE)
    largest = max(getattr(reference, "geoms", [reference]), key=lambda part: part.area)
    apart = polygon(sew, chord=1e-4).symmetric_difference(largest).area
    assert apart < 2e-3 * length(sew)


@pytest.mark.parametrize("width", [3.0, 10.0, 22.0])
def test_every_point_is_the_width_away_or_belongs_to_a_corner(width):
    cut = add_allowance(CURVY, width)
    reach = shapely.distance(ring(CURVY), shapely.points(np.array(cut.points(0.01))))
    assert reach.min() > width - 0.005
    # no farther than a corner cut off at the mitre limit: half its square end aside
    assert reach.max() < width * MITRE * 1.2
    curve_points = [s.at(0.5) for s in cut.segments if isinstance(s, Bezier)]
    exact = shapely.distance(ring(CURVY), shapely.points(np.array(curve_points)))
    assert exact == pytest.approx(np.full(len(exact), width), abs=0.005)


def test_a_sharp_corner_is_cut_off_square():
    spear = polygon_path([(0, 0), (100, -5), (100, 5)])  # 5.7° at the left
    cut = add_allowance(spear, 10)
    assert bounds(cut)[0] == pytest.approx(-MITRE * 10)
    assert polygon(cut).is_valid
    sharp = add_allowance(spear, 10, mitre=1000)
    half = math.atan2(5, 100)
    assert bounds(sharp)[0] == pytest.approx(-10 / math.sin(half))


def test_a_bay_narrower_than_twice_the_width_closes():
    cut = add_allowance(BAY, 5)
    assert area(cut) == pytest.approx(110 * 110)


def test_an_edge_on_the_fold_keeps_its_line():
    half, *_ = parse_path("M0 0H80C100 20 90 50 80 70L0 80Z")
    cut = add_allowance(half, {1: 10, 2: 10, 3: 10, 4: 0})
    assert bounds(cut)[0] == 0.0
    on_fold = [s for s in cut.segments if s.start[0] == 0.0 and s.end[0] == 0.0]
    assert len(on_fold) == 1
    # its ends run on along the fold as far as the slanted top's parallel
    top = 80 + 10 * math.hypot(10, 80) / 80
    assert sorted(p[1] for p in (on_fold[0].start, on_fold[0].end)) == pytest.approx([-10, top])


def test_concave_arcs_stay_arcs():
    scoop, *_ = parse_path("M0 0H100V60H80A30 30 0 0 0 20 60H0Z")
    cut = add_allowance(scoop, 10)
    radii = [s.radius for s in cut.segments if isinstance(s, Arc)]
    assert radii == [pytest.approx(20.0)]
    assert area(polygon_path(cut.points(1e-4))) == pytest.approx(area(cut), abs=0.05)


def test_an_arc_tighter_than_the_width_vanishes():
    scoop, *_ = parse_path("M0 0H100V60H53A3 3 0 0 0 47 60H0Z")
    cut = add_allowance(scoop, 10)
    reference = polygon(scoop, chord=1e-4).buffer(10, join_style="mitre", mitre_limit=MITRE)
    assert area(cut) == pytest.approx(reference.area, abs=0.5)


def test_a_step_between_unlike_widths_on_a_straight_edge():
    outline, *_ = parse_path("M0 0H50H100V40H0Z")
    cut = add_allowance(outline, [5, 10, 5, 5, 5])
    assert signed_area(cut) == pytest.approx(110 * 50 + 55 * 5)


def test_wound_clockwise_is_taken_too():
    assert area(add_allowance(ELL.reversed(), 10)) == pytest.approx(area(add_allowance(ELL, 10)))


def test_no_allowance_is_the_same_line():
    assert add_allowance(CURVY, 0) == CURVY


@pytest.mark.parametrize("width", [-1.0, math.nan, math.inf])
def test_widths_have_to_be_widths(width):
    with pytest.raises(PatternError, match=r"0 or more|larger than the piece"):
        add_allowance(ELL, width)


def test_larger_than_the_piece():
    with pytest.raises(PatternError, match="450 mm is larger than the piece"):
        add_allowance(ELL, 450)
    with pytest.raises(PatternError, match="nothing is left"):
        sewing_line(ELL, 15)


def test_what_trimming_loses_is_told():
    left, told = inset(BONE, 6)
    assert area(left) == pytest.approx(18 * 48)
    apart = [finding for finding in told if finding.severity is Severity.FAULT]
    assert [finding.amount for finding in apart] == [pytest.approx(18 * 38)]
    assert len(told) == 2
    assert told[1].at == pytest.approx((50, 30), abs=5)


def test_a_narrow_tail_is_told():
    kite = polygon_path(
        [(0, 0), (60, 0), (60, 27), (160, 27), (160, 33), (60, 33), (60, 60), (0, 60)]
    )
    left, told = inset(kite, 4)
    assert area(left) == pytest.approx(52 * 52)
    assert [finding.kind for finding in told] == ["lost"]
    # the tail of 100 × 6, less the allowance of 4 that the body's edge takes anyway
    assert told[0].amount == pytest.approx(600, abs=30)


def test_nothing_told_where_nothing_is_lost():
    assert inset(ELL, 10)[1] == ()
    assert inset(rectangle(100, 50, radius=10), 12)[1] == ()


def test_long_polylines_are_quick_and_right():
    n = 3000
    blob = polygon_path(
        [
            (r * math.cos(a), r * math.sin(a))
            for a in (k * math.tau / n for k in range(n))
            for r in (200 + 20 * math.sin(5 * a),)
        ]
    )
    cut = add_allowance(blob, 10)
    assert len(cut.segments) == n
    assert all(isinstance(s, Line) for s in cut.segments)
    reach = shapely.distance(ring(blob), shapely.points(np.array(cut.points(1.0))))
    assert reach == pytest.approx(np.full(n, 10.0), abs=0.01)


def test_the_start_stays_at_its_corner():
    assert math.dist(add_allowance(BAY, 5).start, BAY.start) == pytest.approx(5 * math.sqrt(2))
    assert isinstance(add_allowance(BAY, 5), Path)


def test_arcs_and_curves_are_kept_where_parallels_get_in_each_others_way():
    # a bay 8 mm wide closes under an allowance of 10, the rounded shoulders stay round
    slot, *_ = parse_path("M0 0H100V60A20 20 0 0 1 80 80H54V20H46V80A40 40 0 0 1 0 40Z")
    cut = add_allowance(slot, 10)
    radii = [s.radius for s in cut.segments if isinstance(s, Arc)]
    assert radii == [pytest.approx(30), pytest.approx(50)]
    assert len(cut.segments) == 6
    reference = shapely.Polygon(
        polygon(slot, chord=1e-4).buffer(10, join_style="mitre", mitre_limit=MITRE).exterior
    )
    assert polygon(cut).symmetric_difference(reference).area < 2e-3 * length(cut)


def test_an_arc_that_vanishes_leaves_its_neighbours_meeting_exactly():
    lid, *_ = parse_path("M0 0H100V60A3 3 0 0 1 97 63A50 50 0 0 1 0 60Z")
    sew = sewing_line(lid, 10)
    large = [s for s in lid.segments if isinstance(s, Arc)][1]
    (arc,) = [s for s in sew.segments if isinstance(s, Arc)]
    assert arc.centre == pytest.approx(large.centre)
    assert arc.radius == pytest.approx(large.radius - 10)
    for a, b in zip(sew.segments, sew.segments[1:], strict=False):
        assert a.end == pytest.approx(b.start, abs=1e-9)


def test_curves_around_a_closed_bay_stay_curves():
    bay, *_ = parse_path("M0 0C30 -20 70 20 100 0V60C70 90 60 30 54 60V20H46V60C30 80 20 80 0 40Z")
    cut = add_allowance(bay, 10)
    assert sum(isinstance(s, Bezier) for s in cut.segments) > 5
    assert len(cut.segments) < 60
    reach = shapely.distance(ring(bay), shapely.points(np.array(cut.points(0.01))))
    assert reach.min() > 10 - 0.005


def test_an_allowance_that_runs_on_ends_where_it_first_meets_the_next_edge():
    # the parallel of the slanted edge passes the bulge beside it twice, a hair apart
    bulge, *_ = parse_path("M100 0 0 100-62.4 62.4-45 0A49 49 0 0 1-39 -39L0 -100Z")
    widths = [0.0] * len(bulge.segments)
    widths[2] = 6.9375
    cut = add_allowance(bulge, widths)
    assert polygon(bulge, chord=1e-4).difference(polygon(cut, chord=1e-4)).area < 1e-3


@pytest.mark.parametrize(("allowance", "gap"), [(5.0, 2.0), (4.0, 3.0), (3.5, 3.5), (6.0, 1.0)])
def test_corners_whose_arcs_vanish_altogether_stay(allowance: float, gap: float) -> None:
    seam = sewing_line(rectangle(68, 106, radius=7), allowance)
    cut, lost = inset(seam, gap)
    assert not lost
    assert area(cut) == pytest.approx(54 * 92)
    assert len(cut.segments) == 4


@pytest.mark.parametrize("seed", range(40))
def test_a_wide_allowance_ends_where_it_meets_a_narrow_one_however_it_is_worked_out(
    seed: int,
) -> None:
    # Convex corners of any angle, edges with no allowance among them: two of our own ways.
    rng = np.random.default_rng(seed)
    turns = (np.arange(6) + rng.uniform(0.1, 0.9, 6)) * math.tau / 6
    path = polygon_path([(100 * math.cos(a), 100 * math.sin(a)) for a in turns])
    by = rng.choice([0.0, 3.0, 6.0, 12.0], 6).tolist()
    direct = parallel_path(path, by)
    if not any(by) or direct is None:
        pytest.fail("a hexagon has a parallel")
    apart = grown(path, by).symmetric_difference(polygon(direct)).area
    assert apart == pytest.approx(0.0, abs=0.01)


def test_a_wide_allowance_is_not_cut_at_an_obtuse_corner_into_a_notch() -> None:
    # Worked by hand: parallels at 18 and 3 beside a corner of 120° meet
    # (18 cos 60° - 3) / sin 60° = 6.9282 before the wide edge's end.
    half = 50.0 * math.sqrt(3.0)
    path = polygon_path([(0, 0), (100, 0), (150, half), (-50, half)])
    cut = grown(path, [18.0, 3.0, 3.0, 3.0])
    x = max(x for x, y in cut.exterior.coords if y < -17.9)
    assert x == pytest.approx(100 - 6.9282, abs=1e-3)
    assert len(cut.simplify(1e-6).exterior.coords) == 5


def where_parallels_meet(a, b, c, by):
    """Return the point `by` to the right of the lines a → b and b → c, from their equations."""
    normals, offsets = [], []
    for (p, q), w in zip(((a, b), (b, c)), by, strict=True):
        along = np.subtract(q, p) / math.dist(p, q)
        right = (along[1], -along[0])
        normals.append(right)
        offsets.append(np.dot(right, b) + w)
    return np.linalg.solve(normals, offsets)


DIP, TOP = [(200, 150), (110, 130), (0, 150)], [(200, 130), (110, 150), (0, 130)]
BY = (10.0, 14.0)


@pytest.mark.parametrize("upper", [DIP, TOP], ids=["dip", "top"])
@pytest.mark.parametrize("by", [BY, BY[::-1]], ids=["narrow first", "wide first"])
@pytest.mark.parametrize("inwards", [False, True])
def test_unlike_edges_meet_alike_whichever_way_they_are_worked_out(upper, by, inwards):
    """At an obtuse corner, too, the wide allowance runs on until it meets the narrow one's line.

    The same corner, once in an outline whose parallel is put together from its segments', and
    once where a slot (or a spike) below makes that impossible, so that areas are added up.
    """
    slot = (
        [(60, 0), (60, -40), (66, -40), (66, 0)]
        if inwards
        else [(60, 0), (60, 40), (66, 40), (66, 0)]
    )
    plain, slotted = (
        polygon_path([(0, 0), (200, 0), *upper]),
        polygon_path([(0, 0), *slot, (200, 0), *upper]),
    )
    sign = -1.0 if inwards else 1.0
    make = sewing_line if inwards else add_allowance
    corner = where_parallels_meet(*upper, [sign * w for w in by])
    found = []
    for outline in (plain, slotted):
        n = len(outline.segments)
        widths = [10.0] * (n - 3) + [*by, 10.0]
        direct = parallel_path(outline, [sign * w for w in widths])
        assert (direct is None) == (outline is slotted)
        cut = make(outline, widths)
        assert min(math.dist(corner, p) for p in points_of(cut)) < 2e-3
        found.append(polygon(cut).intersection(shapely.box(-50, 60, 250, 250)))
    assert found[0].symmetric_difference(found[1]).area < 0.5


def test_a_narrow_edge_that_is_too_short_keeps_its_allowance():
    """The wide one's line would pass over all of it: there is a step at its end."""
    outline = polygon_path([(0, 0), (200, 0), (200, 150), (104, 150), (100, 149), (0, 180)])
    cut = polygon(add_allowance(outline, [5.0, 5.0, 5.0, 5.0, 25.0, 5.0]))
    assert cut.is_valid
    assert cut.contains(polygon(outline))
    assert cut.exterior.distance(shapely.Point(50, 164.5)) == pytest.approx(25.0, abs=0.01)


@pytest.mark.parametrize("inwards", [False, True])
def test_inner_and_outer_corners_are_alike_however_they_are_worked_out(inwards: bool) -> None:
    """Stars with edges of unlike allowances: two of our own ways, at corners of any angle."""
    tried = 0
    for seed in range(40):
        rng = np.random.default_rng(seed)
        turns = (np.arange(7) + rng.uniform(0.15, 0.85, 7)) * math.tau / 7
        radii = rng.uniform(60, 110, 7)
        star = polygon_path(
            [(r * math.cos(a), r * math.sin(a)) for r, a in zip(radii, turns, strict=True)]
        )
        by = rng.choice([0.0, 3.0, 6.0, 12.0], 7).tolist()
        direct = parallel_path(star, [-w for w in by] if inwards else by)
        if direct is None:
            continue
        tried += 1
        (areas,) = shrunk(star, by) if inwards else [grown(star, by)]
        assert areas.symmetric_difference(polygon(direct)).area < 0.01, seed
    assert tried > 25
