"""Kerf, checked by what a beam as wide as the kerf leaves of the material."""

import math

import pytest
from shapely import LinearRing, Polygon

from nesting.pattern.path import Arc, Bezier, Line, Path
from nesting.writing.machines.contour import circle
from nesting.writing.machines.kerf import allow_for_kerf
from nesting.writing.neutral.drawing import Drawing, Operation, Stroke

KERF = 0.3
ROUNDED = Path(
    (
        Line((0, 0), (50, 0)),
        Arc((50, 10), (10, 0), (0, 10), -math.pi / 2, math.pi / 2),
        Line((60, 10), (60, 30)),
        Line((60, 30), (30, 12)),
        Arc((20, 12), (10, 0), (0, 10), 0.0, -math.pi),
        Line((10, 12), (0, 30)),
        Line((0, 30), (0, 0)),
    )
)
CURVED = Path(
    (
        Line((0, 0), (50, 0)),
        Bezier((50, 0), (80, 20), (40, 50), (25, 30)),
        Bezier((25, 30), (10, 10), (5, 40), (0, 20)),
        Line((0, 20), (0, 0)),
    )
)
ELLIPSE = Path((Arc((0, 0), (30, 5), (-4, 12), 0.0, 2 * math.pi),))
SHARP = Path.polyline([(0, 0), (60, 0), (0, 6)], closed=True)


def widened(path, *, inner=False, kerf=KERF):
    stroke = Stroke(operation=Operation.CUT, path=path, part=0, inner=inner)
    return allow_for_kerf(
        Drawing(name="t", length=100.0, width=100.0, strokes=(stroke,)), kerf=kerf
    )


def left_over(path):
    """Return what lies inside a contour once a round beam has run along it."""
    ring = LinearRing(path.points(1e-4))
    return Polygon(ring).difference(ring.buffer(KERF / 2, quad_segs=64))


@pytest.mark.parametrize("path", [ROUNDED, CURVED, ELLIPSE, SHARP])
def test_the_beam_leaves_the_part(path):
    result = widened(path)
    assert result.findings == ()
    (stroke,) = result.drawing.strokes
    part, true = left_over(stroke.path), Polygon(path.points(1e-4))
    # A round beam leaves material only in inner corners, less than (1 - pi/4)/4 kerf² each
    # at a right angle, more in sharper ones; nothing of the part is ever lost.
    assert true.difference(part.buffer(2e-3)).is_empty
    assert part.difference(true.buffer(2e-3)).area < 5 * KERF**2


@pytest.mark.parametrize("path", [ROUNDED, CURVED, ELLIPSE])
def test_the_beam_leaves_the_hole(path):
    (stroke,) = widened(path.reversed(), inner=True).drawing.strokes
    ring = LinearRing(stroke.path.points(1e-4))
    assert not ring.is_ccw
    hole, true = Polygon(ring).union(ring.buffer(KERF / 2)), Polygon(path.points(1e-4))
    assert hole.difference(true.buffer(2e-3)).is_empty
    assert true.difference(hole.buffer(2e-3)).area < 5 * KERF**2


def test_lines_stay_lines_and_arcs_arcs():
    (stroke,) = widened(ROUNDED).drawing.strokes
    arcs = [segment for segment in stroke.path.segments if isinstance(segment, Arc)]
    assert sorted(round(arc.radius, 9) for arc in arcs) == [10 - KERF / 2, 10 + KERF / 2]
    assert not any(isinstance(segment, Bezier) for segment in stroke.path.segments)
    assert stroke.path.closed


def test_the_way_a_contour_runs_does_not_matter():
    a, b = (
        Polygon(widened(path).drawing.strokes[0].path.points(1e-3))
        for path in (ROUNDED, ROUNDED.reversed())
    )
    assert a.symmetric_difference(b).area < 1e-6


def test_a_hole_narrower_than_the_kerf_is_a_fault():
    result = widened(circle((10, 10), 0.25), inner=True)
    assert [finding.kind for finding in result.findings] == ["kerf"]
    assert "hole" in result.findings[0].text


def test_a_slot_narrower_than_the_kerf_is_a_fault():
    slot = Path.polyline(
        [(0, 0), (40, 0), (40, 30), (20.1, 30), (20.1, 10), (20, 10), (20, 30), (0, 30)],
        closed=True,
    )
    (finding,) = widened(slot).findings
    assert "slot" in finding.text


def test_parts_nearer_than_the_kerf_are_a_fault():
    boxes = [
        Path.polyline([(x, 0), (x + 10, 0), (x + 10, 10), (x, 10)], closed=True)
        for x in (0.0, 10.2, 20.7)
    ]
    drawing = Drawing(
        name="t",
        length=40.0,
        width=10.0,
        strokes=tuple(
            Stroke(operation=Operation.CUT, path=path, part=i) for i, path in enumerate(boxes)
        ),
    )
    (finding,) = allow_for_kerf(drawing, kerf=KERF).findings
    assert finding.parts == ("part 1", "part 2")
    assert finding.amount == pytest.approx(0.1)


def test_marks_notches_and_points_stay_where_they_are():
    strokes = (
        Stroke(operation=Operation.NOTCH, path=Path((Line((0, 5), (4, 5)),)), part=0),
        Stroke(operation=Operation.MARK, path=circle((5, 5), 2.0), part=0),
        Stroke(operation=Operation.DRILL, path=Path((Line((5, 5), (5, 5)),)), part=0),
    )
    drawing = Drawing(name="t", length=10.0, width=10.0, strokes=strokes)
    assert allow_for_kerf(drawing, kerf=KERF).drawing == drawing


def test_a_blade_without_kerf_changes_nothing():
    assert widened(ROUNDED, kerf=0.0).drawing.strokes[0].path == ROUNDED
