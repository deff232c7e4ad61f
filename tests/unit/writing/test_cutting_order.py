import math
import random
from itertools import pairwise

import pytest
from shapely import Polygon

from nesting.pattern.measure import length
from nesting.pattern.path import Line, Path
from nesting.writing.machines.contour import circle, corners
from nesting.writing.machines.entry import chosen, ways
from nesting.writing.machines.formats import Format
from nesting.writing.machines.machine import Kind, Machine, Tool
from nesting.writing.machines.sequence import in_sequence, travel
from nesting.writing.machines.sequence_route import route
from nesting.writing.neutral.drawing import Drawing, Operation, Stroke


def machine(*operations, same=True, **more):
    return Machine(
        name="t",
        kind=Kind.LASER,
        reads=(Format.SVG,),
        bed_length=2000.0,
        bed_width=2000.0,
        tools=tuple(
            Tool(
                operation=operation,
                name="laser",
                layer="1" if same else operation.value,
                pen=1,
                colour="#000000",
            )
            for operation in operations
        ),
        **more,
    )


ALL = (Operation.CUT, Operation.NOTCH, Operation.DRILL, Operation.MARK)


def box(x, y, w, h):
    return Path.polyline([(x, y), (x + w, y), (x + w, y + h), (x, y + h)], closed=True)


def cut(path, part, *, inner=False):
    return Stroke(operation=Operation.CUT, path=path, part=part, inner=inner)


def notch(x, y, part):
    return Stroke(operation=Operation.NOTCH, path=Path((Line((x, y), (x, y + 4)),)), part=part)


def drawing(strokes):
    return Drawing(name="t", length=2000.0, width=2000.0, strokes=tuple(strokes))


