"""Parts that interlock are found by contact, searched as one, and parted again."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import Polygon

from nesting.marker.check import check
from nesting.marker.figures import figures
from nesting.marker.lay import Binding, Edge, Lattice, Lay, Part, Sheet, Sheets, Strip, Turns
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import circle, rectangle
from nesting.search import problem as made
from nesting.search.prepared.forms import Shape
from nesting.search.result import Limits
from nesting.search.shortening import News
from nesting.search.solve import search
from nesting.search.starting import clusters
from nesting.search.starting.clusters import laid_as_one
from nesting.search.starting.contact import Body, Member, joined

HALF = Turns(angles=(0.0, 180.0))


def comb(teeth: int, gap: float) -> Path:
    """Draw a comb of teeth of 10 × 30 mm on a back of 10 mm."""
    ring = [(0.0, 0.0), ((teeth - 1) * (10.0 + gap) + 10.0, 0.0)]
    for k in reversed(range(teeth)):
        x = k * (10.0 + gap)
        ring += [(x + 10.0, 40.0), (x, 40.0)]
        ring += [(x, 10.0), (x - gap, 10.0)] if k else []
    return Path.polyline(ring, closed=True)


def combs(count: int, gap: float = 10.5, turns: Turns = HALF, **rules: object) -> Lay:
    piece = Piece(name="comb", cut=comb(5, gap))
    parts = tuple(Part(name=f"comb {n}", piece=piece, turns=turns, **rules) for n in range(count))
    return Lay(name="combs", parts=parts, stock=Strip(width=200.0))


def tried(lay: Lay, positions: int = 100_000) -> tuple[float, News | None]:
    """Return the length of the first marker, and what comes of clusters."""
    problem, _ = made.prepare(lay)
    first = made.first_marker(problem, stop=lambda: False)
    length = first.world.used_length(first.layout)
    return length, laid_as_one(problem, first, positions, seed=1, stop=lambda: False)[0]


def body(path: Path, turn: float) -> Body:
    """Return a body of one outline, in convex parts."""
    ring = np.array(path.points(0.05))
    triangles = shapely.constrained_delaunay_triangles(Polygon(ring)).geoms
    parts = tuple(np.array(shapely.normalize(one).exterior.coords)[:-1] for one in triangles)
    one = Body((Member(0, 0.0, False, (0.0, 0.0)),), parts, parts, ring, Polygon(ring).area)
    return one.put(Shape(0, turn, False), np.zeros(2))


@pytest.mark.parametrize(("gap", "box"), [(10.0, 100.0 * 50.0), (12.0, 108.0 * 50.0)])
def test_combs_are_pushed_into_each_other_to_the_root(gap: float, box: float) -> None:
    # Five teeth and five gaps by turns, and both backs: as long as ten teeth, 50 mm high.
    one, two = body(comb(5, gap), 0.0), body(comb(5, gap), 180.0)
    found = joined(one, two)
    assert found is not None
    both = one.beside(two.put(Shape(0, 0.0, False), found[1]))
    assert np.prod(np.ptp(both.ring, axis=0)) == pytest.approx(box, rel=1e-5)
    union = shapely.union_all([Polygon(part) for part in both.parts])
    assert union.area == pytest.approx(one.area + two.area, rel=1e-4)


def test_members_go_where_their_bodies_go() -> None:
    one = body(comb(3, 10.0), 0.0)
    two = one.put(Shape(0, 180.0, False), np.array([100.0, 50.0]))
    both = one.beside(two).put(Shape(0, 90.0, True), np.array([7.0, -3.0]))
    there = [
        one.put(Shape(0, member.angle, member.flipped), np.array(member.at)).ring
        for member in both.members
    ]
    corners = [sorted(map(tuple, np.round(ring, 6) + 0.0)) for ring in (both.ring, *there)]
    assert corners[0] == sorted(corners[1] + corners[2])


def test_combs_searched_as_one_need_far_less_than_each_alone() -> None:
    # Twelve pairs of 101 × 50 mm; 342 to 362 mm by single combs at as many rounds (seeds 1 to 3).
    lay = combs(24)
    results = [search(lay, limits=Limits(seconds=None, rounds=20), workers=1) for _ in range(2)]
    assert figures(results[0].marker).length == pytest.approx(306.0, abs=0.01)
    assert not check(results[0].marker)
    assert results[0].marker == results[1].marker
    assert not results[0].unplaced


@pytest.mark.parametrize(("spacing", "width"), [(0.0, 202.0), (0.2, 210.0)])
def test_what_is_laid_as_one_keeps_the_spacing_and_every_part(spacing: float, width: float) -> None:
    lay = replace(combs(17, gap=10.8), spacing=spacing, stock=Strip(width=width))
    length, news = tried(lay)
    assert news is not None
    assert news.score[1] < length
    problem, _ = made.prepare(lay)
    world = problem.world(problem.boards(1), fine=False)
    assert world.load(news.layout)
    assert world.overlap() <= 0.0
    assert (news.layout.sheet == 0).all()
    assert world.used_length(news.layout) == pytest.approx(news.score[1])


def test_what_may_not_turn_is_not_turned_into_each_other() -> None:
    assert tried(combs(8))[1] is not None
    assert tried(combs(8, turns=Turns()))[1] is None
    # What may be laid face down needs no turn.
    lying = Piece(name="comb", cut=comb(5, 10.5))
    parts = tuple(Part(name=f"{n}", piece=lying, flip=True) for n in range(8))
    _, news = tried(Lay(name="combs", parts=parts, stock=Strip(width=200.0)))
    assert news is not None


def test_discs_join_the_rings_that_hold_them() -> None:
    hole = circle(60.0, centre=(50.0, 50.0)).reversed()
    ring = Piece(name="ring", cut=circle(100.0), holes=(hole,))
    disc = Piece(name="disc", cut=circle(57.0))
    pieces = [ring] * 2 + [disc] * 2
    parts = tuple(Part(name=f"{n}", piece=piece) for n, piece in enumerate(pieces))
    lay = Lay(name="rings", parts=parts, stock=Strip(width=130.0), spacing=1.0)
    problem, _ = made.prepare(lay)
    world = problem.world(problem.boards(1), fine=False)
    apart = made.Start(world, replace(world.save(), at=np.full((4, 2), 300.0)), ())
    apart.layout.sheet[:] = 0
    news, _ = laid_as_one(problem, apart, 1, seed=1, stop=lambda: False)
    assert news is not None
    for i in range(2):
        gaps = np.hypot(*(news.layout.at[2:] - news.layout.at[i]).T)
        assert gaps.min() <= 0.5 + 1e-6


@pytest.mark.parametrize(
    "rules",
    [
        {"edge": Edge.LOW},
        {"mates": "pair"},
        {"turn_group": "all"},
        {"binding": Binding(anchor=(0.0, 0.0), lattice=Lattice(along=10.0))},
        {"turns": Turns(angles=(0.0, 180.0), slack=2.0)},
    ],
)
def test_parts_with_rules_of_place_are_laid_one_by_one(rules: dict[str, object]) -> None:
    assert tried(combs(6, **rules))[1] is None


def test_nothing_is_joined_on_sheets_nor_what_does_not_interlock() -> None:
    board = Sheet(name="board", outline=rectangle(300.0, 200.0))
    assert tried(replace(combs(6), stock=Sheets(sheets=(board,))))[1] is None
    tiles = Piece(name="tile", cut=rectangle(40.0, 30.0, radius=3.0))
    parts = tuple(Part(name=f"{n}", piece=tiles, turns=HALF) for n in range(8))
    assert tried(Lay(name="tiles", parts=parts, stock=Strip(width=100.0)))[1] is None


def test_what_clusters_weighed_is_told_also_if_nothing_comes_of_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    problem, _ = made.prepare(combs(6))
    first = made.first_marker(problem, stop=lambda: False)
    news, weighed = laid_as_one(problem, first, 200_000, seed=1, stop=lambda: False)
    assert news is not None
    assert weighed >= 200_000
    monkeypatch.setattr(clusters, "given", lambda *_, **__: None)
    assert laid_as_one(problem, first, 200_000, seed=1, stop=lambda: False) == (None, weighed)
    # Where nothing interlocks nothing is searched.
    square = tuple(
        Part(name=f"{n}", piece=Piece(name="square", cut=rectangle(50.0, 50.0))) for n in range(4)
    )
    lay = Lay(name="squares", parts=square, stock=Strip(width=120.0))
    problem, _ = made.prepare(lay)
    first = made.first_marker(problem, stop=lambda: False)
    assert laid_as_one(problem, first, 200_000, seed=1, stop=lambda: False) == (None, 0)
