"""Rectangles on a strip: found, proven, judged by geometry of their own."""

from __future__ import annotations

import random
import signal
import threading
import time

import pytest
import shapely

from nesting.marker.figures import figures
from nesting.marker.lay import Binding, Edge, Lattice, Lay, Part, Sheet, Sheets, Strip, Turns
from nesting.marker.marker import Marker, Placement
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.pattern.polygon import piece_polygon
from nesting.search.rectangles.boxes import is_rectangular
from nesting.search.rectangles.course import pack
from nesting.search.result import Progress, Result, Stopped

RIGHT = Turns(angles=(0.0, 90.0, 180.0, 270.0))


def piece(points: list[tuple[float, float]]) -> Piece:
    return Piece(name="p", cut=Path.polyline(points, closed=True))


def rectangle(length: float, height: float, at: tuple[float, float] = (0.0, 0.0)) -> Piece:
    x, y = at
    return piece([(x, y), (x + length, y), (x + length, y + height), (x, y + height)])


def lay_of(
    sizes: list[tuple[float, float]],
    width: float,
    *,
    turns: Turns | None = None,
    spacing: float = 0.0,
    longest: float | None = None,
) -> Lay:
    parts = tuple(
        Part(name=str(i), piece=rectangle(*size), turns=turns or Turns())
        for i, size in enumerate(sizes)
    )
    return Lay(name="lay", parts=parts, stock=Strip(width=width, longest=longest), spacing=spacing)


def cut_up(seed: int, *, length: int, width: int, parts: int) -> list[tuple[float, float]]:
    """Return the sizes of rectangles that a length × width rectangle was cut into."""
    rng = random.Random(seed)
    pieces = [(length, width)]
    while len(pieces) < parts:
        pieces.sort(key=lambda p: p[0] * p[1])
        a, b = pieces.pop()
        if a * rng.random() > b * rng.random() and a > 3:
            k = rng.randint(1, a - 1)
            pieces += [(k, b), (a - k, b)]
        else:
            k = rng.randint(1, b - 1)
            pieces += [(a, k), (a, b - k)]
    rng.shuffle(pieces)
    return [(float(a), float(b)) for a, b in pieces]


def judge(marker: Marker, *, near: float = 1e-9) -> None:
    """Assert that nothing overlaps, comes nearer than the spacing or leaves the strip."""
    lay = marker.lay
    assert isinstance(lay.stock, Strip)
    placed = [piece_polygon(lay.parts[p.part].piece, by=p.affine) for p in marker.placements]
    for p in marker.placements:
        assert p.angle in lay.parts[p.part].turns.angles
    size = max((max(*area.bounds) for area in placed), default=0.0)
    for area in placed:
        x0, y0, _, y1 = area.bounds
        assert min(x0, y0) >= -near * size
        assert y1 <= lay.stock.width + near * size
    tree = shapely.STRtree(placed)
    for i, area in enumerate(placed):
        around = tree.query(area.buffer(lay.spacing + 1e-6 * size))
        for j in around:
            if i < j:
                other = placed[int(j)]
                assert area.intersection(other).area <= near * size * size
                if lay.spacing:
                    assert area.distance(other) >= lay.spacing - near * size


def solved(result: Result, *, length: float) -> None:
    judge(result.marker)
    assert len(result.marker.placements) == len(result.marker.lay.parts)
    assert figures(result.marker).length == pytest.approx(length, rel=1e-9)
    assert result.bound.value == pytest.approx(length, rel=1e-9)
    assert result.stopped is Stopped.OPTIMAL


# --- which lays -----------------------------------------------------------------------


def one(part: Part) -> Lay:
    return Lay(name="one", parts=(part,), stock=Strip(width=100))


