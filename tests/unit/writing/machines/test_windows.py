import math
from itertools import pairwise

import pytest
from shapely import LinearRing, LineString

from nesting.errors import MachineError
from nesting.marker.lay import Part
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.writing.machines.windows import windows
from nesting.writing.neutral.drawing import Drawing, Operation, Role, Stroke


def box(x, y, w, h):
    return Path.polyline([(x, y), (x + w, y), (x + w, y + h), (x, y + h)], closed=True)


def lay(*places, width=300.0):
    outlines = [box(*place) for place in places]
    return Drawing(
        name="long",
        length=max(x + w for x, _, w, _ in places),
        width=width,
        strokes=tuple(
            Stroke(operation=Operation.CUT, path=path, part=i) for i, path in enumerate(outlines)
        ),
        parts=tuple(
            Part(name=f"part {i}", piece=Piece(name=f"p{i}", cut=path))
            for i, path in enumerate(outlines)
        ),
    )


ROW = lay(*((i * 210.0, 20.0, 200.0, 250.0) for i in range(7)))


def test_a_lay_that_fits_is_one_window_without_marks():
    (window,) = windows(ROW, length=1500.0)
    assert window.drawing == ROW
    assert window.registers == ()


def test_every_part_is_in_one_window_where_it_was():
    found = windows(ROW, length=500.0)
    assert len(found) == 4
    seen = {}
    for window in found:
        for stroke in window.drawing.strokes:
            xs = [x for x, _ in stroke.path.points(0.1)]
            assert min(xs) > -1e-9
            assert max(xs) < 500.0 + 1e-9
            if stroke.part is not None:
                assert stroke.part not in seen
                seen[stroke.part] = min(xs) + window.shift
    assert seen == {i: pytest.approx(i * 210.0) for i in range(7)}


def test_register_marks_of_neighbours_fall_on_each_other_and_touch_no_part():
    found = windows(ROW, length=500.0)
    assert len(found) > 1
    for before, after in pairwise(found):
        old = {(round(x + before.shift, 6), y) for x, y in before.registers}
        new = {(round(x + after.shift, 6), y) for x, y in after.registers}
        both = old & new
        assert len(both) == 2
        (_, low), (_, high) = sorted(both, key=lambda p: p[1])
        assert high - low > 200.0
    for window in found:
        crosses = [s for s in window.drawing.strokes if s.role is Role.REGISTER]
        assert len(crosses) == 2 * len(window.registers)
        for cross in crosses:
            line = LineString([cross.path.start, cross.path.end])
            assert math.isclose(line.length, 10.0)
            for stroke in window.drawing.strokes:
                if stroke.part is not None:
                    points = stroke.path.points(0.1)
                    assert line.distance(LineString([*points, points[0]])) >= 1.0


def test_a_part_across_every_border_is_named():
    bricks = lay(*((i * 150.0, 150.0 * (i % 2), 200.0, 140.0) for i in range(8)))
    with pytest.raises(MachineError, match=r"always a part across.*part \d") as caught:
        windows(bricks, length=500.0)
    assert "\n" not in str(caught.value)


def test_touching_parts_give_no_border():
    touching = lay((0, 0, 300, 100), (300, 100, 300, 100))
    with pytest.raises(MachineError, match="across"):
        windows(touching, length=400.0)


def test_register_marks_stand_far_apart_even_in_a_narrow_gap():
    """Two marks beside each other would not show that the cloth lies askew."""
    strokes = tuple(
        Stroke(operation=Operation.CUT, path=box(x, y, 300.0, 250.0))
        for x in (0.0, 302.0)
        for y in (0.0, 252.0)
    )
    long = Drawing(name="t", length=602.0, width=540.0, strokes=strokes)
    first, second = windows(long, length=400.0)
    assert first.registers == ((301.0, 5.0), (301.0, 535.0))
    assert [y for _, y in second.registers] == [y for _, y in first.registers]
    marks = [s.path for s in first.drawing.strokes if s.role is Role.REGISTER]
    cuts = [LinearRing(s.path.points(0.1)) for s in strokes]
    assert len(marks) == 4
    for path in marks:
        assert min(LineString(path.points(0.1)).distance(cut) for cut in cuts) >= 0.25


def test_a_window_begins_as_late_as_it_can_so_that_planned_loads_fit():
    """Loads of 1000 mm on a bed of 1010: the first is half empty, the second is full."""
    parts = (box(0.0, 0.0, 400.0, 300.0), box(1002.0, 0.0, 996.0, 300.0))
    strokes = tuple(
        Stroke(operation=Operation.CUT, path=path, part=i) for i, path in enumerate(parts)
    )
    lay = Drawing(name="loads", length=1998.0, width=400.0, strokes=strokes)
    first, second = windows(lay, length=1010.0)
    for window in (first, second):
        reach = [x for s in window.drawing.strokes for x, _ in s.path.points(0.1)]
        assert min(reach) >= 0.0
        assert max(reach) <= 1010.0
