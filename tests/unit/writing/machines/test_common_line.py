from dataclasses import replace

import pytest
from shapely import MultiLineString, Polygon, unary_union

from nesting.pattern.measure import length
from nesting.pattern.path import Arc, Line, Path
from nesting.writing.machines.common_line import common_lines
from nesting.writing.machines.contour import circle
from nesting.writing.machines.formats import Format
from nesting.writing.machines.kerf import allow_for_kerf
from nesting.writing.machines.machine import Kind, Machine, Tool
from nesting.writing.machines.sequence import in_sequence
from nesting.writing.neutral.drawing import Drawing, Operation, Role, Stroke


def box(x, y, w, h):
    return Path.polyline([(x, y), (x + w, y), (x + w, y + h), (x, y + h)], closed=True)


def drawing(*paths):
    return Drawing(
        name="t",
        length=500.0,
        width=500.0,
        strokes=tuple(
            Stroke(operation=Operation.CUT, path=path, part=i) for i, path in enumerate(paths)
        ),
    )


def lines(result):
    out = []
    for stroke in result.strokes:
        for segment in stroke.path.segments:
            out.append([segment.start, segment.end])
    return out


@pytest.mark.parametrize(
    "paths",
    [
        (box(0, 0, 50, 30), box(50, 0, 40, 30)),
        (box(0, 0, 50, 30), box(50, 10, 40, 50), box(0, 30, 50, 30)),
        (box(0, 0, 50, 30), box(10, 30, 10, 10), box(30, 30, 10, 10)),
        (box(0, 0, 30, 30), box(30, 0, 30, 30), box(0, 30, 30, 30), box(30, 30, 30, 30)),
        (box(30, 30, 30, 30), *(box(x, y, 30, 30) for x, y in ((0, 30), (60, 30), (30, 0)))),
        (
            Path.polyline([(0, 0), (60, 0), (0, 40)], closed=True),
            Path.polyline([(60, 0), (60, 40), (0, 40)], closed=True),
        ),
    ],
)
def test_no_edge_is_cut_twice_and_none_is_left_out(paths):
    before = drawing(*paths)
    after = common_lines(before)
    wanted = unary_union([Polygon(path.points(1e-3)).exterior for path in paths])
    done = lines(after)
    total = sum(MultiLineString([line]).length for line in done)
    assert total == pytest.approx(wanted.length)
    assert unary_union([MultiLineString(done)]).symmetric_difference(wanted).length < 1e-9
    assert total < sum(length(path) for path in paths) - 1.0


def test_parts_a_kerf_apart_share_the_line_and_keep_their_size():
    pair = drawing(box(0, 0, 50, 30), box(50.2, 0, 40, 30))
    after = common_lines(allow_for_kerf(pair, kerf=0.2).drawing)
    total = sum(length(stroke.path) for stroke in after.strokes)
    assert total == pytest.approx(50.2 * 2 + 40.2 * 2 + 3 * 30.2)


def test_curves_and_short_touches_are_left():
    round_end = Path(
        (
            Line((0, 0), (40, 0)),
            Arc((40, 20), (20, 0), (0, 20), -1.5707963267948966, 3.141592653589793),
            Line((40, 40), (0, 40)),
            Line((0, 40), (0, 0)),
        )
    )
    alone = drawing(round_end, box(60, 0, 30, 40), box(100, 0, 10, 10), box(110, 9.5, 10, 10))
    assert common_lines(alone) == alone


def test_shared_outlines_are_cut_after_everything_inside_any_of_them():
    laser = Machine(
        name="t",
        kind=Kind.LASER,
        reads=(Format.SVG,),
        bed_length=500.0,
        bed_width=500.0,
        tools=(Tool(operation=Operation.CUT, name="l", layer="1", pen=1, colour="#000000"),),
    )
    pair = drawing(box(0, 0, 50, 30), box(50, 0, 40, 30))
    holes = tuple(
        Stroke(operation=Operation.CUT, path=circle((x, 15), 8.0), part=i, inner=True)
        for i, x in enumerate((20, 70))
    )
    shared = common_lines(replace(pair, strokes=(*pair.strokes, *holes)))
    done = in_sequence(shared, laser, form=Format.SVG).drawing.strokes
    assert [s.inner for s in done] == [True, True, False, False]
    assert all(s.role is Role.SHARED for s in done[2:])