@pytest.mark.parametrize(
    "part",
    [
        Part(name="plain", piece=rectangle(10, 20)),
        Part(name="turned", piece=rectangle(10, 20, (-5, 7)), turns=RIGHT),
        Part(name="face down", piece=rectangle(10, 20), flip=True),
        Part(name="point", piece=piece([(0, 0), (5, 0), (10, 0), (10, 20), (0, 20)])),
        Part(
            name="diamond",
            piece=piece([(0, 0), (10, 10), (0, 20), (-10, 10)]),
            turns=Turns(angles=(45.0, 135.0)),
        ),
        Part(name="alone in its group", piece=rectangle(10, 20), turn_group="pair"),
    ],
    ids=lambda part: part.name,
)
def test_rectangular(part: Part) -> None:
    assert is_rectangular(one(part))


@pytest.mark.parametrize(
    "part",
    [
        Part(name="triangle", piece=piece([(0, 0), (10, 0), (0, 20)])),
        Part(
            name="corner missing",
            piece=piece([(0, 0), (10, 0), (10, 18), (8, 18), (8, 20), (0, 20)]),
        ),
        Part(name="diamond", piece=piece([(0, 0), (10, 10), (0, 20), (-10, 10)])),
        Part(name="any turn", piece=rectangle(10, 20), turns=Turns(slack=180)),
        Part(name="skew", piece=rectangle(10, 20), turns=Turns(angles=(0, 30))),
        Part(
            name="bound to a print",
            piece=rectangle(10, 20),
            binding=Binding(anchor=(0, 0), lattice=Lattice(along=30)),
        ),
        Part(name="on the fold", piece=rectangle(10, 20), edge=Edge.LOW),
        Part(name="grade", piece=rectangle(10, 20), region="best"),
        Part(name="mates", piece=rectangle(10, 20), mates="pair"),
        Part(name="group", piece=rectangle(10, 20), turns=RIGHT, turn_group="pair"),
        Part(
            name="frame",
            piece=Piece(
                name="frame",
                cut=rectangle(10, 20).cut,
                holes=(rectangle(2, 2, (4, 4)).cut.reversed(),),
            ),
        ),
    ],
    ids=lambda part: part.name,
)
def test_not_rectangular(part: Part) -> None:
    assert not is_rectangular(one(part))


def test_sheets_and_empty_lays_are_not_for_this_search() -> None:
    sheet = Sheet(name="s", outline=rectangle(100, 100).cut)
    part = Part(name="p", piece=rectangle(10, 10))
    assert not is_rectangular(Lay(name="s", parts=(part,), stock=Sheets(sheets=(sheet,))))
    assert not is_rectangular(Lay(name="e", parts=(), stock=Strip(width=10)))


# --- what it finds --------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(6))
def test_what_was_cut_up_is_put_together(seed: int) -> None:
    lay = lay_of(cut_up(seed, length=160, width=120, parts=18), 120)
    solved(pack(lay, seconds=300, seed=seed), length=160)


def test_turning_may_be_needed() -> None:
    # 2 × 1 dominoes on a strip of 3: the 3 × 2 strip needs one turned.
    lay = lay_of([(2, 1)] * 3, 3, turns=RIGHT)
    solved(pack(lay, seconds=300), length=2)
    solved(pack(lay_of([(2.0, 3.0), (7.0, 1.0)], 4, turns=RIGHT), seconds=300), length=7)


def test_the_optimum_above_the_area_is_proven() -> None:
    # Squares of 5, 4, 4 and 3 on a strip of 8: areas need 8.25; the 5 and a 4 can't lie
    # side by side, 5 beside 3 and 4 beside 4 give 9.
    lay = lay_of([(5, 5), (4, 4), (4, 4), (3, 3)], 8)
    solved(pack(lay, seconds=300), length=9)


def test_three_across() -> None:
    solved(pack(lay_of([(100, 60)] * 7, 200), seconds=300), length=300)


def test_inches_and_eighths_are_exact() -> None:
    # 112 of 3 7/8 × 7 3/4 in on 42 in: 5 across, 23 rows.
    inch = 25.4
    lay = lay_of([(3.875 * inch, 7.75 * inch)] * 112, 42 * inch)
    solved(pack(lay, seconds=300), length=23 * 3.875 * inch)