def scattered(n, seed=3):
    rng = random.Random(seed)
    cells = [(i % 10, i // 10) for i in range(n)]
    rng.shuffle(cells)
    strokes = []
    for part, (column, row) in enumerate(cells):
        x, y = 100.0 * column, 100.0 * row
        strokes += [
            cut(box(x, y, 80.0, 60.0), part),
            cut(circle((x + 30, y + 30), 20.0), part, inner=True),
            notch(x + 60, y, part),
        ]
    return strokes


def place(done, part, *, inner=None, operation=Operation.CUT):
    return [
        i
        for i, s in enumerate(done)
        if s.part == part and s.operation is operation and inner in (None, s.inner)
    ]


def test_all_that_is_inside_comes_before_the_outline():
    strokes = scattered(30)
    done = in_sequence(drawing(strokes), machine(*ALL), form=Format.SVG).drawing.strokes
    assert len(done) == len(strokes)
    for part in range(30):
        (outline,) = place(done, part, inner=False)
        assert all(i < outline for i in place(done, part, inner=True))
        assert all(i < outline for i in place(done, part, operation=Operation.NOTCH))


def test_a_part_in_anothers_cut_out_comes_before_the_cut_out_and_so_on_inwards():
    strokes = [
        cut(box(0, 0, 400, 400), 0),
        cut(box(50, 50, 300, 300).reversed(), 0, inner=True),
        cut(box(100, 100, 200, 200), 1),
        cut(circle((200, 200), 100.0), 1, inner=True),
        cut(box(180, 180, 20, 20), 2),
    ]
    done = in_sequence(drawing(strokes), machine(*ALL), form=Format.SVG).drawing.strokes
    assert [(s.part, s.inner) for s in done] == [
        (2, False),
        (1, True),
        (1, False),
        (0, True),
        (0, False),
    ]


def test_what_a_file_asks_for_apart_is_done_apart_marking_first():
    strokes = scattered(12)
    apart = machine(*ALL, same=False)
    done = in_sequence(drawing(strokes), apart, form=Format.SVG).drawing.strokes
    operations = [s.operation for s in done]
    assert operations == sorted(operations, key=[Operation.NOTCH, Operation.CUT].index)
    # The same pen in HP-GL: part by part.
    mixed = in_sequence(drawing(strokes), apart, form=Format.HPGL).drawing.strokes
    assert [s.operation for s in mixed] != operations


def test_nothing_is_lost_or_bent():
    strokes = scattered(20)
    done = in_sequence(drawing(strokes), machine(*ALL), form=Format.SVG).drawing.strokes
    key = lambda s: (s.part, s.operation, s.inner)  # noqa: E731
    for old, new in zip(sorted(strokes, key=key), sorted(done, key=key), strict=True):
        assert length(new.path) == pytest.approx(length(old.path), rel=1e-12)
        assert new.path.closed == old.path.closed
        if old.path.closed:
            rings = [Polygon(s.path.points(1e-4)) for s in (old, new)]
            assert rings[0].symmetric_difference(rings[1]).area < 0.05


def test_contours_are_entered_away_from_corners_and_notches():
    done = in_sequence(drawing(scattered(30)), machine(*ALL), form=Format.SVG).drawing.strokes
    feet = [s.path.start for s in done if s.operation is Operation.NOTCH]
    feet += [s.path.end for s in done if s.operation is Operation.NOTCH]
    entered = 0
    for stroke in done:
        if stroke.operation is Operation.CUT and not stroke.inner:
            sharp = [stroke.path.segments[i].start for i, _ in corners(stroke.path)]
            assert len(sharp) == 4
            assert min(math.dist(stroke.path.start, p) for p in sharp + feet) >= 5.0 - 1e-9
            entered += 1
    assert entered == 30


def test_a_small_contour_is_entered_as_far_from_its_corners_as_can_be():
    (way,) = ways(box(0, 0, 4, 4))
    assert min(math.dist(way.start, p) for p in [(0, 0), (4, 0), (4, 4), (0, 4)]) == 2.0


def test_travel_is_what_it_says_and_a_fifth_less_at_least():
    result = in_sequence(
        drawing(scattered(100)),
        machine(*ALL, travel_speed=100.0, cutting_speed=10.0),
        form=Format.SVG,
    )
    strokes = result.drawing.strokes
    moved, at = 0.0, (0.0, 0.0)
    for stroke in strokes:
        moved += math.dist(at, stroke.path.start)
        at = stroke.path.end
    assert result.travel_after == pytest.approx(moved)
    assert result.travel_before == pytest.approx(travel(scattered(100)))
    assert result.travel_after < 0.8 * result.travel_before
    assert result.lifts == 300
    run = sum(length(s.path) for s in strokes)
    assert result.run == pytest.approx(run)
    assert result.seconds == pytest.approx(moved / 100.0 + run / 10.0)


def test_no_speeds_no_time():
    assert in_sequence(drawing(scattered(3)), machine(*ALL), form=Format.SVG).seconds is None


def test_the_same_every_time():
    one, two = (
        in_sequence(drawing(scattered(80)), machine(*ALL), form=Format.SVG, rounds=1)
        for _ in range(2)
    )
    assert one == two


def test_route_finds_the_way_along_a_line_and_round_a_ring():
    points = [(float(x), 0.0) for x in (5, 1, 4, 2, 3)]
    assert [points[i][0] for i in route(points, points, start=(0.0, 0.0))] == [1, 2, 3, 4, 5]
    ring = [(math.cos(i * 0.7) * 100, math.sin(i * 0.7) * 100) for i in range(9)]
    order = route(ring, ring, start=ring[0])
    steps = sum(math.dist(ring[a], ring[b]) for a, b in pairwise(order))
    assert steps < 620.0
    assert sorted(route(ring, ring)) == list(range(9))
    assert route([], []) == []
    assert sorted(route(ring * 20, ring * 20, rounds=1)) == list(range(180))


def test_the_choice_of_ways_is_the_best_of_all():
    rng = random.Random(1)
    paths = [box(rng.uniform(0, 300), rng.uniform(0, 300), 30, 30) for _ in range(3)]
    paths.append(Path((Line((0, 0), (50, 70)),)))
    choices = [ways(path)[:4] for path in paths]

    def cost(picked):
        at, total = (0.0, 0.0), 0.0
        for way in picked:
            total += math.dist(at, way.start)
            at = way.end
        return total

    from itertools import product

    best = min(cost(picked) for picked in product(*choices))
    assert cost(chosen(choices, start=(0.0, 0.0))) == pytest.approx(best)
