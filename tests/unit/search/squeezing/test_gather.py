"""Mates are drawn together without a longer marker or another hide."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from nesting.errors import Severity
from nesting.marker.check import check
from nesting.marker.lay import Lay, Part, Sheet, Sheets, Strip, Turns
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import rectangle
from nesting.search.prepared.state import Layout
from nesting.search.prepared.world import World
from nesting.search.problem import first_marker, prepare
from nesting.search.result import Limits
from nesting.search.solve import search
from nesting.search.squeezing.gather import gather


def _parts(pairs: int, cut: Path, *, group: bool = False) -> tuple[Part, ...]:
    piece = Piece(name="side", cut=cut)
    return tuple(
        Part(
            name=f"side {k} {copy}",
            piece=piece,
            turns=Turns(angles=(0.0, 180.0)),
            mates=f"bag {k}",
            turn_group=f"bag {k}" if group else None,
        )
        for copy in (1, 2)
        for k in range(pairs)
    )


def _gaps(lay: Lay, world: World, layout: Layout) -> list[float]:
    """Return how far apart the two of each pair lie, by their boxes (mm)."""
    boxes = world.true[layout.shape] + np.tile(layout.at, 2)
    pairs = len(lay.parts) // 2
    return [
        float(
            np.hypot(
                *np.maximum(
                    np.maximum(boxes[i, :2], boxes[j, :2]) - np.minimum(boxes[i, 2:], boxes[j, 2:]),
                    0.0,
                )
            )
        )
        for i, j in ((k, k + pairs) for k in range(pairs))
    ]


def test_alike_parts_change_places_for_nothing() -> None:
    lay = Lay(name="a", parts=_parts(8, rectangle(100.0, 50.0)), stock=Strip(width=50.0))
    problem, _ = prepare(lay)
    start = first_marker(problem, stop=lambda: False)
    world = start.world
    shape, sheet = start.layout.shape, start.layout.sheet
    # All first copies on the left, all second ones on the right: eight places apart.
    at = np.array([[100.0 * n + 50.0, 25.0] for n in range(16)])
    apart = Layout(at, shape, sheet)
    assert min(_gaps(lay, world, apart)) == 700.0
    found = gather(world, apart, seed=1, ends=lambda: False, tries=0)
    assert max(_gaps(lay, world, found)) < 700.0
    assert sum(_gaps(lay, world, found)) < 0.35 * sum(_gaps(lay, world, apart))
    places = sorted(tuple(row) for row in found.at.tolist())
    assert places == sorted(tuple(row) for row in at.tolist())


def test_mates_of_one_turn_are_drawn_together_on_a_hide() -> None:
    hide = Sheet(name="hide", outline=rectangle(640.0, 300.0), count=1)
    pairs = [_parts(1, rectangle(80.0 + 2.0 * n, 50.0), group=True) for n in range(6)]
    renamed = [
        tuple(replace(p, name=f"{p.name} of {n}", mates=f"{n}", turn_group=f"{n}") for p in pair)
        for n, pair in enumerate(pairs)
    ]
    parts = tuple(pair[copy] for copy in (0, 1) for pair in renamed)
    lay = Lay(name="leather", parts=parts, stock=Sheets(sheets=(hide,)), spacing=2.0)
    problem, _ = prepare(lay)
    start = first_marker(problem, stop=lambda: False)
    world = start.world
    # First copies in a row below, second ones in another above, the other way round.
    x = [55.0 + 96.0 * n for n in range(6)]
    at = np.array([(here, 26.0) for here in x] + [(here, 270.0) for here in x[::-1]])
    angle = world.shapes[int(start.layout.shape[0])].angle
    shape = np.array(
        [
            next(s for s in world.options_of(i, 0) if world.shapes[s].angle == angle)
            for i in range(12)
        ]
    )
    apart = Layout(at, shape, start.layout.sheet)
    world.set_length(640.0)
    world.load(apart)
    assert world.overlap() <= 0.0
    assert min(_gaps(lay, world, apart)) > 150.0
    found = gather(world, apart, seed=1, ends=lambda: False)
    world.load(found)
    assert world.overlap() <= 0.0
    assert world.used_length(found) <= world.used_length(apart) + 1e-6
    assert max(_gaps(lay, world, found)) < 40.0
    angles = [world.shapes[int(s)].angle for s in found.shape]
    assert angles[:6] == angles[6:]


def test_most_searches_leave_all_mates_close_together() -> None:
    """The same seed and rounds give the same marker, mates or not."""
    sizes = [(120, 60), (100, 45), (90, 80), (70, 40), (60, 60)]
    parts = [
        Part(
            name=f"{n} {copy}",
            piece=Piece(
                name=f"{n}", cut=Path.polyline([(0, 0), (w, 0), (w - 9, h), (0, h)], closed=True)
            ),
            turns=Turns(angles=(0.0, 180.0)),
            mates=f"{n}",
        )
        for copy in (1, 2)
        for n, (w, h) in enumerate(sizes)
    ]
    hide = Path.polyline([(0, 0), (420, 0), (400, 280), (20, 260)], closed=True)
    stock = Sheets(sheets=(Sheet(name="hide", outline=hide, count=1),))
    lay = Lay(name="leather", parts=tuple(parts), stock=stock, spacing=2.0)
    seeds = (1, 1, 2, 3, 4, 5, 6, 7, 8)
    found = [search(lay, limits=Limits(rounds=2), workers=1, seed=seed) for seed in seeds]
    assert found[0].marker == found[1].marker
    close = 0
    for one in found[1:]:
        assert not one.unplaced
        findings = check(one.marker)
        assert not [f for f in findings if f.severity is Severity.FAULT]
        close += max((f.amount for f in findings if f.kind == "mates"), default=0.0) < 30.0
    assert close >= 5


def test_mates_keep_the_turn_they_share_with_parts_beside_them() -> None:
    hide = Sheet(name="hide", outline=rectangle(640.0, 300.0), count=1)
    pairs = [_parts(1, rectangle(80.0 + 2.0 * n, 50.0)) for n in range(6)]
    renamed = [
        tuple(replace(p, name=f"{p.name} of {n}", mates=f"{n}", turn_group="nap") for p in pair)
        for n, pair in enumerate(pairs)
    ]
    parts = tuple(pair[copy] for copy in (0, 1) for pair in renamed)
    lay = Lay(name="leather", parts=parts, stock=Sheets(sheets=(hide,)), spacing=2.0)
    problem, _ = prepare(lay)
    start = first_marker(problem, stop=lambda: False)
    assert not start.left
    world = start.world
    world.set_length(640.0)
    for seed in range(8):
        found = gather(world, start.layout, seed=seed, ends=lambda: False)
        assert len({world.shapes[int(s)].angle for s in found.shape}) == 1