@pytest.mark.parametrize("scale", [1e-3, 1.0, 1e4, 1 / 3, 0.1234567])
def test_any_size_of_things(scale: float) -> None:
    sizes = [(a * scale, b * scale) for a, b in cut_up(3, length=60, width=40, parts=12)]
    result = pack(lay_of(sizes, 40 * scale), seconds=20)
    judge(result.marker)
    assert figures(result.marker).length == pytest.approx(60 * scale, rel=1e-6)
    assert result.bound.value <= 60 * scale * (1 + 1e-9)


def test_sizes_without_a_common_measure() -> None:
    # Three columns that fill the width to the last digit, of sizes that have no unit.
    a, b, c = 2**0.5 * 100, 3**0.5 * 50, 7**0.5 * 40
    columns = [(30 * 5**0.5, h) for h in (a, b, c)] + [(10 * 11**0.5, h) for h in (a, b, c)]
    result = pack(lay_of(columns, a + b + c), seconds=3)
    length = 30 * 5**0.5 + 10 * 11**0.5
    assert figures(result.marker).length == pytest.approx(length, rel=1e-7)
    judge(result.marker, near=1e-6)
    assert result.bound.value <= length * (1 + 1e-9)


def test_pieces_keep_their_own_coordinates() -> None:
    parts = tuple(
        Part(name=str(i), piece=rectangle(30, 20, (-100 * i, 55)), turns=Turns(angles=(180.0,)))
        for i in range(4)
    )
    lay = Lay(name="far", parts=parts, stock=Strip(width=40))
    solved(pack(lay, seconds=300), length=60)


def test_spacing_is_exact() -> None:
    lay = lay_of([(30, 20)] * 6, 45, spacing=5)
    result = pack(lay, seconds=10)
    judge(result.marker)
    assert figures(result.marker).length == pytest.approx(100)
    assert result.bound.value <= 100 * (1 + 1e-9)


def test_spacing_may_be_proven_by_boxes_grown_less() -> None:
    # Six 30 × 20 in two rows of three on 45, and one more row needed by the seventh.
    lay = lay_of([(30, 20)] * 7, 45, spacing=5)
    result = pack(lay, seconds=20)
    solved(result, length=30 * 4 + 5 * 3)


def test_with_spacing_the_bound_stays_below_what_corners_allow() -> None:
    # Two long and two square boxes: their corners face each other across the gap.
    lay = lay_of([(50, 20), (50, 20), (20, 20), (20, 20), (33, 9)], 52, spacing=8)
    result = pack(lay, seconds=6)
    judge(result.marker)
    assert result.bound.value <= figures(result.marker).length * (1 + 1e-9)


def test_parts_that_do_not_fit_leave_the_bound_alone() -> None:
    result = pack(lay_of([(100, 101), (10, 50), (10, 50)], 100), seconds=5)
    assert figures(result.marker).length == pytest.approx(10)
    assert result.bound.value <= 10


def test_large_lays_come_close() -> None:
    lay = lay_of(cut_up(5, length=400, width=300, parts=120), 300)
    result = pack(lay, rounds=12)
    judge(result.marker)
    assert figures(result.marker).length <= 400 * 1.03


# --- how it ends ----------------------------------------------------------------------


def test_rounds_give_the_same_marker_again() -> None:
    lay = lay_of(cut_up(11, length=97, width=83, parts=30), 83, turns=RIGHT)
    first, second = (pack(lay, seconds=None, rounds=9, seed=4) for _ in range(2))
    assert first.marker == second.marker
    assert first.rounds == second.rounds <= 9 + 8


def test_one_worker_finds_and_proves_too() -> None:
    solved(pack(lay_of([(5, 5), (4, 4), (4, 4), (3, 3)], 8), seconds=300, workers=1), length=9)


def test_too_wide_parts_are_told_and_the_rest_laid() -> None:
    result = pack(lay_of([(10, 20), (10, 101), (101, 10)], 100), seconds=5)
    assert [u.part for u in result.unplaced] == [1]
    assert [p.part for p in result.marker.placements] == [0, 2]
    assert result.stopped is Stopped.INFEASIBLE
    judge(result.marker)


