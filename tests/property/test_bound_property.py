"""A lower bound is never above what can be laid."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator

import pytest
import shapely
import shapely.affinity
import shapely.ops
from hypothesis import given, settings
from hypothesis import strategies as st

from nesting.marker.bound import lower_bound
from nesting.marker.bounds.chords import chord_length
from nesting.marker.check import check
from nesting.marker.figures import figures
from nesting.marker.lay import Lay, Part, Sheet, Sheets, Strip, Turns
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import circle
from nesting.search.rectangles.course import pack
from nesting.search.result import Limits, Stopped
from nesting.search.solve import search

EXACT = 1 + 1e-9


def piece(points: list[tuple[float, float]]) -> Piece:
    return Piece(name="p", cut=Path.polyline(points, closed=True))


def rectangle(length: float, height: float) -> Piece:
    return piece([(0, 0), (length, 0), (length, height), (0, height)])


def parts_of(pieces: list[Piece], turns: Turns | None = None) -> tuple[Part, ...]:
    return tuple(Part(name=str(i), piece=p, turns=turns or Turns()) for i, p in enumerate(pieces))


# --- the optimum of very small lays, by trying everything ---------------------------


def sums(sizes: list[int]) -> list[int]:
    """Return all sums of some of the sizes: where a side may lie when all is pushed together."""
    return sorted({sum(c) for n in range(len(sizes) + 1) for c in itertools.combinations(sizes, n)})


def fits(boxes: list[tuple[int, int]], width: int, length: int) -> bool:
    xs, ys = sums([b[0] for b in boxes]), sums([b[1] for b in boxes])

    def lay(done: list[tuple[int, int, int, int]], rest: list[tuple[int, int]]) -> bool:
        if not rest:
            return True
        w, h = rest[0]
        for x, y in itertools.product(xs, ys):
            if x + w > length or y + h > width:
                continue
            if any(x < c and a < x + w and y < d and b < y + h for a, b, c, d in done):
                continue
            if lay([*done, (x, y, x + w, y + h)], rest[1:]):
                return True
        return False

    return lay([], sorted(boxes, key=lambda b: -b[0] * b[1]))


def optimum(boxes: list[tuple[int, int]], width: int, *, turning: bool) -> int:
    def ways() -> Iterator[list[tuple[int, int]]]:
        choices = [[b, b[::-1]] if turning else [b] for b in boxes]
        for way in itertools.product(*choices):
            if all(h <= width for _, h in way):
                yield list(way)

    best = sum(max(b) for b in boxes)
    for way in ways():
        for length in sums([b[0] for b in way]):
            if length >= best:
                break
            if fits(way, width, length):
                best = length
    return best


sizes = st.tuples(st.integers(1, 12), st.integers(1, 12))


@settings(max_examples=40, deadline=None)
@given(st.lists(sizes, min_size=1, max_size=4), st.integers(12, 20))
def test_never_above_the_optimum(boxes: list[tuple[int, int]], width: int) -> None:
    lay = Lay(
        name="small",
        parts=parts_of([rectangle(*b) for b in boxes]),
        stock=Strip(width=width),
    )
    assert lower_bound(lay).value <= optimum(boxes, width, turning=False) * EXACT


@settings(max_examples=40, deadline=None)
@given(st.lists(sizes, min_size=1, max_size=3), st.integers(12, 20))
def test_never_above_the_optimum_with_turning(boxes: list[tuple[int, int]], width: int) -> None:
    lay = Lay(
        name="small",
        parts=parts_of([rectangle(*b) for b in boxes], Turns(angles=(0, 90, 180, 270))),
        stock=Strip(width=width),
    )
    assert lower_bound(lay).value <= optimum(boxes, width, turning=True) * EXACT


@settings(max_examples=30, deadline=None)
@given(st.lists(sizes, min_size=1, max_size=4), st.integers(12, 20), st.booleans())
def test_the_search_proves_the_same_optimum(
    boxes: list[tuple[int, int]], width: int, turning: bool
) -> None:
    turns = Turns(angles=(0.0, 90.0)) if turning else Turns()
    lay = Lay(
        name="small",
        parts=parts_of([rectangle(*b) for b in boxes[: 3 if turning else 4]], turns),
        stock=Strip(width=width),
    )
    result = pack(lay, seconds=20)
    best = optimum(boxes[: 3 if turning else 4], width, turning=turning)
    assert result.stopped is Stopped.OPTIMAL
    assert abs(figures(result.marker).length - best) < 1e-6
    assert abs(result.bound.value - best) < 1e-6


# --- lays that are known to fit, because they were cut from one rectangle -----------


@st.composite
def cuttings(draw: st.DrawFn) -> tuple[float, float, list[shapely.Polygon]]:
    """Draw a rectangle and the pieces it falls into by straight cuts in any direction."""
    length, width = draw(st.integers(50, 400)), draw(st.integers(50, 400))
    pieces = [shapely.box(0, 0, length, width)]
    square = draw(st.booleans())
    for _ in range(draw(st.integers(0, 8))):
        k = draw(st.integers(0, len(pieces) - 1))
        x0, y0, x1, y1 = pieces[k].bounds
        a, b = draw(st.floats(0.05, 0.95)), draw(st.floats(0.05, 0.95))
        if square:
            upright = draw(st.booleans())
            a, b = (a, a) if upright else (b, b)
            ends = (
                [(x0 + a * (x1 - x0), y0 - 1), (x0 + a * (x1 - x0), y1 + 1)]
                if upright
                else [(x0 - 1, y0 + b * (y1 - y0)), (x1 + 1, y0 + b * (y1 - y0))]
            )
        else:
            ends = [(x0 - 1, y0 + a * (y1 - y0)), (x1 + 1, y0 + b * (y1 - y0))]
        cut = shapely.ops.split(pieces[k], shapely.LineString(ends)).geoms
        halves = [h for h in cut if isinstance(h, shapely.Polygon) and h.area > 1.0]
        pieces[k : k + 1] = halves or [pieces[k]]
    return float(length), float(width), pieces


def outline(area: shapely.Polygon) -> Piece:
    return piece([(float(x), float(y)) for x, y in area.exterior.coords[:-1]])


@settings(max_examples=80, deadline=None)
@given(cuttings(), st.sampled_from([0.0, 0.5, 4.0]), st.sampled_from([(0.0,), (0.0, 90.0, 30.0)]))
def test_never_above_what_a_rectangle_was_cut_into(
    cutting: tuple[float, float, list[shapely.Polygon]], spacing: float, angles: tuple[float, ...]
) -> None:
    length, width, pieces = cutting
    # Shrunk by half the spacing with mitred corners: at least the spacing apart, and half
    # of it off every edge.
    shrunk = [p.buffer(-spacing / 2, join_style="mitre") for p in pieces]
    shrunk = [p for p in shrunk if isinstance(p, shapely.Polygon) and p.area > 0.5]
    if not shrunk:
        return
    lay = Lay(
        name="cut",
        parts=parts_of([outline(p) for p in shrunk], Turns(angles=angles)),
        stock=Strip(width=width - spacing),
        spacing=spacing,
    )
    assert lower_bound(lay).value <= (length - spacing) * EXACT
    sheet = Sheet(
        name="sheet",
        outline=Path.polyline([(0, 0), (length, 0), (length, width), (0, width)], closed=True),
    )
    on_sheets = Lay(
        name="cut",
        parts=lay.parts,
        stock=Sheets(sheets=(sheet,), margin=spacing / 2),
        spacing=spacing,
    )
    assert lower_bound(on_sheets).value == 1


@settings(max_examples=60, deadline=None)
@given(cuttings(), st.floats(0, 359), st.sampled_from([30.0, 180.0]))
def test_never_above_with_turns_in_a_range(
    cutting: tuple[float, float, list[shapely.Polygon]], angle: float, slack: float
) -> None:
    length, width, pieces = cutting
    parts = []
    for i, area in enumerate(pieces):
        drawn = outline(shapely.affinity.rotate(area, angle, origin=(0, 0)))
        turns = Turns(angles=((-angle + (-1) ** i * slack / 2) % 360,), slack=slack)
        parts.append(Part(name=str(i), piece=drawn, turns=turns))
    lay = Lay(name="cut", parts=tuple(parts), stock=Strip(width=width))
    assert lower_bound(lay).value <= length * EXACT


@settings(max_examples=150, deadline=None)
@given(
    cuttings(),
    st.sampled_from([0.0, 0.5, 4.0]),
    st.sampled_from([(0.0,), (0.0, 180.0), (0.0, 90.0, 30.0)]),
)
def test_lines_across_and_along_ask_for_no_more_than_a_rectangle_was(
    cutting: tuple[float, float, list[shapely.Polygon]], spacing: float, angles: tuple[float, ...]
) -> None:
    length, width, pieces = cutting
    shrunk = [p.buffer(-spacing / 2, join_style="mitre") for p in pieces]
    parts = [outline(p) for p in shrunk if isinstance(p, shapely.Polygon) and p.area > 0.5]
    strip = Strip(width=width - spacing)
    lay = Lay(name="cut", parts=parts_of(parts, Turns(angles=angles)), stock=strip, spacing=spacing)
    assert chord_length(lay, strip) <= (length - spacing) * EXACT


def dozen(seed: int) -> Lay:
    """Return two each of six large parts: panels with their corners cut off, yokes, discs."""
    dice = random.Random(seed)
    pieces = []
    for kind in range(6):
        w, h = dice.uniform(300, 800), dice.uniform(300, 800)
        a, b = dice.uniform(0.01, 0.25) * w, dice.uniform(0.01, 0.25) * h
        corners = [(a, 0), (w - a, 0), (w, b), (w, h - b), (w - a, h), (a, h), (0, h - b), (0, b)]
        yoke = [(0, 0), (w, b), (w, h - b), (0, h)]
        cut = Path.polyline(dice.choice((corners, yoke)), closed=True)
        round_one = dice.random() < 0.3
        pieces += [Piece(name=str(kind), cut=circle(w, centre=(0, 0)) if round_one else cut)] * 2
    angles = dice.choice([(0.0,), (0.0, 180.0), (0.0, 90.0, 180.0, 270.0)])
    spacing = dice.choice((0.0, 3.0))
    stock = Strip(width=1000)
    return Lay(
        name="dozen", parts=parts_of(pieces, Turns(angles=angles)), stock=stock, spacing=spacing
    )


@pytest.mark.parametrize("seed", range(12))
def test_no_marker_of_a_dozen_large_parts_is_shorter_than_its_bound(seed: int) -> None:
    lay = dozen(seed)
    result = search(lay, limits=Limits(seconds=None, rounds=3), workers=1)
    assert not check(result.marker)
    assert isinstance(lay.stock, Strip)
    assert 0.0 < chord_length(lay, lay.stock) <= figures(result.marker).length * EXACT


@settings(max_examples=40, deadline=None)
@given(cuttings())
def test_area_is_met_without_waste(
    cutting: tuple[float, float, list[shapely.Polygon]],
) -> None:
    length, width, pieces = cutting
    lay = Lay(name="cut", parts=parts_of([outline(p) for p in pieces]), stock=Strip(width=width))
    whole = sum(p.area for p in pieces) / (length * width)
    assert lower_bound(lay).value >= length * whole * (1 - 1e-9)
