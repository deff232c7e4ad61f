"""What holds for any outline: drawn at random, straight, round and curved."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import LineString

from nesting.errors import PatternError
from nesting.pattern.clip import clipped_region, off_line
from nesting.pattern.measure import area, bounds, length, signed_area
from nesting.pattern.nearest import nearest
from nesting.pattern.outline import clean_outline
from nesting.pattern.parallel.allowance import add_allowance, inset
from nesting.pattern.parallel.corner import MITRE
from nesting.pattern.path import Affine, Bezier, Line, Path
from nesting.pattern.piece import Piece
from nesting.pattern.polygon import polygon
from nesting.pattern.segment import part
from nesting.pattern.svg_path import format_path, parse_path
from nesting.pattern.variants.fold import halved, opened
from nesting.pattern.variants.symmetry import is_mirror_symmetric
from nesting.pattern.variants.transform import transformed
from nesting.pattern.variants.variant import mirrored, trimmed, upright

quick = settings(max_examples=40, deadline=None)
angle = st.floats(-720, 720)
place = st.floats(-500, 500)


@st.composite
def stars(draw, *, least=0.45):
    """Return an outline seen whole from the origin; its sides lines, arcs or curves.

    Radii from `least` to 1 times 100 mm at 4 to 9 rays, sides bent by little enough
    to stay simple.
    """
    n = draw(st.integers(4, 9))
    turn = draw(st.floats(0, math.tau))
    radii = [100 * draw(st.floats(least, 1.0)) for _ in range(n)]
    rays = [
        (math.cos(turn + k * math.tau / n), math.sin(turn + k * math.tau / n)) for k in range(n)
    ]
    ring = [(r * x, r * y) for r, (x, y) in zip(radii, rays, strict=True)]
    segments = []
    for a, b in zip(ring, [*ring[1:], ring[0]], strict=True):
        kind = draw(st.sampled_from(["line", "line", "arc", "curve"]))
        bend = draw(st.floats(-0.12, 0.12))
        segments.append(_side(kind, a, b, bend))
    path = Path(tuple(segments))
    assume(polygon(path, chord=1e-3).is_valid)
    return path


def _side(kind, a, b, bend):
    dx, dy = b[0] - a[0], b[1] - a[1]
    if kind == "line" or abs(bend) < 0.01:
        return Line(a, b)
    if kind == "curve":
        first = (a[0] + dx / 3 + bend * dy, a[1] + dy / 3 - bend * dx)
        second = (a[0] + dx * 2 / 3 + bend / 2 * dy, a[1] + dy * 2 / 3 - bend / 2 * dx)
        return Bezier(a, first, second, b)
    # circular arc of sagitta bend·chord, to the right of the chord if bend > 0
    chord = math.hypot(dx, dy)
    height = abs(bend) * chord
    radius = (chord * chord / 4 + height * height) / (2 * height)
    (segment,) = parse_path(
        f"M{a[0]!r},{a[1]!r}A{radius!r},{radius!r} 0 0 {int(bend > 0)} {b[0]!r},{b[1]!r}"
    )[0].segments
    return segment


@quick
@given(stars())
def test_path_data_round_trips(path):
    (again,) = parse_path(format_path(path))
    for a, b in zip(path.segments, again.segments, strict=True):
        assert type(a) is type(b)
        for t in (0.0, 0.37, 1.0):
            assert b.at(t) == pytest.approx(a.at(t), abs=1e-9)


@quick
@given(stars())
def test_measures_against_shapely(path):
    fine = polygon(path, chord=1e-5)
    assert area(path) == pytest.approx(fine.area, abs=1e-4 * fine.length)
    assert length(path) == pytest.approx(fine.length, rel=1e-6)
    assert bounds(path) == pytest.approx(fine.bounds, abs=2e-5)


@quick
@given(stars(), place, place)
def test_nearest_point_against_shapely(path, x, y):
    ring = path.points(1e-4)
    reference = LineString([*ring, ring[0]]).distance(shapely.Point(x, y))
    assert nearest(path, (x, y)).distance == pytest.approx(reference, abs=2e-4)


@quick
@given(stars(), st.floats(0.01, 0.99))
def test_parts_add_up(path, t):
    for segment in path.segments:
        halves = Path((part(segment, 0.0, t), part(segment, t, 1.0)))
        assert length(halves) == pytest.approx(length(Path((segment,))), rel=1e-9)


@quick
@given(stars(), angle, place, place, st.booleans())
def test_moving_a_piece_changes_no_measure(path, turn, dx, dy, flip):
    by = Affine.move(dx, dy).after(Affine.turn(turn))
    by = by.after(Affine.mirror()) if flip else by
    piece = Piece(name="x", cut=path)
    moved = transformed(piece, by)
    assert signed_area(moved.cut) == pytest.approx(signed_area(path))
    assert length(moved.cut) == pytest.approx(length(path))
    assert area(mirrored(piece).cut) == pytest.approx(area(path))
    assert area(upright(moved).cut) == pytest.approx(area(path))


@quick
@given(stars(), st.floats(1, 25), st.integers(0, 2**32))
def test_allowance_is_the_width_everywhere(path, width, seed):
    # by distances to the outline, not by GEOS's buffer: that simplifies its input by up to
    # 1 % of the distance (BufferInputLineSimplifier, in its sources)
    cut = add_allowance(path, width)
    assert polygon(cut).is_valid
    assert signed_area(cut) > 0
    assert cut.closed
    ends = [(a.end, b.start) for a, b in itertools.pairwise(cut.segments)]
    assert max(math.dist(p, q) for p, q in ends) < 1e-9
    inside, far, taken = _sampled(path, cut, reach=5 * width, seed=seed)
    assert taken[inside | (far < width - 0.01)].all()
    # what lies farther is a mitre's, no farther than its limit cut off square allows
    assert (far[taken & ~inside] <= width * math.hypot(MITRE, 1.0) + 0.01).all()


def _sampled(path, other, *, reach, seed):
    """Return for points at random: inside the path, distance from it, inside the other path."""
    shape = polygon(path)
    shapely.prepare(shape)
    x0, y0, x1, y1 = shape.buffer(reach).bounds
    random = np.random.default_rng(seed)
    points = shapely.points(random.uniform(x0, x1, 1500), random.uniform(y0, y1, 1500))
    return (
        shapely.contains(shape, points),
        shapely.distance(shape.exterior, points),
        shapely.contains(polygon(other), points),
    )


@quick
@given(stars(), st.lists(st.floats(0, 20), min_size=9, max_size=9))
def test_unlike_allowances_keep_their_distances(path, widths):
    by = widths[: len(path.segments)]
    cut = add_allowance(path, by)
    shape = polygon(cut)
    assert shape.is_valid
    assert shape.buffer(0.01).contains(polygon(path))
    outside = shape.exterior
    for segment, width in zip(path.segments, by, strict=True):
        middle = shapely.Point(segment.at(0.5))
        assert outside.distance(middle) <= max(width, max(by)) + 0.006
        line = LineString([segment.start, *segment.points(1e-3)])
        assert outside.distance(line.interpolate(0.5, normalized=True)) >= min(by) - 0.006


@quick
@given(stars(least=0.7), st.floats(0.5, 8))
def test_trimming_undoes_an_allowance(path, width):
    cut = add_allowance(path, width)
    back, _ = inset(cut, width)
    lost = polygon(back).symmetric_difference(polygon(path)).area
    # a corner of the sewing line that a mitre limit cut off is not found again
    assert lost < 0.01 * length(path) + 1e-3 * area(path)


@quick
@given(stars(), st.floats(0.5, 120))
def test_what_is_trimmed_lies_inside_by_the_gap(path, gap):
    piece = Piece(name="x", cut=path, sew=path)
    circle = shapely.maximum_inscribed_circle(polygon(path), tolerance=0.01)
    deepest, centre = circle.length, shapely.Point(circle.coords[0])
    if deepest < gap - 0.1:
        with pytest.raises(PatternError, match="nothing is left"):
            trimmed(piece, gap)
        return
    assume(deepest > 1.2 * gap)  # in between mitres may take the rest
    bare, told = trimmed(piece, gap)
    assert polygon(bare.cut).is_valid
    inside, far, left = _sampled(path, bare.cut, reach=1.0, seed=1)
    assert not left[~inside | (far < gap - 0.01)].any()
    if deepest > MITRE * gap:  # no mitre reaches there: it stays, or is told to be cut apart
        assert told or polygon(bare.cut).contains(centre)


@quick
@given(stars(), angle, st.floats(-60, 60))
def test_the_two_sides_of_a_cut_add_up(path, turn, off):
    by = Affine.turn(turn)
    line = (by((0.0, off)), by((1.0, off)))
    sides = [clipped_region([path], ends) for ends in (line, (line[1], line[0]))]
    assert all(not holes for _, holes in sides)
    both = sum(area(ring) for outlines, _ in sides for ring in outlines)
    assert both == pytest.approx(area(path), rel=1e-9)


@quick
@given(stars(), st.floats(-180, 180))
def test_opened_pieces_are_symmetric(path, turn):
    axis = (Affine.turn(turn)((0.0, 0.0)), Affine.turn(turn)((1.0, 0.0)))
    off = [abs(off_line(segment.start, axis)) for segment in path.segments]
    assume(all(d > 0.05 for d in off))  # drawing accuracy: nearer is taken as on the axis
    outlines, _ = clipped_region([path], (axis[1], axis[0]))
    assume(len(outlines) == 1)
    half = clean_outline(outlines[0])
    whole = opened(Piece(name="x", cut=half, grain=turn), axis=axis)
    assert area(whole.cut) == pytest.approx(2 * area(half), rel=1e-9)
    assert is_mirror_symmetric(upright(whole))
    again = halved(whole)
    assert area(again.cut) == pytest.approx(area(half), rel=1e-6)