def test_nothing_fits() -> None:
    result = pack(lay_of([(10, 101)], 100), seconds=5)
    assert result.marker.placements == ()
    assert result.stopped is Stopped.INFEASIBLE
    assert "wider" in result.unplaced[0].why


def test_the_longest_marker_allowed() -> None:
    result = pack(lay_of([(50, 100)] * 3, 100, longest=100), seconds=5)
    assert len(result.marker.placements) == 2
    assert len(result.unplaced) == 1
    assert result.stopped is Stopped.INFEASIBLE
    assert figures(result.marker).length <= 100


def test_no_time_still_gives_a_marker() -> None:
    result = pack(lay_of(cut_up(2, length=200, width=200, parts=60), 200), seconds=0)
    judge(result.marker)
    assert len(result.marker.placements) == 60
    assert result.stopped in (Stopped.TIME, Stopped.OPTIMAL)


def test_a_hint_is_never_made_worse() -> None:
    sizes = cut_up(8, length=300, width=200, parts=70)
    good = pack(lay_of(sizes, 200), rounds=15)
    again = pack(lay_of(sizes, 200), seconds=0, hint=good.marker)
    assert figures(again.marker).length <= figures(good.marker).length


def test_a_bad_hint_is_ignored() -> None:
    lay = lay_of([(50, 50)] * 4, 100)
    heap = Marker(lay=lay, placements=tuple(Placement(part=i, x=0, y=0) for i in range(4)))
    solved(pack(lay, seconds=300, hint=heap), length=100)


def test_stop_ends_it_soon() -> None:
    # Random sizes: the area is out of reach, so that there is always more to try.
    rng = random.Random(1)
    sizes = [(float(rng.randint(20, 60)), float(rng.randint(20, 60))) for _ in range(30)]
    ended = threading.Event()
    threading.Timer(1.0, ended.set).start()
    begin = time.monotonic()
    result = pack(lay_of(sizes, 173), seconds=60, stop=ended.is_set)
    assert time.monotonic() - begin < 20
    judge(result.marker)
    assert result.stopped in (Stopped.INTERRUPTED, Stopped.OPTIMAL)


def test_ctrl_c_returns_the_best_so_far() -> None:
    # Where tests run in the background, a shell may have them ignore Ctrl-C.
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    rng = random.Random(2)
    sizes = [(float(rng.randint(20, 60)), float(rng.randint(20, 60))) for _ in range(60)]
    pressing = threading.Timer(0.5, lambda: signal.raise_signal(signal.SIGINT))

    def press_soon(progress: Progress) -> None:
        if not pressing.is_alive() and not pressing.finished.is_set():
            pressing.start()

    try:
        result = pack(lay_of(sizes, 173), seconds=60, observer=press_soon)
    finally:
        signal.signal(signal.SIGINT, before)
    assert result.stopped is Stopped.INTERRUPTED
    assert len(result.marker.placements) == 60
    judge(result.marker)


def test_the_observer_sees_it_get_better() -> None:
    seen: list[Progress] = []
    lay = lay_of(cut_up(9, length=200, width=150, parts=50), 150)
    result = pack(lay, rounds=8, observer=seen.append)
    assert seen
    assert {p.lay for p in seen} == {lay.name}
    lengths = [p.length for p in seen]
    assert lengths == sorted(lengths, reverse=True)
    assert lengths[-1] == pytest.approx(figures(result.marker).length)
    assert seen[-1].density == pytest.approx(figures(result.marker).efficiency)
    assert all(p.bound.value <= p.length for p in seen)


def test_the_observer_is_told_how_full_the_whole_width_is() -> None:
    seen: list[Progress] = []
    # Three boxes of 100 by 300 on 480: 90,000 of the 144,000 mm² of 300 mm.
    lay = lay_of([(100, 300)] * 3, 480)
    pack(lay, rounds=1, observer=seen.append)
    assert seen[-1].length == pytest.approx(300)
    assert seen[-1].density == pytest.approx(0.625)
