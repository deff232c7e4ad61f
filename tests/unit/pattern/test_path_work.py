"""What is asked of an outline of thousands of corners again and again is reckoned once."""

from __future__ import annotations

import pickle

import pytest

from nesting.marker.figures import figures
from nesting.marker.lay import Lay, Part, Strip
from nesting.marker.marker import Marker, Placement
from nesting.pattern import measure
from nesting.pattern.affine import Affine, Point
from nesting.pattern.curves import Arc, Line, Segment
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece

CORNERS = ((0.0, 0.0), (90.0, 1.0), (80.0, 70.0), (40.0, 95.0), (3.0, 60.0))


class Counted(tuple[Segment, ...]):
    """Segments that count how often they are hashed."""

    times = 0

    def __hash__(self) -> int:
        Counted.times += 1
        return super().__hash__()


def test_a_path_is_hashed_once() -> None:
    plain = Path.polyline(CORNERS, closed=True)
    path = Path(Counted(plain.segments))
    Counted.times = 0
    assert len({hash(path) for _ in range(5)}) == 1
    assert {plain: 1}[path] == 1
    assert Counted.times == 1


def test_a_hashed_path_is_the_same_elsewhere() -> None:
    path = Path.polyline(CORNERS, closed=True)
    before = pickle.dumps(path)
    hash(path)
    assert pickle.dumps(path) == before
    assert hash(pickle.loads(before)) == hash(path)


def test_a_corner_is_mapped_once(monkeypatch: pytest.MonkeyPatch) -> None:
    mapped: list[Point] = []
    plain = Affine.__call__

    def counted(by: Affine, point: Point) -> Point:
        mapped.append(point)
        return plain(by, point)

    by = Affine.turn(33.0).after(Affine.move(5.0, 7.0))
    # Lines that share no corner, and an arc between lines.
    arc = Arc((10.0, 0.0), (5.0, 0.0), (0.0, 5.0), 3.1, -3.1)
    mixed = Path(
        (
            Line((0.0, 0.0), (5.0, 0.0)),
            arc,
            Line((15.0, 0.0), (9.0, 9.0)),
            *(Line((float(x), 9.0), (float(x) + 1.0, 9.0)) for x in (9, 10)),
        )
    )
    assert mixed.transformed(by) == Path(tuple(s.transformed(by) for s in mixed.segments))
    path = Path.polyline(CORNERS, closed=True)
    alone = Path(tuple(segment.transformed(by) for segment in path.segments))
    monkeypatch.setattr(Affine, "__call__", counted)
    assert path.transformed(by) == alone
    assert len(mapped) == len(CORNERS) + 1


def test_an_area_is_summed_once(monkeypatch: pytest.MonkeyPatch) -> None:
    path = Path.polyline([(x, y + 0.125) for x, y in CORNERS], closed=True)
    measure.area(path)
    monkeypatch.delattr(measure, "_swept")
    assert measure.area(path) == pytest.approx(6567.5)  # by the shoelace formula


def test_how_far_a_part_reaches_is_looked_for_once(monkeypatch: pytest.MonkeyPatch) -> None:
    piece = Piece(name="leaf", cut=Path.polyline([(x, y + 0.25) for x, y in CORNERS], closed=True))
    lay = Lay(name="lay", parts=(Part(name="leaf", piece=piece),), stock=Strip(width=200.0))
    marker = Marker(lay=lay, placements=(Placement(part=0, x=11.0, y=0.0),))
    first = figures(marker)
    monkeypatch.delattr(Path, "transformed")
    assert figures(marker) == first
    assert first.length == 101.0
