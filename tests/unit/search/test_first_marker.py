"""The first marker: where there are too many pairs of convex parts, and in a close hole."""

from __future__ import annotations

import math

import pytest
import shapely

from nesting.marker.check import check
from nesting.marker.figures import figures
from nesting.marker.lay import Lay, Part, Sheet, Sheets, Strip, Turns
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import circle, rectangle
from nesting.search import problem as made
from nesting.search.result import Limits
from nesting.search.solve import search


def _stars(count: int) -> tuple[Part, ...]:
    parts = []
    for n in range(count):
        corners = 5 + n % 4
        ring = [
            (
                (60.0 if k % 2 else 25.0 + n) * math.cos(math.pi * k / corners),
                (60.0 if k % 2 else 25.0 + n) * math.sin(math.pi * k / corners),
            )
            for k in range(2 * corners)
        ]
        piece = Piece(name=f"star {n}", cut=Path.polyline(ring, closed=True))
        parts.append(Part(name=piece.name, piece=piece, turns=Turns(angles=(0.0, 90.0))))
    return tuple(parts)


@pytest.mark.parametrize(
    "stock",
    [
        Strip(width=300.0),
        Sheets(sheets=(Sheet(name="board", outline=rectangle(400.0, 300.0), count=4),)),
    ],
)
def test_hulls_give_a_first_marker_that_the_search_goes_on_from(
    stock: Strip | Sheets, monkeypatch: pytest.MonkeyPatch
) -> None:
    lay = Lay(name="stars", parts=_stars(12), stock=stock, spacing=2.0)
    exact, _ = made.prepare(lay)
    assert min(len(o.parts) for o in exact.coarse) > 3
    monkeypatch.setattr(made, "MANY_PAIRS", 0.0)
    first = search(lay, limits=Limits(rounds=0), workers=1)
    later = search(lay, limits=Limits(rounds=3), workers=1)
    for result in (first, later):
        assert not result.unplaced
        assert not check(result.marker)
    assert len(later.marker.sheets) <= len(first.marker.sheets)
    start = made.first_marker(exact, stop=lambda: False)
    assert start.world.overlap() <= 0.0
    # hulls do not overlap, so that no star reaches between another's points
    hulls = [o.hull for o in exact.coarse]
    if isinstance(stock, Strip):
        used = start.world.used_length(start.layout)
        assert used * stock.width > sum(hulls)
        assert later.history[-1][1] < first.history[-1][1]


def test_a_disc_finds_the_hole_that_it_just_fits_into() -> None:
    # 57 mm in a hole of 60 mm, 1 mm apart: half a millimetre to move in each way.
    hole = circle(60.0, centre=(50.0, 50.0)).reversed()
    ring = Piece(name="ring", cut=circle(100.0), holes=(hole,))
    parts = (
        Part(name="ring", piece=ring),
        Part(name="disc", piece=Piece(name="disc", cut=circle(57.0))),
    )
    lay = Lay(name="hole", parts=parts, stock=Strip(width=102.0), spacing=1.0)
    result = search(lay, limits=Limits(seconds=None, rounds=5), workers=1)
    assert figures(result.marker).length == pytest.approx(100.0)
    assert not check(result.marker)


@pytest.mark.parametrize("sizes", [((157, 60), (57, None)), ((157, 120), (117, 80), (77, None))])
def test_rings_find_the_holes_of_rings_that_they_just_fit_into(
    sizes: tuple[tuple[float, float | None], ...],
) -> None:
    # Each lies in a hole that is 3 mm wider than it, 1 mm apart.
    parts = []
    for size, width in ((200.0, 160.0), *sizes):
        middle = (size / 2, size / 2)
        holes = () if width is None else (circle(width, centre=middle).reversed(),)
        piece = Piece(name=f"{size}", cut=circle(size), holes=holes)
        parts.append(Part(name=f"{size}", piece=piece))
    lay = Lay(name="rings", parts=tuple(parts), stock=Strip(width=202.0), spacing=1.0)
    result = search(lay, limits=Limits(seconds=None, rounds=20), workers=1)
    assert figures(result.marker).length == pytest.approx(200.0)
    assert not check(result.marker)


def test_only_what_nearly_fills_a_hole_is_kept_from_being_coarser() -> None:
    hole = circle(160.0, centre=(100.0, 100.0)).reversed()
    ring = Piece(name="ring", cut=circle(200.0), holes=(hole,))
    guests = [Piece(name=f"{d}", cut=star(d / 2)) for d in (157.0, 100.0, 161.0)]
    parts = tuple(Part(name=piece.name, piece=piece) for piece in (ring, *guests))
    problem, _ = made.prepare(Lay(name="hole", parts=parts, stock=Strip(width=202.0)))
    same = [c is f for c, f in zip(problem.coarse, problem.fine, strict=True)]
    assert same == [False, True, False, False]


def test_beside_many_convex_parts_all_outlines_but_simple_ones_are_coarse() -> None:
    """A disc stays as it is, a disc with six tabs does not, unless nothing has many parts."""
    disc = shapely.Point(0, 0).buffer(300.0, quad_segs=16)
    tabbed = shapely.union_all(
        [disc, *(shapely.box(80 * n, 150, 80 * n + 5, 340) for n in range(-3, 3))]
    )
    rings = (disc, tabbed)
    paths = [Path.polyline(list(ring.exterior.coords[:-1]), closed=True) for ring in rings]
    parts = tuple(Part(name=str(n), piece=Piece(name=str(n), cut=p)) for n, p in enumerate(paths))
    stock = Strip(width=800.0)
    alone, _ = made.prepare(Lay(name="alone", parts=parts, stock=stock))
    assert alone.coarse is alone.fine
    assert made.SOME_PARTS < len(alone.fine[1].parts) <= made.MANY_PARTS
    more = (*parts, Part(name="star", piece=Piece(name="star", cut=star(100.0))))
    beside, _ = made.prepare(Lay(name="beside", parts=more, stock=stock))
    assert [c is f for c, f in zip(beside.coarse, beside.fine, strict=True)] == [True, False, False]


def star(radius: float) -> Path:
    """Return a star of 24 points about a circle's middle (mm)."""
    turns = [math.pi * n / 24 for n in range(48)]
    reach = [radius if n % 2 == 0 else 0.8 * radius for n in range(48)]
    corners = [(r * math.cos(a), r * math.sin(a)) for r, a in zip(reach, turns, strict=True)]
    return Path.polyline(corners, closed=True)
