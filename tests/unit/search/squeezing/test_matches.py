"""Parts of a match are drawn into the same repeat or the next, for no more cloth."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace

import hypothesis.strategies as st
import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from shapely.geometry.base import BaseGeometry

from nesting.errors import Severity
from nesting.marker.check import check
from nesting.marker.figures import figures
from nesting.marker.lay import Binding, Lattice, Lay, Part, Sheet, Sheets, Strip, Turns
from nesting.marker.marker import Marker
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.pattern.polygon import piece_polygon
from nesting.pattern.shapes import rectangle
from nesting.search.prepared.state import Layout
from nesting.search.prepared.world import World
from nesting.search.problem import prepare
from nesting.search.result import Limits, Result
from nesting.search.solve import search
from nesting.search.squeezing.gather import gather
from nesting.search.warm import warm

CHECKED = Lattice(along=100.0, across=100.0)


@pytest.fixture(scope="module", autouse=True)
def _compiled() -> None:
    warm()


def cut_off(w: float, h: float, corner: float) -> Path:
    return Path.polyline([(0, 0), (w, 0), (w, h - corner), (w - corner, h), (0, h)], closed=True)


def panel(name: str, kind: int, match: str | None, *, phase: str | None = None) -> Part:
    """Return a panel of one repeat by one; kinds differ in a corner."""
    piece = Piece(name=f"kind {kind}", cut=cut_off(100.0, 100.0, 1.0 + 2.0 * kind))
    binding = Binding(anchor=(0.0, 0.0), lattice=CHECKED, phase=phase)
    return Part(name=name, piece=piece, binding=binding if match else None, match=match)


def in_a_row(lay: Lay, order: Iterable[int]) -> tuple[World, Layout]:
    """Return a layout of panels in a row, a repeat each, in the order of their numbers."""
    problem, _ = prepare(lay)
    world = problem.world(problem.boards(1), fine=False)
    for place, i in enumerate(order):
        (s,) = world.options_of(i, 0)
        ok, x, y = world.state.admit(i, s, 0, 100.0 * place - world.true[s][0], -world.true[s][1])
        assert ok
        world.state.put(i, s, 0, x, y)
    assert world.overlap() <= 0.0
    return world, world.save()


def lies_at(world: World, layout: Layout) -> list[int]:
    """Return in which repeat of the row each item lies."""
    return [int(x) for x in np.rint((layout.at[:, 0] + world.true[layout.shape, 0]) / 100.0)]


def test_alike_parts_of_matches_change_places_until_each_has_its_own_beside_it() -> None:
    """Fronts in the places 0, 2, … 14, sides in 1, 3, … 15: each front has two places beside it."""
    fronts = [panel(f"front {k}", 0, f"bag {k}") for k in range(8)]
    sides = [panel(f"side {k}", 1, f"bag {k}") for k in range(8)]
    lay = Lay(name="bags", parts=(*fronts, *sides), stock=Strip(width=100.0))
    shuffled = [13, 10, 15, 8, 11, 14, 9, 12]
    world, start = in_a_row(lay, [i for k in range(8) for i in (k, shuffled[k])])
    found = gather(world, start, seed=1, ends=lambda: False, tries=0)
    at = lies_at(world, found)
    assert sorted(at) == list(range(16))
    # No more than a repeat, which is one panel, between the two of a bag.
    assert max(abs(at[k] - at[8 + k]) for k in range(8)) <= 2


def test_two_of_a_match_at_the_ends_of_a_lay_are_laid_in_the_same_repeat_or_the_next() -> None:
    """Nothing is alike but what is between them: one has to move past others."""
    ends = [panel("a", 0, "bag", phase="bag"), panel("b", 1, "bag", phase="bag")]
    between = [panel(f"{k}", 2 + k, None) for k in range(5)]
    lay = Lay(name="bag", parts=(*ends, *between), stock=Strip(width=100.0))
    world, start = in_a_row(lay, [0, 2, 3, 4, 5, 6, 1])
    found = gather(world, start, seed=1, ends=lambda: False)
    world.load(found)
    assert world.overlap() <= 0.0
    assert world.used_length(found) <= 700.0 + 1e-6
    one, other, *_ = lies_at(world, found)
    assert abs(one - other) <= 2


def test_who_is_matched_on_another_part_of_the_print_keeps_to_it() -> None:
    """Alike, but of prints that fall elsewhere: they do not change places."""
    parts = [panel(f"{side} {k}", kind, f"bag {k}", phase=f"bag {k}")
             for kind, side in enumerate(("front", "side")) for k in range(2)]  # fmt: skip
    lay = Lay(name="bags", parts=tuple(parts), stock=Strip(width=100.0))
    problem, _ = prepare(lay)
    world = problem.world(problem.boards(1), fine=False)
    world.state.phases = np.array([0.0, 0.0, 30.0, 0.0])
    for place, i in ((0.0, 0), (130.0, 1), (300.0, 2), (430.0, 3)):
        (s,) = world.options_of(i, 0)
        ok, x, y = world.state.admit(i, s, 0, place - world.true[s][0], -world.true[s][1])
        assert ok
        world.state.put(i, s, 0, x, y)
    assert world.overlap() <= 0.0
    start = world.save()
    found = gather(world, start, seed=1, ends=lambda: False, tries=0)
    assert (found.at == start.at).all()


# ---------------------------------------------------------------- with it and without


def too_far(marker: Marker, lay: Lay) -> float:
    """Return how much farther than a repeat the parts of matches lie apart, all together (mm)."""
    matches: defaultdict[str, list[BaseGeometry]] = defaultdict(list)
    for p in marker.placements:
        part = lay.parts[p.part]
        if part.match is not None:
            matches[part.match].append(piece_polygon(part.piece, by=p.affine))
    (step,) = {part.binding.lattice.step for part in lay.parts if part.binding is not None}
    total = 0.0
    for tree, *left in ([[first], *rest] for first, *rest in matches.values()):
        while left:
            gap, n = min(
                (float(min(shapely.distance(one, other) for one in tree)), n)
                for n, other in enumerate(left)
            )
            total += max(gap - step - lay.spacing, 0.0)
            tree.append(left.pop(n))
    return total


@st.composite
def printed(draw: st.DrawFn) -> Lay:
    """Draw a few bags, some pieces of each matched: all centred, or wherever the print falls."""
    size = st.integers(40, 200)
    lattice = Lattice(
        along=float(draw(st.integers(50, 150))),
        across=draw(st.sampled_from((None, 60.0, 90.0))),
        drop=0.0,
    )
    if lattice.across is not None:
        lattice = replace(lattice, drop=draw(st.sampled_from((0.0, 0.5))))
    pieces = [
        Piece(name=f"{k}", cut=cut_off(draw(size), draw(size), draw(st.integers(1, 30))))
        for k in range(draw(st.integers(2, 4)))
    ]
    matched = draw(st.integers(2, len(pieces)))
    anchors = [(float(draw(size)), float(draw(size))) for _ in range(matched)]
    centred, both = draw(st.booleans()), draw(st.booleans())
    turns = Turns(angles=(0.0, 180.0)) if both else Turns()
    parts = []
    for bag in range(draw(st.integers(1, 4))):
        name = f"bag {bag}"
        for k, piece in enumerate(pieces):
            plain = Part(name=f"{k} of {name}", piece=piece, turns=turns)
            if k < matched:
                phase = None if centred else name
                binding = Binding(anchor=anchors[k], lattice=lattice, phase=phase)
                group = name if both else None
                plain = replace(plain, binding=binding, match=name, turn_group=group)
            parts.append(plain)
    return Lay(name="printed", parts=tuple(parts), stock=Strip(width=320.0), spacing=2.0)


def laid(lay: Lay) -> Result:
    return search(lay, limits=Limits(seconds=None, rounds=1), workers=1, seed=1)


@given(lay=printed())
@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
def test_a_marker_of_matches_is_as_short_as_without_and_they_lie_no_farther_apart(lay: Lay) -> None:
    plain = laid(replace(lay, parts=tuple(replace(part, match=None) for part in lay.parts)))
    near = laid(lay)
    assert [f for f in check(near.marker) if f.severity is Severity.FAULT] == []
    assert near.unplaced == plain.unplaced == ()
    assert figures(near.marker).length <= figures(plain.marker).length + 1e-6
    assert too_far(near.marker, lay) <= too_far(plain.marker, lay) + 1e-3


def test_matches_are_drawn_together_by_the_search_itself() -> None:
    """Fronts cut in one half of the cloth and sides in the other, as a long first marker lays."""
    side = Piece(name="side", cut=rectangle(100.0, 60.0))
    front = Piece(name="front", cut=rectangle(100.0, 120.0))
    lattice = Lattice(along=100.0, across=60.0)
    parts = tuple(
        Part(name=f"{piece.name} {k}", piece=piece, match=f"bag {k}",
             binding=Binding(anchor=(0.0, 0.0), lattice=lattice))
        for piece in (front, side) for k in (range(6) if piece is front else range(5, -1, -1))
    )  # fmt: skip
    lay = Lay(name="bags", parts=parts, stock=Strip(width=130.0))
    assert too_far(laid(lay).marker, lay) == 0.0
    apart = replace(lay, parts=tuple(replace(part, match=None) for part in parts))
    assert too_far(laid(apart).marker, lay) > 100.0


def test_matches_on_a_sheet_each_are_no_fault_and_on_one_where_there_is_room() -> None:
    sheet = Sheet(name="panel", outline=rectangle(320.0, 100.0), count=2)
    parts = tuple(panel(f"{k} {name}", k, f"bag {name}") for k in range(3) for name in "ab")
    lay = Lay(name="bags", parts=parts, stock=Sheets(sheets=(sheet,)))
    found = laid(lay)
    assert found.unplaced == ()
    assert [f for f in check(found.marker) if f.severity is Severity.FAULT] == []
    on = defaultdict(set)
    for p in found.marker.placements:
        on[lay.parts[p.part].match].add(p.sheet)
    assert {len(sheets) for sheets in on.values()} == {1}


def test_a_print_that_may_fall_anywhere_leaves_no_part_outside() -> None:
    """Short of 175 mm the first part has no place, wherever the print falls."""
    lattice = Lattice(along=90.0, across=90.0, drop=0.5)
    shapes = ((0, (175.0, 40.0, 1.0), (87.0, 148.0)), (1, (40.0, 109.0, 1.0), (40.0, 168.0)))
    parts = tuple(
        Part(
            name=f"{k}",
            piece=Piece(name=f"{k}", cut=cut_off(*size)),
            turns=Turns(angles=(0.0, 180.0)),
            turn_group="bag",
            binding=Binding(anchor=anchor, lattice=lattice, phase="bag"),
        )
        for k, size, anchor in shapes
    )
    small = Part(name="2", piece=Piece(name="2", cut=cut_off(40.0, 40.0, 1.0)),
                 turns=Turns(angles=(0.0, 180.0)))  # fmt: skip
    lay = Lay(name="printed", parts=(*parts, small), stock=Strip(width=320.0), spacing=2.0)
    found = laid(lay)
    assert [f for f in check(found.marker) if f.severity is Severity.FAULT] == []
    assert figures(found.marker).length >= 175.0 - 1e-3
